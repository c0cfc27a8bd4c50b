//! What was recorded, as it was written, in order of record.

use crate::book::{Book, SourceKey};
use crate::identity::Values;
use crate::kept::{Other, Why};
use crate::line::{Line, READING, VOIDED};
use crate::names::Map;
use crate::problem::Problem;
use kitlore_syntax::{Amount, When};
use std::collections::HashSet;

/// An entry as it was written, by the numbers of its names.
pub(super) struct Row<'a> {
    pub when: When,
    pub until: Option<When>,
    pub event: u32,
    pub item: u32,
    pub amount: Option<Amount>,
    pub reading: Option<Amount>,
    pub unit: Option<u32>,
    pub conditions: u32,
    pub found: &'a [u32],
    pub reference: Option<u32>,
    pub expect: &'a [(u32, i64)],
    pub bad_expect: Option<&'a str>,
    pub id: &'a str,
    pub by: &'a str,
    pub note: &'a str,
    pub place: Option<(SourceKey, u32)>,
    /// The rules of the book refuse it, and whether the host reported that.
    pub refused: Option<bool>,
}

/// What was recorded, or reported by a host.
pub(super) enum Step<'s, 'a> {
    Entry(&'s Row<'a>),
    Report(&'a Problem),
}

/// So many entries are brought into order of record at a time.
const WINDOW: usize = 1 << 22;

/// Hands on all that was recorded and reported, in order.
pub(super) fn each<'a, E>(book: &'a Book, take: impl FnMut(Step<'_, 'a>) -> Result<(), E>) -> Result<(), E> {
    each_by(book, WINDOW, take)
}

fn each_by<'a, E>(
    book: &'a Book,
    window: usize,
    mut take: impl FnMut(Step<'_, 'a>) -> Result<(), E>,
) -> Result<(), E> {
    let told = Told::new(book);
    let mut reports = book.noted.iter().filter_map(|noted| noted.by_host()).peekable();
    let mut others = book.kept.others.iter().peekable();
    let mut slots: Vec<Option<(u32, Line)>> = Vec::new();
    let count = book.places.len();
    for first in (0..=count).step_by(window) {
        slots.clear();
        slots.resize(window.min(count - first), None);
        book.cabinet.each(|stream, line| {
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
            while let Some(other) = others.next_if(|other| here(other.seq)) {
                match &other.why {
                    Why::Refused(values, place) => {
                        let place = *place;
                        let refused = Some(told.is_reported(book, values, place));
                        take(Step::Entry(&Row { place, refused, ..told.row(&other.id, values) }))?;
                    }
                    _ => own = Some(other),
                }
            }
            while let Some((_, problem)) = reports.next_if(|(before, _)| here(*before)) {
                if !told.is_refusal(problem) {
                    take(Step::Report(problem))?;
                }
            }
            let Some(slot) = slot else { break };
            if let Some(row) = told.entry(crate::names::index(seq), slot.as_ref(), own) {
                take(Step::Entry(&row))?;
            }
        }
    }
    Ok(())
}

/// What a book remembers of entries beside their lines.
struct Told<'a> {
    book: &'a Book,
    /// By order of record, the entries that have an id and all corrections.
    known: Map<u32, (&'a str, &'a Values)>,
    /// What the rules say of the entries that they refuse, and what the host reported.
    refusals: HashSet<String>,
    reported: HashSet<String>,
}

impl<'a> Told<'a> {
    fn new(book: &'a Book) -> Self {
        let refused = book.kept.others.iter().filter_map(|other| match &other.why {
            Why::Refused(values, place) => refusal(book, values, *place),
            _ => None,
        });
        let refusals: HashSet<String> = refused.collect();
        let reports = book.noted.iter().filter_map(|noted| noted.by_host());
        let reported = reports.map(|(_, problem)| problem.to_string()).filter(|text| refusals.contains(text));
        Self {
            book,
            known: book.identities.entries().map(|(seq, id, values)| (seq, (id, values))).collect(),
            reported: reported.collect(),
            refusals,
        }
    }

    /// Whether a report of the host is that these rules refuse an entry: others may not.
    fn is_refusal(&self, problem: &Problem) -> bool {
        !self.refusals.is_empty() && self.refusals.contains(&problem.to_string())
    }

    fn is_reported(&self, book: &Book, values: &Values, place: Option<(SourceKey, u32)>) -> bool {
        refusal(book, values, place).is_some_and(|text| self.reported.contains(&text))
    }

    /// The entry with a number in the order of record; `None` if a column had none for it.
    fn entry(&self, seq: u32, slot: Option<&(u32, Line)>, other: Option<&'a Other>) -> Option<Row<'a>> {
        // Of a copy of a book out of which the entry was taken.
        let is_gone = slot.is_some_and(|(_, line)| line.is(VOIDED)) && !self.book.identities.is_out(seq);
        if is_gone {
            return None;
        }
        let row = match (other, self.known.get(&seq)) {
            (Some(Other { id, why: Why::Taken(values), .. }), _) => self.row(id, values),
            (Some(Other { id, .. }), _) => self.row(id, self.book.identities.values(id)?),
            (None, Some((id, values))) => self.row(id, values),
            (None, None) => self.line(slot?),
        };
        Some(Row { place: self.book.places.get(seq), ..row })
    }

    fn row(&self, id: &'a str, values: &'a Values) -> Row<'a> {
        Row {
            when: values.when,
            until: values.until,
            event: values.event,
            item: values.item,
            amount: values.amount,
            reading: values.reading,
            unit: values.unit,
            conditions: values.conditions,
            found: &values.found,
            reference: self.book.references.get(values.reference.as_str()).copied(),
            expect: &values.expect,
            bad_expect: values.bad_expect.as_deref(),
            id,
            by: &values.by,
            note: &values.note,
            place: None,
            refused: None,
        }
    }

    fn line(&self, (stream, line): &(u32, Line)) -> Row<'a> {
        let book = self.book;
        let program = book.program.inner();
        let fact = book.fact(line);
        let extra = book.extra(fact);
        let (when, until) = book.kept.time(line, fact, program.zone);
        let is_reading = fact.has(READING);
        let stated = (!is_reading && program.info(fact.event).task.is_none()).then_some(fact.amount);
        let reading = if is_reading { Some(fact.amount) } else { extra.and_then(|extra| extra.reading) };
        Row {
            when,
            until,
            event: fact.event,
            item: *stream,
            amount: book.kept.amount(line.seq).or(stated.map(Amount::from_micros)),
            reading: reading.map(Amount::from_micros),
            unit: extra.and_then(|extra| extra.unit),
            conditions: fact.conditions,
            found: extra.map_or(&[], |extra| &extra.found),
            reference: extra.and_then(|extra| extra.reference),
            expect: extra.map_or(&[], |extra| &extra.expect),
            bad_expect: book.kept.bad_expect(line.seq),
            id: "",
            by: "",
            note: "",
            place: None,
            refused: None,
        }
    }
}

/// What the rules say of an entry that they refuse, as people read it.
fn refusal(book: &Book, values: &Values, place: Option<(SourceKey, u32)>) -> Option<String> {
    let problem = book.check(&values.read(book.program.inner())).err()?;
    Some(problem.at(book.place_of(place)).to_string())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use super::*;
    use crate::input::Entry;
    use crate::program::Program;

    #[test]
    fn all_comes_in_order_of_record_however_wide_the_window() {
        let mut book = Book::new(&Program::parse("for cameras\n after 20 shoots, inspect strap").unwrap());
        let mut expected = Vec::new();
        for number in 0..11_u32 {
            let is_odd = number % 4 == 3;
            let entry = Entry::new("2026-02-01", "shoot").item("C1").note(number.to_string());
            let entry = if is_odd { entry.amount(-1) } else { entry.id(number.to_string()) };
            let refused = book.record(entry).err();
            assert_eq!(refused.is_some(), is_odd);
            expected.push(format!("entry {number}"));
            if number % 5 == 0 {
                let message = format!("after {number}");
                book.report(Problem::new("a-code-of-the-host", message.clone()));
                expected.push(message);
            }
        }
        for window in 1..=13 {
            let mut met = Vec::new();
            let all: Result<(), ()> = each_by(&book, window, |step| {
                met.push(match step {
                    Step::Entry(row) => format!("entry {}", row.note),
                    Step::Report(problem) => problem.message.to_string(),
                });
                Ok(())
            });
            assert_eq!((all, &met), (Ok(()), &expected), "{window} at a time");
        }
    }
}
