//! When a row starts, ends and is announced, as the file writes it.

use crate::words::Days as Dates;
use chrono::{DateTime, Days, Duration, NaiveDate, Utc};
use icalendar::Property;
use kitlore_engine::{Instant, Row, Standing, Standings};
use kitlore_syntax::dates::minus;
use kitlore_syntax::tree::Notice;

/// Dates and times in the house's zone.
pub(crate) struct Moments<'a> {
    standings: &'a Standings,
    pub dates: Dates<'a>,
    /// The last due day that is written.
    last: Option<NaiveDate>,
}

/// The span of a row that has a date.
pub(crate) struct TaskSpan {
    /// The due day.
    pub from: Instant,
    /// Overdue or grounded from then on.
    pub until: Instant,
    /// The day it is announced on.
    pub announced: Option<NaiveDate>,
}

impl<'a> Moments<'a> {
    pub fn new(standings: &'a Standings, days: Option<u32>) -> Self {
        let dates = Dates::new(standings.program(), standings.at());
        let last = days.map(|days| {
            let ahead = Days::new(days.into());
            dates.today.checked_add_days(ahead).unwrap_or(NaiveDate::MAX)
        });
        Self { standings, dates, last }
    }

    /// The instant of the standings, in whole seconds.
    pub fn at(&self) -> DateTime<Utc> {
        self.standings.at().utc()
    }

    pub fn house(&self) -> &'a str {
        self.standings.program().house().name.as_deref().unwrap_or_default()
    }

    /// The span of a row, if it has a date that is asked for.
    pub fn span(&self, row: &Row<'_>) -> Option<TaskSpan> {
        let from = row.due_at?;
        let wanted =
            self.last.is_none_or(|last| row.standing >= Standing::Due || self.dates.date(from) <= last);
        let late = row.rules().filter_map(|account| account.late_at);
        let until = late.chain(row.limit_at).min().unwrap_or(from).max(from);
        let announced = row.rules().filter_map(|account| {
            let Some(Notice::Ahead(notice)) = account.rule.rule.details.notice else {
                return None;
            };
            Some(minus(self.dates.date(account.due_at?), notice))
        });
        wanted.then(|| TaskSpan { from, until, announced: announced.min() })
    }

    /// `DTSTART` and `DUE`: both dates, or both date-times.
    pub fn properties(&self, span: &TaskSpan) -> Vec<Property> {
        let ends = [("DTSTART", span.from), ("DUE", span.until)];
        let dated = self.is_midnight(span.until);
        let ends = ends.into_iter().map(|(key, at)| if dated { self.date(key, at) } else { time(key, at) });
        // Without time between the two, and of a start within the last day, `DUE` says all.
        let start = if dated {
            self.dates.date(span.from) < self.dates.date(span.until)
        } else {
            span.from < span.until
        };
        ends.skip(usize::from(!start)).collect()
    }

    fn date(&self, key: &str, at: Instant) -> Property {
        date(key, self.dates.date(at))
    }

    /// How long before `DUE` the announcement begins, as a trigger writes it.
    pub fn trigger(&self, span: &TaskSpan) -> Option<String> {
        let announced = span.announced?;
        let due = self.standings.program().local(span.until);
        let days = due.date_naive() - announced;
        let clock =
            if self.is_midnight(span.until) { Duration::zero() } else { due.time() - chrono::NaiveTime::MIN };
        Some(before_due(days, clock))
    }

    /// Whether a local date begins with this instant (not everywhere at 00:00 of the clock).
    fn is_midnight(&self, at: Instant) -> bool {
        let before = Instant { seconds: at.seconds.saturating_sub(1), nanos: at.nanos };
        at.nanos == 0 && self.dates.date(before) < self.dates.date(at)
    }
}

/// A property whose value is a date.
pub(crate) fn date(key: &str, date: NaiveDate) -> Property {
    Property::new(key, date.format("%Y%m%d").to_string()).add_parameter("VALUE", "DATE").done()
}

/// A property whose value is a time in UTC.
pub(crate) fn time(key: &str, at: Instant) -> Property {
    Property::new(key, written(at.utc()))
}

pub(crate) fn written(at: DateTime<Utc>) -> String {
    at.format("%Y%m%dT%H%M%SZ").to_string()
}

fn before_due(days: Duration, clock: Duration) -> String {
    let sign = if days < Duration::zero() { "" } else { "-" };
    let clock = match clock.num_seconds() {
        0 => String::new(),
        seconds => format!("T{}H{}M{}S", seconds / 3600, seconds / 60 % 60, seconds % 60),
    };
    format!("{sign}P{}D{clock}", days.num_days().abs())
}
