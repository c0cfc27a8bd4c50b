//! A column that only some entries have, by order of record.

use crate::names::index;

/// Values of some entries. Where many entries in a row have one, finding it takes no search.
#[derive(Debug, Clone)]
pub(crate) struct Sparse<T> {
    values: Vec<T>,
    runs: Vec<Run>,
}

/// Entries that follow each other and all have a value.
#[derive(Debug, Clone, Copy)]
struct Run {
    /// The first one's order of record.
    seq: u32,
    /// Where its value is.
    first: u32,
    count: u32,
}

impl<T> Default for Sparse<T> {
    fn default() -> Self {
        Self { values: Vec::new(), runs: Vec::new() }
    }
}

impl<T> Sparse<T> {
    /// Whether no entry has one.
    pub fn is_empty(&self) -> bool {
        self.values.is_empty()
    }

    /// The value of an entry. Those that come out of order are found once they are sorted.
    pub fn push(&mut self, seq: u32, value: T) {
        match self.runs.last_mut() {
            Some(run) if run.seq.checked_add(run.count) == Some(seq) => run.count += 1,
            _ => self.runs.push(Run { seq, first: index(self.values.len()), count: 1 }),
        }
        self.values.push(value);
    }

    /// Takes over the values of another one.
    pub fn append(&mut self, other: Self) {
        let first = index(self.values.len());
        self.values.extend(other.values);
        self.runs.extend(other.runs.into_iter().map(|run| Run { first: run.first + first, ..run }));
    }

    /// Puts entries that came out of order into the order of record.
    pub fn sort(&mut self) {
        if !self.runs.is_sorted_by_key(|run| run.seq) {
            self.runs.sort_by_key(|run| run.seq);
        }
    }

    /// The value of an entry, if it has one.
    pub fn get(&self, seq: u32) -> Option<&T> {
        let after = self.runs.partition_point(|run| run.seq <= seq);
        let run = self.runs.get(after.checked_sub(1)?)?;
        let place = seq - run.seq;
        if place < run.count { self.values.get((run.first + place) as usize) } else { None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_found_by_the_order_of_record_of_their_entries() {
        let (mut one, mut other) = (Sparse::default(), Sparse::default());
        for seq in [3, 4, 5, 9] {
            one.push(seq, seq * 10);
        }
        for seq in [10, 11, 20, 7, 1] {
            other.push(seq, seq * 10);
        }
        one.append(other);
        one.sort();
        let found: Vec<u32> = (0..25).filter(|seq| one.get(*seq) == Some(&(seq * 10))).collect();
        assert_eq!(found, [1, 3, 4, 5, 7, 9, 10, 11, 20]);
        assert_eq!((0..25).filter(|seq| one.get(*seq).is_some()).count(), found.len());
    }
}
