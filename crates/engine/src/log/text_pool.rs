//! Texts by number: ids, references, remarks; in one block of memory, found by their hash.

use crate::names::index;
use hashbrown::HashTable;
use std::hash::BuildHasher;

/// Texts in the order they came.
#[derive(Debug, Clone, Default)]
pub(crate) struct TextPool {
    bytes: String,
    /// Where each ends.
    ends: Vec<u64>,
    table: HashTable<u32>,
}

fn hash(text: &str) -> u64 {
    foldhash::fast::FixedState::with_seed(0).hash_one(text)
}

impl TextPool {
    /// The number of a text, and whether it is new.
    pub fn add(&mut self, text: &str) -> (u32, bool) {
        let Self { bytes, ends, table } = self;
        let hash_of = hash(text);
        if let Some(number) = table.find(hash_of, |number| get(bytes, ends, *number) == text) {
            return (*number, false);
        }
        let number = index(ends.len());
        bytes.push_str(text);
        ends.push(bytes.len() as u64);
        table.insert_unique(hash_of, number, |number| hash(get(bytes, ends, *number)));
        (number, true)
    }

    /// Makes place for so many more texts, so long together.
    pub fn reserve(&mut self, count: usize, long: usize) {
        let Self { bytes, ends, table } = self;
        bytes.reserve(long);
        ends.reserve(count);
        table.reserve(count, |number| hash(get(bytes, ends, *number)));
    }

    /// The number of a text that is there.
    pub fn find(&self, text: &str) -> Option<u32> {
        self.table.find(hash(text), |number| self.get(*number) == text).copied()
    }

    /// The text of a number.
    pub fn get(&self, number: u32) -> &str {
        get(&self.bytes, &self.ends, number)
    }

    /// Takes a text out; its number stays unused.
    pub fn remove(&mut self, number: u32) {
        let Self { bytes, ends, table } = self;
        let hash_of = hash(get(bytes, ends, number));
        if let Ok(found) = table.find_entry(hash_of, |other| *other == number) {
            found.remove();
        }
    }

    /// The numbers of the texts that are there, in no order.
    pub fn numbers(&self) -> impl Iterator<Item = u32> {
        self.table.iter().copied()
    }

    /// How many numbers were given.
    pub fn len(&self) -> usize {
        self.ends.len()
    }
}

fn get<'a>(bytes: &'a str, ends: &[u64], number: u32) -> &'a str {
    let number = number as usize;
    let end = |at: usize| ends.get(at).and_then(|end| usize::try_from(*end).ok());
    let start = number.checked_sub(1).map_or(Some(0), end);
    start.zip(end(number)).and_then(|(start, end)| bytes.get(start..end)).unwrap_or("")
}
