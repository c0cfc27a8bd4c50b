//! Conditions that hold for a while: the spans of an item, and which of its entries lie in them.

use crate::book::Book;
use crate::line::{DATED, EntrySpan, Fact, Line, Moment, VOIDED};
use crate::time::{Instant, Zone};

/// The spans with conditions of one item, by beginning.
#[derive(Debug, Default)]
pub(crate) struct Spans {
    list: Vec<Held>,
}

#[derive(Debug, Clone, Copy)]
struct Held {
    span: EntrySpan,
    /// First instant of the span's first date, last instant of its last: nothing outside is ever in it.
    first: Instant,
    last: Instant,
    /// The latest `last` of this span and all before it in the list.
    reach: Instant,
    conditions: u32,
    seq: u32,
}

impl Spans {
    pub fn gather(&mut self, book: &Book, zone: Zone, lines: &[Line]) {
        self.list.clear();
        for line in lines.iter().filter(|line| !line.is(VOIDED)) {
            let fact = book.fact(line);
            if fact.conditions == 0 {
                continue;
            }
            let Some(span) = book.extra(fact).and_then(|extra| extra.span) else {
                continue;
            };
            let last = zone.end(span.end.date).max(span.end.at);
            self.list.push(Held {
                span,
                first: zone.midnight(span.begin.date).min(span.begin.at),
                last,
                reach: last,
                conditions: fact.conditions,
                seq: line.seq,
            });
        }
        self.list.sort_by_key(|held| (held.first, held.seq));
        let mut reach = None;
        for held in &mut self.list {
            held.reach = reach.map_or(held.last, |reach: Instant| reach.max(held.last));
            reach = Some(held.reach);
        }
    }

    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The conditions of an entry: its own and those of all spans it lies in, into `into`, sorted.
    pub fn conditions(&self, book: &Book, zone: Zone, line: &Line, into: &mut Vec<u32>) {
        let fact = book.fact(line);
        into.clear();
        into.extend_from_slice(book.sets.list(fact.conditions));
        let (begin, end) = ends(book, zone, line, fact);
        let candidates = self.list.partition_point(|held| held.first <= begin.at);
        for held in self.list.iter().take(candidates).rev() {
            if held.reach < begin.at {
                break;
            }
            if held.seq != line.seq && within(&begin, &held.span) && within(&end, &held.span) {
                into.extend_from_slice(book.sets.list(held.conditions));
            }
        }
        into.sort_unstable();
        into.dedup();
    }
}

/// When an entry begins and when it ends.
fn ends(book: &Book, zone: Zone, line: &Line, fact: &Fact) -> (Moment, Moment) {
    if let Some(span) = book.extra(fact).and_then(|extra| extra.span) {
        return (span.begin, span.end);
    }
    let at = fact.at(line);
    let moment = Moment { at, date: zone.date(at), dated: fact.has(DATED) };
    (moment, moment)
}

/// Whether a moment lies in a span; one written as a date alone need only be one of the span's dates.
fn within(moment: &Moment, span: &EntrySpan) -> bool {
    if moment.dated {
        (span.begin.date..=span.end.date).contains(&moment.date)
    } else {
        (span.begin.at..=span.end.at).contains(&moment.at)
    }
}
