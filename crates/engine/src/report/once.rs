//! What is reported once for each name: where it stands first in the order of record, and how often.

use crate::log::Ledger;
use crate::names::Map;
use crate::problem::Problem;
use std::hash::Hash;

/// How often each name stands, and where first.
pub(super) struct Once<K>(Map<K, Seen>);

struct Seen {
    count: u64,
    /// The order of record of the first.
    first: u32,
}

impl<K: Copy + Hash + Ord> Once<K> {
    pub fn new() -> Self {
        Self(Map::default())
    }

    /// An entry has the name.
    pub fn add(&mut self, name: K, seq: u32) {
        let seen = self.0.entry(name).or_insert(Seen { count: 0, first: seq });
        seen.count += 1;
        seen.first = seen.first.min(seq);
    }

    /// One problem for each name, in order of record.
    pub fn report(self, ledger: &Ledger, problems: &mut Vec<Problem>, mut problem: impl FnMut(K) -> Problem) {
        let mut all: Vec<(K, Seen)> = self.0.into_iter().collect();
        all.sort_unstable_by_key(|(name, seen)| (seen.first, *name));
        problems.extend(all.into_iter().map(|(name, Seen { count, first })| {
            let problem = problem(name).at(ledger.place(first));
            match count {
                1 => problem,
                _ => problem.then("so in {count} entries").with("count", count),
            }
        }));
    }
}
