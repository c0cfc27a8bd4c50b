//! The few days and words in which random houses happen, so that things meet.

use crate::rng::Rng;
use chrono::{Days, NaiveDate};

/// What is used up, a meter among them.
pub const USAGES: [&str; 6] = ["trip", "shoot", "lens change", "frames", "charge", "frames"];
/// What is done.
pub const TASKS: [&str; 5] =
    ["inspect sensor", "clean sensor", "retire battery", "check strap", "tighten clamps"];
/// Under what.
pub const CONDITIONS: [&str; 3] = ["dust", "sand", "rain"];
/// What is found.
pub const FINDINGS: [&str; 3] = ["fraying", "mould", "dust"];
/// What there is.
pub const KINDS: [&str; 4] = ["camera", "rangefinder", "battery", "tripod"];

/// The days in which everything happens, and the few words it mostly happens in.
#[derive(Debug, Clone)]
pub struct Scene {
    /// Around this day.
    pub middle: NaiveDate,
    /// The usages that are mostly met.
    pub usages: Vec<&'static str>,
    /// The tasks that are mostly done.
    pub tasks: Vec<&'static str>,
}

impl Scene {
    /// A usage, mostly one of few.
    pub fn usage(&self, rng: &mut Rng) -> &'static str {
        if rng.chance(85) { rng.pick(&self.usages) } else { rng.pick(&USAGES) }
    }

    /// A task, mostly one of few.
    pub fn task(&self, rng: &mut Rng) -> &'static str {
        if rng.chance(85) { rng.pick(&self.tasks) } else { rng.pick(&TASKS) }
    }

    fn shifted(&self, by: i64) -> NaiveDate {
        let day = if by < 0 {
            self.middle.checked_sub_days(Days::new(by.unsigned_abs()))
        } else {
            self.middle.checked_add_days(Days::new(by.unsigned_abs()))
        };
        day.filter(|d| kitlore_syntax::in_range(*d)).unwrap_or(self.middle)
    }

    /// A date, mostly near the middle.
    pub fn date(&self, rng: &mut Rng) -> NaiveDate {
        let by = match rng.range(1, 20) {
            1 => rng.range(-400, 30),
            2..=9 => rng.range(-1, 2),
            10..=14 => rng.range(-5, 5),
            _ => rng.range(-10, 10),
        };
        self.shifted(by)
    }

    /// A time as written: half of them dates alone.
    pub fn when(&self, rng: &mut Rng) -> String {
        let date = self.date(rng);
        time_on(rng, date)
    }
}

/// A time on a date, as written.
pub fn time_on(rng: &mut Rng, date: NaiveDate) -> String {
    // Samoa's clocks left out this day: where it stands is said, but not which date it bears.
    if rng.chance(55) && date != NaiveDate::from_ymd_opt(2011, 12, 30).expect("a date") {
        return date.to_string();
    }
    let clocks = [
        "00:00", "00:00", "00:00:30", "00:30", "01:00", "01:30", "02:15", "02:30", "09:00", "23:30",
        "23:59:59",
    ];
    let clock = rng.pick(&clocks);
    let offset = if rng.chance(65) { "" } else { rng.pick(&["Z", "+01:00", "-03:00", "+14:00"]) };
    format!("{date}T{clock}{offset}")
}
