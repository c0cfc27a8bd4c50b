//! The names in the columns of a log: each distinct text is looked up in the book once, by the thread that
//! files, and from then on every thread knows its number.

use smol_str::SmolStr;
use std::collections::HashMap;
use std::hash::{Hash, Hasher};
use std::ops::Range;
use std::sync::{PoisonError, RwLock};

type Map<K> = HashMap<K, u32, foldhash::fast::FixedState>;

/// Numbers by name.
#[derive(Debug, Default)]
struct Numbers {
    short: Map<Short>,
    long: Map<SmolStr>,
}

/// A name of up to 16 bytes, as nearly all have: its first and last bytes as numbers, which together are all
/// of it. Compared in one go, where a text is compared byte by byte.
///
/// In [`Known::pending`] also the place of a longer one, with [`LONG`] as its length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Short {
    first: u64,
    last: u64,
    length: u8,
}

/// The length that stands for more than 16.
const LONG: u8 = u8::MAX;

impl Hash for Short {
    fn hash<H: Hasher>(&self, state: &mut H) {
        state.write_u128((u128::from(self.first) << 64) | u128::from(self.last));
    }
}

impl Short {
    #[inline]
    fn of(name: &str) -> Option<Self> {
        let bytes = name.as_bytes();
        let (first, last) = match bytes {
            [] => (0, 0),
            [one] => (u64::from(*one), 0),
            [one, two] => (u64::from(*one), u64::from(*two)),
            [one, two, three] => (u64::from(*one), u64::from(u16::from_le_bytes([*two, *three]))),
            _ if bytes.len() < 8 => {
                let four = |bytes: &[u8; 4]| u64::from(u32::from_le_bytes(*bytes));
                (four(bytes.first_chunk()?), four(bytes.last_chunk()?))
            }
            _ if bytes.len() <= 16 => {
                (u64::from_le_bytes(*bytes.first_chunk()?), u64::from_le_bytes(*bytes.last_chunk()?))
            }
            _ => return None,
        };
        Some(Self { first, last, length: u8::try_from(bytes.len()).ok()? })
    }
}

impl Short {
    /// The name.
    fn text(&self) -> SmolStr {
        let half = if self.length < 8 { 4 } else { 8 };
        let (first, last) = (self.first.to_le_bytes(), self.last.to_le_bytes());
        let length = usize::from(self.length);
        let mut bytes = Vec::with_capacity(length);
        // What the last bytes repeat of the first is left out.
        match length {
            0..4 => bytes
                .extend(first.iter().take(length.min(1)).chain(last.iter().take(length.saturating_sub(1)))),
            _ => bytes.extend(first.iter().take(half).chain(last.iter().take(half).skip(2 * half - length))),
        }
        SmolStr::from(String::from_utf8_lossy(&bytes))
    }
}

impl Numbers {
    #[inline]
    fn get(&self, name: &str) -> Option<u32> {
        match Short::of(name) {
            Some(short) => self.short.get(&short),
            None => self.long.get(name),
        }
        .copied()
    }

    fn insert(&mut self, name: &SmolStr, number: u32) {
        match Short::of(name) {
            Some(short) => self.short.insert(short, number),
            None => self.long.insert(name.clone(), number),
        };
    }

    fn len(&self) -> usize {
        self.short.len() + self.long.len()
    }

    fn clear(&mut self) {
        self.short.clear();
        self.long.clear();
    }
}

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
    /// Names to be looked up together: the look-ups then overlap, where between the reading of rows the
    /// memory would be waited for at each.
    pending: Vec<Short>,
    /// Those of `pending` that are long.
    long: Vec<SmolStr>,
}

/// So many names are looked up together at most.
const TOGETHER: usize = 1 << 9;

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
            self.numbers.insert(name, self.seen);
            self.seen += 1;
        }
    }

    /// Takes a name of the block at hand; its number is added to the numbers sooner or later.
    #[inline]
    pub fn add(&mut self, name: &str, numbers: &mut Vec<u32>) {
        let short = Short::of(name).unwrap_or_else(|| {
            self.long.push(name.into());
            Short { first: self.long.len() as u64 - 1, last: 0, length: LONG }
        });
        self.pending.push(short);
        if self.pending.len() >= TOGETHER {
            self.settle(numbers);
        }
    }

    /// Adds the numbers of the names taken.
    pub fn settle(&mut self, numbers: &mut Vec<u32>) {
        let pending = std::mem::take(&mut self.pending);
        for name in &pending {
            let known = if name.length == LONG { None } else { self.numbers.short.get(name).copied() };
            numbers.push(known.unwrap_or_else(|| self.other_number(name)));
        }
        self.pending = pending;
        self.pending.clear();
        self.long.clear();
    }

    /// The number of a name that is long or not known.
    #[cold]
    fn other_number(&mut self, name: &Short) -> u32 {
        let name = match usize::try_from(name.first) {
            Ok(at) if name.length == LONG => self.long.get(at).cloned().unwrap_or_default(),
            _ => name.text(),
        };
        if let Some(number) = self.numbers.get(&name).or_else(|| self.fresh.get(&name)) {
            return number;
        }
        // A block is far from having 2³¹ names.
        let number = FRESH | u32::try_from(self.fresh_names.len()).unwrap_or(u32::MAX);
        self.fresh.insert(&name, number);
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
                Some(number) => number,
                None => {
                    let number = u32::try_from(self.keys.len()).unwrap_or(u32::MAX);
                    self.keys.push(Some(key(name)));
                    // A number that is told is a place among the names told: none is told after the first
                    // that is not.
                    if self.numbers.len() < MOST {
                        self.numbers.insert(name, number);
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

#[cfg(test)]
mod tests {
    use super::Short;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(20_000))]

        #[test]
        fn short_names_are_equal_where_their_texts_are(a in "[ab\0é]{0,17}", b in "[ab\0é]{0,17}") {
            if let (Some(short_a), Some(short_b)) = (Short::of(&a), Short::of(&b)) {
                prop_assert_eq!(short_a == short_b, a == b);
            }
            prop_assert_eq!(Short::of(&a).map(|short| short.text().to_string()), (a.len() <= 16).then_some(a));
        }

        #[test]
        fn short_names_with_one_other_byte_differ(a in "[a-z0-9\0]{1,16}", at in 0_usize..16) {
            let mut other = a.clone().into_bytes();
            let at = at % other.len();
            if let Some(byte) = other.get_mut(at) {
                *byte ^= 1;
            }
            prop_assert_ne!(Short::of(&a), Short::of(&String::from_utf8_lossy(&other)));
        }
    }
}
