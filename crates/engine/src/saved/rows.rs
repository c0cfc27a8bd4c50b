//! What was recorded, as it was written, in order of record.

use crate::log::{Fact, Ledger, Line, READING, Row, STATED, SourceKey, Unfiled, VOIDED, Why};
use crate::names::{Map, index};
use crate::problem::Problem;
use kitlore_syntax::Amount;
use std::collections::HashSet;

/// An entry as it was written, and where.
pub(super) struct Entry<'a> {
    pub row: Row<'a>,
    pub place: Option<(SourceKey, u32)>,
    /// The rules of the book refuse it, and whether the host reported that.
    pub refused: Option<bool>,
}

/// What was recorded, or reported by a host.
pub(super) enum Step<'a> {
    Entry(Entry<'a>),
    Report(&'a Problem),
}

/// So many entries are brought into order of record at a time.
const WINDOW: usize = 1 << 22;

/// Hands on all that was recorded and reported, in order.
pub(super) fn each<'a, E>(ledger: &'a Ledger, take: impl FnMut(Step<'a>) -> Result<(), E>) -> Result<(), E> {
    each_by(ledger, WINDOW, take)
}

fn each_by<'a, E>(
    ledger: &'a Ledger,
    window: usize,
    mut take: impl FnMut(Step<'a>) -> Result<(), E>,
) -> Result<(), E> {
    let entries = Entries::new(ledger);
    let mut reports = ledger.reports.iter().peekable();
    let mut unfiled = ledger.written.unfiled.iter().peekable();
    let mut slots: Vec<Option<(u32, Line)>> = Vec::new();
    let count = ledger.places.len();
    for first in (0..=count).step_by(window) {
        slots.clear();
        slots.resize(window.min(count - first), None);
        ledger.store.each(|stream, line| {
            let slot = (line.seq as usize).checked_sub(first).and_then(|at| slots.get_mut(at));
            if let Some(slot) = slot {
                *slot = Some((stream, *line));
            }
        });
        // What came after the last entry is handed on with the last window.
        let past = (first + slots.len() == count).then_some(None);
        for (seq, slot) in (first..).zip(slots.iter().copied().map(Some).chain(past)) {
            let here = |at: u32| at as usize <= seq;
            let mut own = None;
            while let Some(other) = unfiled.next_if(|other| here(other.seq)) {
                match other.why {
                    Why::Refused(place) => {
                        let row = other.row.row();
                        let refused = Some(entries.is_reported(&row, place));
                        take(Step::Entry(Entry { row, place, refused }))?;
                    }
                    Why::Taken | Why::Repeated => own = Some(other),
                }
            }
            while let Some((_, problem)) = reports.next_if(|(before, _)| here(*before)) {
                if !entries.is_refusal(problem) {
                    take(Step::Report(problem))?;
                }
            }
            let Some(slot) = slot else { break };
            if let Some(entry) = entries.entry(index(seq), slot.as_ref(), own) {
                take(Step::Entry(entry))?;
            }
        }
    }
    Ok(())
}

/// The entries of a ledger, and what says more of them than their lines.
struct Entries<'a> {
    ledger: &'a Ledger,
    /// By order of record, the ids of entries, and all corrections.
    ids: Map<u32, &'a str>,
    voids: Map<u32, Row<'a>>,
    /// What the rules say of the entries that they refuse, and what the host reported.
    refusals: HashSet<String>,
    reported: HashSet<String>,
}

impl<'a> Entries<'a> {
    fn new(ledger: &'a Ledger) -> Self {
        let refused = ledger.written.unfiled.iter().filter_map(|unfiled| match unfiled.why {
            Why::Refused(place) => refusal(ledger, &unfiled.row.row(), place),
            Why::Taken | Why::Repeated => None,
        });
        let refusals: HashSet<String> = refused.collect();
        let reported = ledger.reports.iter().map(|(_, problem)| problem.to_string());
        let corrections = &ledger.corrections;
        Self {
            ledger,
            ids: corrections.filed_ids().collect(),
            voids: corrections.voids().iter().map(|void| (void.seq, void.row.row())).collect(),
            reported: reported.filter(|text| refusals.contains(text)).collect(),
            refusals,
        }
    }

    /// Whether a report of the host is that these rules refuse an entry: others may not.
    fn is_refusal(&self, problem: &Problem) -> bool {
        !self.refusals.is_empty() && self.refusals.contains(&problem.to_string())
    }

    fn is_reported(&self, row: &Row<'_>, place: Option<(SourceKey, u32)>) -> bool {
        refusal(self.ledger, row, place).is_some_and(|text| self.reported.contains(&text))
    }

    /// The entry with a number in the order of record; `None` if a column had none for it.
    fn entry(&self, seq: u32, slot: Option<&(u32, Line)>, own: Option<&'a Unfiled>) -> Option<Entry<'a>> {
        // Of a copy of a book out of which the entry was taken.
        let is_gone = slot.is_some_and(|(_, line)| line.is(VOIDED)) && !self.ledger.corrections.is_out(seq);
        if is_gone {
            return None;
        }
        let row = match (own, self.voids.get(&seq)) {
            (Some(unfiled), _) => unfiled.row.row(),
            (None, Some(void)) => *void,
            (None, None) => self.row(slot?),
        };
        Some(Entry { row, place: self.ledger.places.get(seq), refused: None })
    }

    fn row(&self, (stream, line): &(u32, Line)) -> Row<'a> {
        let ledger = self.ledger;
        let fact: &Fact = ledger.fact(line);
        let (when, until) = ledger.written.time(line, fact, ledger.span(line, fact), ledger.zone());
        let is_reading = fact.has(READING);
        let value = Amount::from_micros(fact.amount);
        let extra = ledger.extra(fact).copied().unwrap_or_default();
        let beside = extra.amount.map(Amount::from_micros);
        let [by, note] = ledger.written.remarks(line.seq);
        Row {
            until,
            amount: if fact.has(STATED) { Some(value) } else { beside },
            reading: is_reading.then_some(value),
            unit: extra.unit,
            conditions: fact.conditions,
            found: extra.found,
            reference: ledger.store.facts.reference_of(line, fact),
            expect: extra.expect,
            id: self.ids.get(&line.seq).copied().unwrap_or(""),
            by,
            note,
            ..Row::new(when, fact.event, *stream)
        }
    }
}

/// What the rules say of an entry that they refuse, as people read it.
fn refusal(ledger: &Ledger, row: &Row<'_>, place: Option<(SourceKey, u32)>) -> Option<String> {
    let problem = ledger.check(row).err()?;
    Some(problem.at(ledger.place_of(place)).to_string())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use super::*;
    use crate::log;
    use crate::rules::Program;

    #[test]
    fn all_comes_in_order_of_record_however_wide_the_window() {
        let mut ledger =
            Ledger::new(&Program::parse("for cameras\n after 20 shoots, inspect strap").unwrap());
        let mut expected = Vec::new();
        for number in 0..11_u32 {
            let is_odd = number % 4 == 3;
            let entry = log::Entry::new("2026-02-01", "shoot").item("C1").note(number.to_string());
            let entry = if is_odd { entry.amount(-1) } else { entry.id(number.to_string()) };
            let refused = ledger.read(&entry.fields()).and_then(|row| ledger.admit(&row, None, None)).err();
            assert_eq!(refused.is_some(), is_odd);
            expected.push(format!("entry {number}"));
            if number % 5 == 0 {
                let message = format!("after {number}");
                ledger.report(Problem::new("a-code-of-the-host", message.clone()));
                expected.push(message);
            }
        }
        for window in 1..=13 {
            let mut met = Vec::new();
            let all: Result<(), ()> = each_by(&ledger, window, |step| {
                met.push(match step {
                    Step::Entry(entry) => format!("entry {}", entry.row.note),
                    Step::Report(problem) => problem.message(),
                });
                Ok(())
            });
            assert_eq!((all, &met), (Ok(()), &expected), "{window} at a time");
        }
    }
}
