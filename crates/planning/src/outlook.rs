//! What falls due on each day of a trip if it is used as expected.

use crate::rows::{Snapshot, TaskKey};
use chrono::{NaiveDate, NaiveTime};
use kitlore_engine::{Book, Entry, Instant, Planned, When};
use std::collections::BTreeMap;

/// The chance of each task of each item to be due by the end of each day.
#[derive(Debug, Default)]
pub(crate) struct Outlook(BTreeMap<TaskKey, Vec<f64>>);

impl Outlook {
    /// The chance by the end of each day; empty if nothing is known.
    pub fn by_day(&self, key: &TaskKey) -> &[f64] {
        self.0.get(key).map_or(&[], Vec::as_slice)
    }

    /// The chance by the end of the last day.
    pub fn by_end(&self, key: &TaskKey) -> f64 {
        self.by_day(key).last().copied().unwrap_or(0.0)
    }

    /// From the expected use: each item is used so much on each day of its plan, at noon.
    pub fn of(
        book: &Book,
        items: &[String],
        days: &[NaiveDate],
        span: (Instant, Instant),
        plans: &[Planned],
    ) -> Self {
        let mut book = book.clone();
        let rules = book.program().clone();
        for day in days {
            let noon = rules.when_is_over(When::Local(day.and_time(NOON))).clamp(span.0, span.1);
            let when = rules.local(noon).to_rfc3339();
            for plan in plans.iter().filter(|plan| plan.from <= *day && *day <= plan.to) {
                for (event, a_day) in &plan.expect {
                    let entry = Entry::new(&when, event.as_str()).item(plan.item.as_str()).amount(a_day);
                    // An amount from a plan is never refused: it is no negative number.
                    let _ = book.record(entry);
                }
            }
        }
        let mut chances: BTreeMap<TaskKey, Vec<f64>> = BTreeMap::new();
        for (number, day) in days.iter().enumerate() {
            let over = rules.when_is_over(When::Date(*day));
            let snapshot = Snapshot::of(&mut book, items, over);
            for row in snapshot.rows().filter(|row| row.due_at.is_some_and(|due| due <= over)) {
                let by_day = chances.entry(TaskKey::of(&row)).or_insert_with(|| vec![0.0; days.len()]);
                for chance in by_day.iter_mut().skip(number) {
                    *chance = 1.0;
                }
            }
        }
        Self(chances)
    }
}

const NOON: NaiveTime = match NaiveTime::from_hms_opt(12, 0, 0) {
    Some(noon) => noon,
    None => NaiveTime::MIN,
};
