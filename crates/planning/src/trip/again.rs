//! What is done on the way and falls due once more before the trip is over: rinsing after each dive.

use super::find::FoundTrip;
use super::snapshot::{Snapshot, TaskKey, complete};
use chrono::NaiveDate;
use kitlore_engine::{Book, Entry, Row, Standing, When};
use std::collections::HashSet;

/// The rows at the end of a trip in which everything is done, by one's own hands, on the day it falls due: by a date,
/// by what is planned, or by the use that plans expect.
pub(crate) struct Again {
    at_end: Snapshot,
    done: HashSet<TaskKey>,
}

impl Again {
    /// Goes through the days of a trip in a copy of a book.
    pub fn new(book: &Book, found: &FoundTrip, days: &[NaiveDate], going: &dyn Fn(&str) -> bool) -> Self {
        let mut book = book.clone();
        let items: Vec<&String> = found.items.iter().filter(|item| going(item)).collect();
        expect(&mut book, found, days);
        let mut done = HashSet::new();
        for day in days.iter().filter(|day| **day < found.to) {
            let over = book.program().when_is_over(When::Date(*day));
            let rows = Snapshot::of(&mut book, items.iter().copied(), over);
            for row in rows.rows().filter(|row| row.standing >= Standing::Due && row.by().is_none()) {
                let key = TaskKey::of(&row);
                if !key.retires() {
                    complete(&mut book, row.task, row.item, over);
                    done.insert(key);
                }
            }
        }
        // Where nothing is done on the way, nothing is due again.
        let at_end = Snapshot::of(&mut book, if done.is_empty() { Vec::new() } else { items }, found.end);
        Self { at_end, done }
    }

    /// The rows that are due again by the end.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        let is_again = |row: &Row<'_>| row.standing >= Standing::Due && self.done.contains(&TaskKey::of(row));
        self.at_end.rows().filter(is_again)
    }
}

/// Records the use that the plans of a trip expect, day by day.
fn expect(book: &mut Book, found: &FoundTrip, days: &[NaiveDate]) {
    for plan in &found.plans {
        for (event, a_day) in &plan.expect {
            for day in days.iter().filter(|day| (plan.from..=plan.to).contains(*day)) {
                // An amount that a plan expects is one that an entry can have.
                let _ = book.record(Entry::new(day, event).item(&plan.item).amount(a_day));
            }
        }
    }
}
