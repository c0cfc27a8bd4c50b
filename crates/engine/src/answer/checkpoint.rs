//! Checkpoints: how far items with a long history are folded, so that one more entry costs no more than
//! itself.
//!
//! A checkpoint holds as long as what it has folded is what would be folded again: the same names, rules and
//! entries up to its mark, none taken out or put back since, and an instant that is not before it. In all
//! other cases the item is folded anew, which makes a new checkpoint. No answer depends on there being one.

use super::fold::Counters;
use super::profile::Profile;
use super::spans::Spans;
use crate::log::{Ledger, Naming, Order};
use crate::names::Map;
use crate::time::Instant;
use chrono::NaiveDate;
use std::sync::Arc;

/// Items with fewer entries are folded anew each time: that is quick.
const LONG: usize = 256;

/// So many items have a checkpoint at a time, those that were asked about last.
const MOST: usize = 256;

/// Items with more doubts have none: each answer tells them all anyway.
const DOUBTS: usize = 1_024;

/// The state of one item up to its mark.
#[derive(Debug)]
pub(crate) struct Checkpoint {
    pub counters: Counters,
    pub spans: Spans,
    /// The dates of receipt and of first service that the inventory or the log gives.
    pub life: [Option<NaiveDate>; 2],
    pub profile: Arc<Profile>,
    /// The last entry that was folded.
    pub mark: Order,
    /// The names whose entries are the item's, and what is filed under each.
    pub namings: Vec<Naming>,
    pub filed: Vec<Filed>,
}

/// What is filed under a name, so far as a fold depends on it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Filed {
    /// Entries up to the mark.
    passed: usize,
    spans: u32,
    lives: u32,
    marks: u32,
}

/// What is filed under some names up to a mark.
pub(crate) fn filed(ledger: &Ledger, namings: &[Naming], mark: Order) -> Vec<Filed> {
    let store = &ledger.store;
    let streams = namings.iter().filter_map(|naming| Some((naming.stream, store.stream(naming.stream)?)));
    streams
        .map(|(number, stream)| Filed {
            passed: store.lines(number).partition_point(|line| store.facts.order(line) <= mark),
            spans: stream.spans,
            lives: stream.lives,
            marks: stream.marks,
        })
        .collect()
}

/// Whether some names have so many entries that a checkpoint is worth while.
pub(crate) fn is_long(ledger: &Ledger, namings: &[Naming]) -> bool {
    namings.iter().map(|naming| ledger.store.lines(naming.stream).len()).sum::<usize>() >= LONG
}

impl Checkpoint {
    /// Whether what it has folded still stands, and at an instant.
    pub fn holds(&self, ledger: &Ledger, namings: &[Naming], at: Instant) -> bool {
        (self.mark.0, self.mark.1) <= at.ticks()
            && self.namings == namings
            && self.filed == filed(ledger, namings, self.mark)
    }
}

/// The checkpoints of a book; a copy of the book begins without.
#[derive(Debug, Default)]
pub(crate) struct Checkpoints {
    /// By item, with the turn in which it was put there.
    list: Map<u32, (u64, Checkpoint)>,
    turn: u64,
}

impl Clone for Checkpoints {
    fn clone(&self) -> Self {
        Self::default()
    }
}

impl Checkpoints {
    pub fn take(&mut self, item: u32) -> Option<Checkpoint> {
        self.list.remove(&item).map(|(_, checkpoint)| checkpoint)
    }

    pub fn put(&mut self, item: u32, checkpoint: Checkpoint) {
        if checkpoint.counters.doubts.len() > DOUBTS {
            return;
        }
        if self.list.len() >= MOST
            && let Some(oldest) = self.list.iter().min_by_key(|(_, (turn, _))| *turn).map(|(item, _)| *item)
        {
            self.list.remove(&oldest);
        }
        self.turn += 1;
        self.list.insert(item, (self.turn, checkpoint));
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use super::*;
    use crate::book::Book;
    use crate::log::{Entry, Item};
    use crate::problem::Problem;
    use crate::rules::Program;
    use kitlore_syntax::When;
    use std::num::NonZeroUsize;

    const NOON: &str = "2026-02-01T12:00Z";

    /// So many cameras, C0 and on, each with so many entries, all at noon.
    fn book(cameras: usize, entries: usize) -> Book {
        let mut book = Book::new(&Program::parse("for cameras\n after 20 shoots, inspect strap").unwrap());
        for camera in 0..cameras {
            book.add_item(Item::new(format!("C{camera}"), "camera")).unwrap();
            (0..entries).for_each(|_| record(&mut book, camera, NOON));
        }
        book
    }

    fn record(book: &mut Book, camera: usize, when: &str) {
        book.record(Entry::new(when, "shoot").item(format!("C{camera}"))).unwrap();
        book.settle(NonZeroUsize::MIN);
    }

    fn at(book: &Book, when: &str) -> Instant {
        book.program().when_is_over(When::parse(when).unwrap())
    }

    fn ask(book: &mut Book, camera: usize) {
        book.standing(&format!("C{camera}"), at(book, NOON));
    }

    #[test]
    fn a_checkpoint_holds_until_something_comes_before_it() {
        let mut book = book(1, LONG);
        ask(&mut book, 0);
        let kept = book.checkpoints.take(0).unwrap();
        let namings = kept.namings.clone();
        let [before, noon, after] =
            ["2026-02-01T11:59Z", NOON, "2026-03-01T12:00Z"].map(|when| at(&book, when));
        assert!(!kept.holds(&book.ledger, &namings, before));
        assert!(kept.holds(&book.ledger, &namings, noon) && kept.holds(&book.ledger, &namings, after));
        assert!(!kept.holds(&book.ledger, &[], noon), "other names");
        record(&mut book, 0, "2026-02-02");
        assert!(kept.holds(&book.ledger, &namings, after));
        record(&mut book, 0, "2026-01-31");
        assert!(!kept.holds(&book.ledger, &namings, after));
    }

    #[test]
    fn only_a_long_history_has_one() {
        for (entries, has_one) in [(LONG - 1, false), (LONG, true)] {
            let mut book = book(1, entries);
            ask(&mut book, 0);
            assert_eq!(book.checkpoints.take(0).is_some(), has_one, "{entries} entries");
        }
    }

    #[test]
    fn those_asked_about_last_have_one() {
        let mut book = book(MOST + 1, LONG);
        (0..MOST).for_each(|camera| ask(&mut book, camera));
        ask(&mut book, 0);
        ask(&mut book, MOST);
        let without: Vec<usize> = (0..=MOST)
            .filter(|camera| book.checkpoints.take(u32::try_from(*camera).unwrap()).is_none())
            .collect();
        assert_eq!(without, [1]);
    }

    #[test]
    fn an_item_with_many_doubts_has_none() {
        for (doubts, has_one) in [(0, true), (DOUBTS, true), (DOUBTS + 1, false)] {
            let mut book = book(1, LONG);
            ask(&mut book, 0);
            let mut kept = book.checkpoints.take(0).unwrap();
            kept.counters.doubts.resize(doubts, (0, Problem::new("unit-differs", "a doubt")));
            book.checkpoints.put(0, kept);
            assert_eq!(book.checkpoints.take(0).is_some(), has_one, "{doubts} doubts");
        }
    }
}
