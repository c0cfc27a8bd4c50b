//! Dates as people say them.

use super::numbers::grouped;
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveTime};
use kitlore_engine::{Instant, Program};

/// Dates as the house's time zone has them, seen from one of them.
#[derive(Clone, Copy)]
pub struct Days<'a> {
    rules: &'a Program,
    at: Instant,
    /// The local date of the instant the standings are of.
    pub today: NaiveDate,
}

impl<'a> Days<'a> {
    /// Dates seen from an instant, in the house's time zone.
    pub fn new(rules: &'a Program, at: Instant) -> Self {
        Self { rules, at, today: rules.local(at).date_naive() }
    }

    /// Whether an instant is reached.
    pub fn is_past(&self, at: Instant) -> bool {
        at <= self.at
    }

    /// The local date of an instant.
    pub fn date(&self, at: Instant) -> NaiveDate {
        self.rules.local(at).date_naive()
    }

    fn local(&self, at: Instant) -> DateTime<FixedOffset> {
        self.rules.local(at)
    }

    /// The date, with the clock time where it is not midnight.
    pub fn moment(&self, at: Instant) -> String {
        let local = self.local(at);
        match local.time() {
            NaiveTime::MIN => local.date_naive().to_string(),
            _ => local.format("%Y-%m-%d %H:%M").to_string(),
        }
    }

    /// The last date on which something can still be done before an instant.
    pub fn last_before(&self, at: Instant) -> NaiveDate {
        let local = self.local(at);
        let date = local.date_naive();
        if local.time() == NaiveTime::MIN { date.pred_opt().unwrap_or(date) } else { date }
    }

    /// `23 days ago`, `today`, `in 6 days`.
    pub fn distance(&self, date: NaiveDate) -> String {
        match (date - self.today).num_days() {
            0 => "today".to_owned(),
            ahead @ 1.. => format!("in {}", days(ahead)),
            past => format!("{} ago", days(-past)),
        }
    }

    /// `since 2026-11-02, 23 days`.
    pub fn since(&self, date: NaiveDate) -> String {
        match (self.today - date).num_days() {
            0 => "since today".to_owned(),
            past => format!("since {date}, {}", days(past)),
        }
    }

    /// `by 2026-12-01, in 6 days`, after any other word too.
    pub fn ahead(&self, word: &str, date: NaiveDate) -> String {
        if date == self.today {
            format!("{word} today")
        } else {
            format!("{word} {date}, {}", self.distance(date))
        }
    }
}

/// `1 day`, `23 days`.
fn days(count: i64) -> String {
    if count == 1 { "1 day".to_owned() } else { format!("{} days", grouped(&count.to_string())) }
}
