//! Conditions that hold for a while: the spans of an item, and which of its entries lie in them.

use crate::log::{DATED, EntrySpan, FOR_GROUP, Fact, Ledger, Line, Moment, VOIDED};
use crate::time::Instant;

/// The spans with conditions of one item, by beginning.
#[derive(Debug, Default)]
pub(crate) struct Spans {
    list: Vec<Held>,
    /// A tree over the list: the latest end in each half, quarter and so on, its root at 1.
    latest: Vec<Instant>,
}

#[derive(Debug, Clone, Copy)]
struct Held {
    span: EntrySpan,
    /// First instant of the span's first date, last instant of its last: nothing outside is ever in it.
    first: Instant,
    last: Instant,
    conditions: u32,
    seq: u32,
}

impl Spans {
    /// The spans among an item's entries; those for a group that count before the item is there are not for it.
    pub fn gather(&mut self, ledger: &Ledger, lines: &[Line], there: i64) {
        let zone = ledger.zone();
        self.list.clear();
        let is_for_it = |line: &&Line| !line.is(VOIDED) && (line.ticks >= there || !line.is(FOR_GROUP));
        for line in lines.iter().filter(is_for_it) {
            let fact = ledger.fact(line);
            if fact.conditions == 0 {
                continue;
            }
            let Some(span) = ledger.span(line, fact) else { continue };
            self.list.push(Held {
                span: *span,
                first: zone.midnight(span.begin.date()).min(span.begin.at()),
                last: zone.end(span.end.date()).max(span.end.at()),
                conditions: fact.conditions,
                seq: line.seq,
            });
        }
        self.list.sort_by_key(|held| (held.first, held.seq));
        self.plant();
    }

    /// Makes the tree of ends.
    fn plant(&mut self) {
        self.latest.clear();
        if self.list.is_empty() {
            return;
        }
        let leaves = self.list.len().next_power_of_two();
        self.latest.resize(leaves, Instant::EARLIEST);
        self.latest.extend(self.list.iter().map(|held| held.last));
        self.latest.resize(2 * leaves, Instant::EARLIEST);
        for node in (1..leaves).rev() {
            let later = self.latest_end(2 * node).max(self.latest_end(2 * node + 1));
            if let Some(slot) = self.latest.get_mut(node) {
                *slot = later;
            }
        }
    }

    fn latest_end(&self, node: usize) -> Instant {
        self.latest.get(node).copied().unwrap_or(Instant::EARLIEST)
    }

    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The conditions of an entry: its own and those of all spans it lies in, into `into`, sorted.
    pub fn conditions(&self, ledger: &Ledger, line: &Line, into: &mut Vec<u32>) {
        let fact = ledger.fact(line);
        into.clear();
        into.extend_from_slice(ledger.condition_sets.list(fact.conditions));
        if self.is_empty() {
            return;
        }
        let (begin, end) = ends(ledger, line, fact);
        let candidates = self.list.partition_point(|held| held.first <= begin.at());
        let mut last = 0;
        self.visit((1, 0, self.latest.len() / 2), candidates, begin.at(), &mut |held| {
            // Many spans with the same conditions follow each other.
            let is_new = held.conditions != last && held.seq != line.seq;
            if is_new && within(&begin, &held.span) && within(&end, &held.span) {
                into.extend_from_slice(ledger.condition_sets.list(held.conditions));
                last = held.conditions;
            }
        });
        into.sort_unstable();
        into.dedup();
    }
}

impl Spans {
    /// From a node of the tree (its number, its first span, how many) down to those of the first `count` spans that
    /// end at some instant or later.
    fn visit(
        &self,
        (node, first, width): (usize, usize, usize),
        count: usize,
        end: Instant,
        take: &mut impl FnMut(&Held),
    ) {
        if first >= count || self.latest_end(node) < end {
            return;
        }
        if width > 1 {
            let half = width / 2;
            self.visit((2 * node, first, half), count, end, take);
            self.visit((2 * node + 1, first + half, half), count, end, take);
        } else if let Some(held) = self.list.get(first) {
            take(held);
        }
    }
}

/// When an entry begins and when it ends.
fn ends(ledger: &Ledger, line: &Line, fact: &Fact) -> (Moment, Moment) {
    if let Some(span) = ledger.span(line, fact) {
        return (span.begin, span.end);
    }
    let at = fact.at(line);
    let moment = Moment::on(at, ledger.zone().date(at), fact.has(DATED));
    (moment, moment)
}

/// Whether a moment lies in a span; one written as a date alone need only be one of the span's dates.
fn within(moment: &Moment, span: &EntrySpan) -> bool {
    if moment.dated {
        (span.begin.day..=span.end.day).contains(&moment.day)
    } else {
        (span.begin.at()..=span.end.at()).contains(&moment.at())
    }
}
