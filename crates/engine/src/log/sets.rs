//! Sets of names, such as the conditions of an entry: each kept once, by number.

use super::lexicon::Lexicon;
use super::spellings::Spellings;
use crate::names::{Map, index};

/// Sets by number; 0 is the empty one.
#[derive(Debug, Clone)]
pub(crate) struct NameSets {
    spellings: Spellings,
    numbers: Map<Vec<u32>, u32>,
    lists: Vec<Vec<u32>>,
}

impl Default for NameSets {
    fn default() -> Self {
        let numbers = Map::from_iter([(Vec::new(), 0)]);
        Self { spellings: Spellings::default(), numbers, lists: vec![Vec::new()] }
    }
}

impl NameSets {
    /// The number of a list joined by `;` or `,`.
    pub fn add_spelled(&mut self, text: &str, names: &mut Lexicon) -> u32 {
        if let Some(number) = self.find_spelled(text) {
            return number;
        }
        let parts = text.split([';', ',']).map(str::trim).filter(|part| !part.is_empty());
        let mut list: Vec<u32> = parts.map(|part| names.add(part)).collect();
        list.sort_unstable();
        list.dedup();
        let number = self.add(list);
        self.spellings.insert(text, number);
        number
    }

    /// The number of a list as spelled, if that spelling was met.
    pub fn find_spelled(&self, text: &str) -> Option<u32> {
        if text.is_empty() { Some(0) } else { self.spellings.get(text) }
    }

    /// The number of a set, sorted and without repeats.
    pub fn add(&mut self, list: Vec<u32>) -> u32 {
        let next = index(self.lists.len());
        *self.numbers.entry(list).or_insert_with_key(|list| {
            self.lists.push(list.clone());
            next
        })
    }

    /// The names of a set, sorted.
    pub fn list(&self, number: u32) -> &[u32] {
        self.lists.get(number as usize).map_or(&[], Vec::as_slice)
    }

    /// All sets by number.
    pub fn lists(&self) -> impl ExactSizeIterator<Item = &[u32]> {
        self.lists.iter().map(Vec::as_slice)
    }

    /// Every name that some set has, with repeats.
    pub fn used(&self) -> impl Iterator<Item = u32> {
        self.lists.iter().flatten().copied()
    }
}
