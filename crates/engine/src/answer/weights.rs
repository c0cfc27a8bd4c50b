//! How every test of the rules weighs every set of conditions, worked out once.

use crate::log::NameSets;
use crate::rules::Inner;

/// With more tests than these, weights are worked out when asked for.
const TABLED: usize = 64;

/// A row for each set of conditions, a column for each test.
#[derive(Debug, Clone, Default)]
pub(crate) struct Weights {
    tests: usize,
    table: Vec<Option<i64>>,
}

impl Weights {
    /// Adds the sets that came since the last time.
    pub fn catch_up(&mut self, sets: &NameSets, program: &Inner) {
        self.tests = if program.tests.len() <= TABLED { program.tests.len() } else { 0 };
        if self.tests == 0 {
            return;
        }
        let known = self.table.len() / self.tests;
        if known == sets.lists().len() {
            return;
        }
        let fresh = sets.lists().skip(known);
        self.table.extend(fresh.flat_map(|list| program.tests.iter().map(|test| test.weight(list))));
    }

    /// How a test weighs a set, in thousandths; `None` if the set does not match.
    pub fn get(&self, set: u32, test: u32, sets: &NameSets, program: &Inner) -> Option<i64> {
        if self.tests == 0 {
            return program.tests.get(test as usize)?.weight(sets.list(set));
        }
        *self.table.get(set as usize * self.tests + test as usize)?
    }
}
