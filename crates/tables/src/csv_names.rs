//! The names in the columns of a log: each distinct text is looked up in the book once, by the thread that
//! files, and from then on every thread knows its number.

use smol_str::SmolStr;
use std::collections::HashMap;
use std::ops::Range;
use std::sync::{PoisonError, RwLock};

type Numbers = HashMap<SmolStr, u32, foldhash::fast::FixedState>;

/// So many names of a column are remembered; those beyond are looked up in the book each time. More than any
/// house has, and a bound on memory.
const MOST: usize = 1 << 20;

/// Set in the number of a name that was not known when its block was read: an index into the block's list.
const FRESH: u32 = 1 << 31;

/// The names of one column in the order of their numbers, as all threads see them.
#[derive(Debug, Default)]
pub(crate) struct Learnt(RwLock<Vec<SmolStr>>);

/// What one thread knows of a column's names.
#[derive(Debug, Default)]
pub(crate) struct Known {
    numbers: Numbers,
    /// How many of [`Learnt`] are among them.
    seen: u32,
    /// Names of the block at hand that are not.
    fresh: Numbers,
    fresh_names: Vec<SmolStr>,
}

/// The keys of a column's names in a book, by number.
#[derive(Debug)]
pub(crate) struct Keys<K> {
    numbers: Numbers,
    keys: Vec<Option<K>>,
    /// Learnt and not yet told to the others.
    untold: Vec<SmolStr>,
    /// The numbers of the fresh names of the block at hand.
    fresh: Vec<u32>,
}

impl Known {
    /// Takes in what was learnt since the last block.
    pub fn catch_up(&mut self, learnt: &Learnt) {
        let names = learnt.0.read().unwrap_or_else(PoisonError::into_inner);
        for name in names.get(self.seen as usize..).unwrap_or_default() {
            self.numbers.insert(name.clone(), self.seen);
            self.seen += 1;
        }
    }

    /// The number of a name in the block at hand.
    #[inline]
    pub fn number(&mut self, name: &str) -> u32 {
        match self.numbers.get(name) {
            Some(number) => *number,
            None => self.fresh_number(name),
        }
    }

    #[cold]
    fn fresh_number(&mut self, name: &str) -> u32 {
        if let Some(number) = self.fresh.get(name) {
            return *number;
        }
        // A block is far from having 2³¹ names.
        let number = FRESH | u32::try_from(self.fresh_names.len()).unwrap_or(u32::MAX);
        let name = SmolStr::from(name);
        self.fresh.insert(name.clone(), number);
        self.fresh_names.push(name);
        number
    }

    /// How many fresh names the block has so far.
    pub fn fresh(&self) -> usize {
        self.fresh_names.len()
    }

    /// Ends a block; gives its fresh names in the order in which they came.
    pub fn end_block(&mut self) -> Vec<SmolStr> {
        self.fresh.clear();
        std::mem::take(&mut self.fresh_names)
    }
}

impl<K: Copy> Keys<K> {
    pub fn new() -> Self {
        Self { numbers: Numbers::default(), keys: Vec::new(), untold: Vec::new(), fresh: Vec::new() }
    }

    /// Looks up the fresh names of a block up to a count, in their order.
    pub fn resolve(&mut self, names: &[SmolStr], upto: usize, mut key: impl FnMut(&str) -> K) {
        for name in names.get(self.fresh.len()..upto).unwrap_or_default() {
            let number = match self.numbers.get(name) {
                Some(number) => *number,
                None => {
                    let number = u32::try_from(self.keys.len()).unwrap_or(u32::MAX);
                    self.keys.push(Some(key(name)));
                    // A number that is told is a place among the names told: none is told after the first
                    // that is not.
                    if self.numbers.len() < MOST {
                        self.numbers.insert(name.clone(), number);
                        self.untold.push(name.clone());
                    }
                    number
                }
            };
            self.fresh.push(number);
        }
    }

    /// Gives fresh names of a block the numbers that they now have.
    pub fn renumber(&self, numbers: &mut [u32], rows: Range<usize>) {
        if self.fresh.is_empty() {
            return;
        }
        let numbers = numbers.get_mut(rows).unwrap_or_default();
        for number in numbers.iter_mut().filter(|number| **number & FRESH != 0) {
            if let Some(known) = self.fresh.get((*number & !FRESH) as usize) {
                *number = *known;
            }
        }
    }

    /// The keys by number.
    pub fn list(&self) -> &[Option<K>] {
        &self.keys
    }

    /// Ends a block; tells the others what was learnt.
    pub fn end_block(&mut self, learnt: &Learnt) {
        self.fresh.clear();
        if !self.untold.is_empty() {
            learnt.0.write().unwrap_or_else(PoisonError::into_inner).append(&mut self.untold);
        }
    }
}
