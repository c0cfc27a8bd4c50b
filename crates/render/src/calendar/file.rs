//! The file as a whole.

use super::moment::Moments;
use super::{fold, task};
use icalendar::{Calendar as File, CalendarComponent};
use kitlore_engine::Standings;
use std::fmt;

/// What to write, as a builder; printing it gives the file.
#[derive(Debug, Clone)]
pub struct Calendar<'a> {
    standings: &'a Standings,
    events: bool,
    days: Option<u32>,
}

impl<'a> Calendar<'a> {
    /// A task to do for every row with a date.
    pub fn of(standings: &'a Standings) -> Self {
        Self { standings, events: false, days: None }
    }

    /// An all-day event on the due day of every such row as well, for calendars that show no tasks.
    #[must_use]
    pub fn events(self, events: bool) -> Self {
        Self { events, ..self }
    }

    /// Only rows that are due, or fall due within so many days after the day of the standings.
    #[must_use]
    pub fn within_days(self, days: Option<u32>) -> Self {
        Self { days, ..self }
    }

    fn file(&self) -> File {
        let mut file = File::empty();
        let house = self.standings.program().house().name.as_deref();
        for property in [("VERSION", "2.0"), ("PRODID", "-//kitlore//kitlore//EN"), ("CALSCALE", "GREGORIAN")]
        {
            file.append_property(property);
        }
        file.name(&task::text(house.unwrap_or("Maintenance")));
        let moments = Moments::new(self.standings, self.days);
        for row in self.standings.rows() {
            if let Some(todo) = task::todo(&row, &moments) {
                file.push(CalendarComponent::from(todo));
            }
            if let Some(event) = task::event(&row, &moments).filter(|_| self.events) {
                file.push(CalendarComponent::from(event));
            }
        }
        file
    }
}

impl fmt::Display for Calendar<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&fold::again(&self.file().to_string()))
    }
}
