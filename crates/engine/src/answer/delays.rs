//! Occurrences that a delay counts from, and the exceptions that cancel them.

use super::mark::Mark;
use crate::names::{Map, Set};
use crate::time::Instant;

/// The occurrences of one cycle. What an exception cancels is found by its reference, not by a look at every
/// occurrence: a log may hold any number of both.
#[derive(Debug, Default)]
pub(crate) struct Delays {
    /// In time order, with what they refer to.
    occurrences: Vec<(Mark, Option<u32>)>,
    /// How many at the front are cancelled.
    past: usize,
    /// For a reference, how many occurrences had come when an exception with it came.
    cancelled: Map<u32, usize>,
    /// Exceptions of the present instant also cancel what is recorded after them.
    now: Option<Instant>,
    all_now: bool,
    references_now: Set<u32>,
}

impl Delays {
    /// Another item.
    pub fn reset(&mut self) {
        self.clear();
        self.now = None;
    }

    /// Another cycle, or a newer occurrence that takes the place of all before it.
    pub fn clear(&mut self) {
        self.occurrences.clear();
        self.cancelled.clear();
        self.past = 0;
    }

    /// The earliest occurrence that nothing cancelled.
    pub fn first(&self) -> Option<Mark> {
        self.occurrences.get(self.past).map(|(mark, _)| *mark)
    }

    /// An occurrence, in time order; `of` is what it refers to.
    pub fn occur(&mut self, mark: Mark, of: Option<u32>) {
        let now = self.now == Some(mark.at);
        let cancelled = now && (self.all_now || of.is_some_and(|of| self.references_now.contains(&of)));
        if !cancelled {
            self.occurrences.push((mark, of));
        }
    }

    /// An exception: it cancels what has its reference or, without one, everything.
    pub fn cancel(&mut self, at: Instant, by: Option<u32>) {
        if self.now != Some(at) {
            self.now = Some(at);
            self.all_now = false;
            self.references_now.clear();
        }
        let Some(by) = by else {
            self.all_now = true;
            return self.clear();
        };
        self.references_now.insert(by);
        self.cancelled.insert(by, self.occurrences.len());
        while let Some((_, of)) = self.occurrences.get(self.past)
            && of.and_then(|of| self.cancelled.get(&of)).is_some_and(|before| *before > self.past)
        {
            self.past += 1;
        }
    }
}
