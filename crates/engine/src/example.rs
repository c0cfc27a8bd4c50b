//! Runs the example blocks of a rule text: do the rules say what their writer claims?

use crate::answer::Row;
use crate::book::Book;
use crate::codes::Code;
use crate::log::{Entry, Item};
use crate::problem::Place;
use crate::rules::Program;
use chrono::NaiveDate;
use kitlore_syntax::Span;
use kitlore_syntax::tree::{Claim, Example, ExampleEntry, ExampleItem, Standing};

/// A claim of an example that does not hold, or a line of it that cannot be used.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// The example's title.
    pub example: String,
    /// The line.
    pub span: Span,
    /// What holds instead; lower case, no full stop.
    pub message: String,
}

impl Program {
    /// Runs the example blocks; empty if every claim holds.
    ///
    /// ```
    /// use kitlore_engine::Program;
    /// let rules = Program::parse(
    ///     "for cameras
    ///        after 2 shoots, wipe body
    ///      example \"two shoots\"
    ///        camera C1 received 2026-01-01
    ///        2026-02-01 C1 shoot 2
    ///        on 2026-02-01 C1 wipe body is due since 2026-02-01
    ///        on 2026-02-02 C1 wipe body is clear",
    /// ).unwrap();
    /// let failures = rules.run_examples();
    /// assert_eq!(failures.len(), 1);
    /// assert_eq!(failures[0].message, "`C1` `wipe body` is overdue since 2026-02-01, not clear");
    /// ```
    pub fn run_examples(&self) -> Vec<Failure> {
        self.house().examples.iter().flat_map(|example| self.run_example(example)).collect()
    }

    fn run_example(&self, example: &Example) -> Vec<Failure> {
        let mut book = Book::new(self);
        let mut failures = Vec::new();
        let mut fail =
            |span, message| failures.push(Failure { example: example.title.clone(), span, message });
        for item in &example.items {
            if let Err(problem) = book.add_item(item_of(item)) {
                fail(item.span, problem.message());
            }
        }
        for (entry, line) in example.entries.iter().zip(1..) {
            if let Err(problem) = book.record(entry_of(entry).at(Place::new(LINES, line))) {
                fail(entry.span, problem.message());
            }
        }
        if example.claims.is_empty() {
            fail(
                example.span,
                "it claims nothing; write `on DATE ITEM TASK is due` with a standing".to_owned(),
            );
        }
        for claim in &example.claims {
            let standings = book.standing(&claim.item, self.when_is_over(claim.when));
            let row = standings.rows().find(|row| kitlore_syntax::key(row.task) == claim.task.key);
            match row {
                None => {
                    fail(claim.span, format!("`{}` has no `{}` on that date", claim.item, claim.task.text))
                }
                Some(row) => {
                    let due = row.due_at.map(|due| self.local(due).date_naive());
                    if row.standing != claim.standing || claim.since.is_some_and(|since| Some(since) != due) {
                        fail(claim.span, difference(claim, &row, due));
                    }
                }
            }
        }
        if let Some(last) = example.claims.iter().map(|claim| self.when_is_over(claim.when)).max() {
            for problem in book.standings(last).problems() {
                let line = problem.place.as_ref().and_then(|place| (place.line as usize).checked_sub(1));
                let entry = line.and_then(|line| example.entries.get(line));
                // An event that no rule knows may lend its conditions, or show that an item was used.
                let is_slip = !problem.is(Code::UnknownEvent) || problem.meant.is_some();
                let counts_nothing = COUNTS_NOTHING.iter().any(|code| problem.is(*code)) && is_slip;
                let Some(entry) = entry.filter(|_| counts_nothing) else { continue };
                fail(entry.span, problem.words());
            }
        }
        failures
    }
}

/// The source of an example's entries, where their order is their line.
const LINES: &str = "example";

/// Problems of entries that count for nothing: what an example with such a line shows is not what it says.
const COUNTS_NOTHING: [Code; 9] = [
    Code::MissingReading,
    Code::NoItem,
    Code::NoMember,
    Code::UnitDiffers,
    Code::UnknownCondition,
    Code::UnknownEvent,
    Code::UnknownFinding,
    Code::UnknownItem,
    Code::UnknownTaskForItem,
];

fn difference(claim: &Claim, row: &Row<'_>, due: Option<NaiveDate>) -> String {
    let reported = |standing: Standing, since: Option<NaiveDate>| match since {
        Some(since) => format!("{standing} since {since}"),
        None => standing.to_string(),
    };
    let is = match (row.standing, due) {
        (Standing::Due | Standing::Overdue | Standing::Grounded, due) => reported(row.standing, due),
        (standing, Some(due)) => format!("{standing} (due on {due})"),
        (standing, None) => standing.to_string(),
    };
    format!("`{}` `{}` is {is}, not {}", row.item, row.task, reported(claim.standing, claim.since))
}

fn item_of(item: &ExampleItem) -> Item {
    Item {
        received: item.received,
        in_service: item.in_service,
        attributes: item.attributes.iter().map(|(name, value)| (name.text.clone(), value.clone())).collect(),
        ..Item::new(&item.id, &item.kind.text)
    }
    .with_columns()
}

fn entry_of(entry: &ExampleEntry) -> Entry {
    let mut made = Entry::new(entry.when, &entry.event.text).item(&entry.item);
    if let Some(until) = entry.until {
        made = made.until(until);
    }
    if let Some(amount) = entry.amount {
        made = made.amount(amount);
    }
    if let Some(reading) = entry.reading {
        made = made.reading(reading);
    }
    if let Some(unit) = &entry.unit {
        made = made.unit(&unit.text);
    }
    if let Some(reference) = &entry.reference {
        made = made.reference(reference);
    }
    for condition in &entry.conditions {
        made = made.condition(&condition.text);
    }
    for finding in &entry.found {
        made = made.found(&finding.text);
    }
    made
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use super::*;

    #[test]
    fn both_dates_of_an_item_count_and_every_claim_is_looked_at() {
        let rules = "for cameras
  after 30 days, look it over; no later than 60 days
example \"put into service later\"
  camera C1 received 2026-01-01 in service 2026-02-01
  on 2026-03-03 C1 look it over is due since 2026-03-03
  on 2026-03-03 C1 look it over is due since 2026-03-02
  on 2026-03-02 C1 look it over is due
  on 2026-04-02 C1 look it over is overdue
  on 2026-01-01 C1 wipe body is clear
  on 2026-03-02 C1 look it over is clear";
        let failures = Program::parse(rules).unwrap().run_examples();
        let reported: Vec<&str> = failures.iter().map(|failure| failure.message.as_str()).collect();
        assert_eq!(
            reported,
            [
                "`C1` `look it over` is due since 2026-03-03, not due since 2026-03-02",
                "`C1` `look it over` is clear (due on 2026-03-03), not due",
                "`C1` `look it over` is grounded since 2026-03-03, not overdue",
                "`C1` has no `wipe body` on that date",
            ]
        );
    }

    #[test]
    fn lines_that_count_for_nothing_are_told() {
        let rules = "for cameras
  after 20 lens changes in dust, inspect sensor
  when capacity is below 80 percent, retire battery
example \"slips\"
  camera C1 received 2026-01-01
  2026-02-01 C1 lens chagne 25
  2026-02-01 C9 lens change 25
  2026-02-01 C1 lens change 25 in dsut
  2026-02-01 C1 capacity reading 70 pct
  2026-02-01 C1 capacity 70
  2026-02-01 C1 wedding
  on 2026-02-01 C1 inspect sensor is clear
example \"nothing claimed\"
  camera C1 received 2026-01-01";
        let failures = Program::parse(rules).unwrap().run_examples();
        let mut reported: Vec<&str> = failures.iter().map(|failure| failure.message.as_str()).collect();
        reported.sort_unstable();
        assert_eq!(
            reported,
            [
                "`capacity` has no reading, and the rules only look at its reading",
                "`capacity` of `C1` is in `pct`, and the rule asks for `percent`; this reading is not looked at",
                "it claims nothing; write `on DATE ITEM TASK is due` with a standing",
                "no rule knows the condition `dsut` (did you mean `dust`?)",
                "no rule knows the event `lens chagne`; if it is right, declare it with an `events` line (did you mean `lens change`?)",
                "the inventory has no item, kit, model or kind `C9`",
            ]
        );
    }
}
