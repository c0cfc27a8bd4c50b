//! External sorting: some records are in memory, the others in sorted runs in a temporary file, which are merged
//! when all are asked for.
//!
//! The crates for it fall short: `extsort` takes a truncated file for a complete one, and leaves named files behind
//! when it is killed; `ext-sort` leaves a folder; both need rayon and keep a file open for each run; `extsort-iter`
//! writes the pointers to names and leaves the names in memory.

use super::codec::Codec;
use super::spill::{SpillError, SpillOptions};
use std::borrow::Borrow;
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::collections::binary_heap::PeekMut;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::marker::PhantomData;
use std::mem;

/// What can be sorted in a file.
pub(crate) trait Record: Codec + Clone {
    fn compare(&self, other: &Self) -> Ordering;

    /// The first part of the sort key. Within a group records arrive nearly in order.
    fn group(&self) -> u32;
}

fn sort<T: Record>(records: &mut [T]) {
    // Sorting what is in order already is one pass, and after this step most groups are.
    records.sort_by_key(T::group);
    records.sort_by(T::compare);
}

/// This many runs of one size are merged into one, lest their number grow with that of the records.
const MERGED_RUNS: usize = 32;

/// The bytes read of a run at a time.
const READ: usize = 4 * 1024;
/// The bytes written of a run at a time.
const WRITTEN: usize = 16 * READ;

/// Records to be sorted.
#[derive(Debug)]
pub(crate) struct Sorter<T> {
    spill: SpillOptions,
    /// Those in memory.
    memory: Vec<T>,
    len: usize,
    file: Option<File>,
    /// From the oldest on; later runs are never merged more often than earlier ones.
    runs: Vec<SortedRun>,
}

/// Sorted records, in the file between two offsets.
#[derive(Debug, Clone, Copy)]
struct SortedRun {
    /// How many levels of merging made it.
    merged: u32,
    from: u64,
    to: u64,
}

impl<T: Record> Sorter<T> {
    pub fn new(spill: &SpillOptions) -> Self {
        Self { spill: spill.clone(), memory: Vec::new(), len: 0, file: None, runs: Vec::new() }
    }

    pub fn len(&self) -> usize {
        self.len
    }

    /// # Errors
    /// The temporary file cannot be written. The record is not added then; earlier ones are still there.
    pub fn push(&mut self, record: T) -> Result<(), SpillError> {
        if self.memory.len() >= self.spill.pictures.max(1) {
            self.write_memory().map_err(|cause| self.spill.error(cause))?;
        }
        self.memory.push(record);
        self.len += 1;
        Ok(())
    }

    /// All of them, in order; equal ones in the order in which they came.
    ///
    /// # Errors
    /// The temporary file cannot be read.
    pub fn sorted(&mut self) -> Result<Sorted<'_, T>, SpillError> {
        sort(&mut self.memory);
        let memory = self.memory.iter().cloned().map(Ok);
        let sources = self.sources(&self.runs).chain([Box::new(memory) as Source<'_, T>]);
        let merged = Merged::of(sources).map_err(|cause| self.spill.error(cause))?;
        Ok(Sorted { spill: &self.spill, merged })
    }

    /// Moves the records in memory to the file.
    fn write_memory(&mut self) -> io::Result<()> {
        sort(&mut self.memory);
        if self.file.is_none() {
            self.file = Some(tempfile::tempfile_in(&self.spill.folder)?);
        }
        let run = self.append(0, self.memory.iter().map(Ok))?;
        self.runs.push(run);
        self.memory.clear();
        while let Some(at) = self.runs.len().checked_sub(MERGED_RUNS)
            && let Some(several @ [first, .., last]) = self.runs.get(at..)
            && first.merged == last.merged
        {
            let run = self.append(first.merged + 1, Merged::of(self.sources(several))?)?;
            self.runs.truncate(at);
            self.runs.push(run);
        }
        Ok(())
    }

    /// Appends sorted records to the file.
    fn append<R: Borrow<T>>(
        &self,
        merged: u32,
        records: impl Iterator<Item = io::Result<R>>,
    ) -> io::Result<SortedRun> {
        let from = self.runs.last().map_or(0, |last| last.to);
        let mut run = SortedRun { merged, from, to: from };
        let mut bytes = Vec::with_capacity(WRITTEN);
        let mut write = |bytes: &mut Vec<u8>| {
            let mut file = self.file.as_ref().ok_or(io::ErrorKind::NotFound)?;
            // Runs that are merged are read from the same file.
            file.seek(SeekFrom::Start(run.to))?;
            file.write_all(bytes)?;
            run.to += bytes.len() as u64;
            bytes.clear();
            io::Result::Ok(())
        };
        for record in records {
            record?.borrow().encode(&mut bytes);
            if bytes.len() >= WRITTEN {
                write(&mut bytes)?;
            }
        }
        write(&mut bytes)?;
        Ok(run)
    }

    fn sources<'a>(&'a self, runs: &'a [SortedRun]) -> impl Iterator<Item = Source<'a, T>> {
        let file = self.file.iter();
        file.flat_map(|file| {
            runs.iter().map(move |run| {
                Box::new(RunReader { file, run: *run, bytes: Vec::new(), at: 0, of: PhantomData })
                    as Source<'a, T>
            })
        })
    }
}

type Source<'a, T> = Box<dyn Iterator<Item = io::Result<T>> + 'a>;

/// The records of one run.
struct RunReader<'a, T> {
    file: &'a File,
    /// The part that is still to be read.
    run: SortedRun,
    /// What was read last, and how much of it is decoded.
    bytes: Vec<u8>,
    at: usize,
    of: PhantomData<T>,
}

impl<T: Codec> RunReader<'_, T> {
    /// Reads on; false at the end of the run.
    fn fill(&mut self) -> io::Result<bool> {
        let length = (self.run.to - self.run.from).min(READ as u64);
        self.bytes.drain(..self.at);
        self.bytes.reserve_exact(READ);
        self.at = 0;
        let mut file = self.file;
        file.seek(SeekFrom::Start(self.run.from))?;
        let read = file.take(length).read_to_end(&mut self.bytes)?;
        self.run.from += length;
        if (read as u64) < length {
            return Err(io::Error::new(io::ErrorKind::UnexpectedEof, "the file was cut off"));
        }
        Ok(read > 0)
    }
}

impl<T: Codec> Iterator for RunReader<'_, T> {
    type Item = io::Result<T>;

    fn next(&mut self) -> Option<io::Result<T>> {
        loop {
            let mut rest = self.bytes.get(self.at..).unwrap_or_default();
            if let Some(record) = T::decode(&mut rest) {
                self.at = self.bytes.len() - rest.len();
                return Some(Ok(record));
            }
            // The record continues beyond what was read.
            match self.fill() {
                Ok(true) => {}
                Ok(false) if self.bytes.is_empty() => return None,
                Ok(false) => {
                    return Some(Err(io::Error::new(
                        io::ErrorKind::InvalidData,
                        "it is not as it was written",
                    )));
                }
                Err(cause) => return Some(Err(cause)),
            }
        }
    }
}

/// The records of several sources, each in order.
struct Merged<'a, T: Record> {
    sources: Vec<Source<'a, T>>,
    /// The next record of each source that has one; the least on top.
    next: BinaryHeap<Next<T>>,
}

struct Next<T> {
    record: T,
    source: usize,
}

impl<'a, T: Record> Merged<'a, T> {
    fn of(sources: impl Iterator<Item = Source<'a, T>>) -> io::Result<Self> {
        let mut merged = Self { sources: sources.collect(), next: BinaryHeap::new() };
        for (source, records) in merged.sources.iter_mut().enumerate() {
            if let Some(record) = records.next() {
                merged.next.push(Next { record: record?, source });
            }
        }
        Ok(merged)
    }
}

impl<T: Record> Iterator for Merged<'_, T> {
    type Item = io::Result<T>;

    fn next(&mut self) -> Option<io::Result<T>> {
        let mut least = self.next.peek_mut()?;
        match self.sources.get_mut(least.source)?.next() {
            Some(Ok(record)) => Some(Ok(mem::replace(&mut least.record, record))),
            Some(Err(cause)) => Some(Err(cause)),
            None => Some(Ok(PeekMut::pop(least).record)),
        }
    }
}

impl<T: Record> Ord for Next<T> {
    /// The heap has the greatest on top.
    fn cmp(&self, other: &Self) -> Ordering {
        other.record.compare(&self.record).then(other.source.cmp(&self.source))
    }
}

impl<T: Record> PartialOrd for Next<T> {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl<T: Record> PartialEq for Next<T> {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl<T: Record> Eq for Next<T> {}

/// Records in order.
pub(crate) struct Sorted<'a, T: Record> {
    pub spill: &'a SpillOptions,
    merged: Merged<'a, T>,
}

impl<T: Record> Iterator for Sorted<'_, T> {
    type Item = Result<T, SpillError>;

    fn next(&mut self) -> Option<Result<T, SpillError>> {
        Some(self.merged.next()?.map_err(|cause| self.spill.error(cause)))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

    use super::super::codec::codec;
    use super::*;

    /// A number to sort by, and when it was added.
    #[derive(Debug, Clone, PartialEq)]
    struct Card {
        number: u32,
        came: u32,
    }

    codec!(Card { number, came });

    impl Record for Card {
        fn compare(&self, other: &Self) -> Ordering {
            self.number.cmp(&other.number)
        }

        fn group(&self) -> u32 {
            self.number / 100
        }
    }

    /// Cards in no order.
    fn cards(count: u32) -> Vec<Card> {
        (0..count).map(|came| Card { number: came * 7_919 % 311, came }).collect()
    }

    fn sorter(cards: &[Card], pictures: usize) -> Sorter<Card> {
        let mut sorter = Sorter::new(&SpillOptions { pictures, ..SpillOptions::default() });
        cards.iter().for_each(|card| sorter.push(card.clone()).unwrap());
        sorter
    }

    fn sorted(sorter: &mut Sorter<Card>) -> Vec<Card> {
        sorter.sorted().unwrap().map(Result::unwrap).collect()
    }

    #[test]
    fn cards_are_in_order_however_few_are_in_memory() {
        let cards = cards(3_000);
        let mut expected = cards.clone();
        expected.sort_by_key(|card| (card.number, card.came));
        for pictures in [0, 1, 2, 3, 90, 93, 94, 1_000, 2_999, 3_000, 3_001] {
            let mut sorter = sorter(&cards, pictures);
            assert_eq!(sorter.len(), cards.len());
            assert_eq!(sorter.file.is_some(), pictures < cards.len());
            assert!(
                sorter.memory.len() <= pictures.max(1) && sorter.runs.len() < 3 * MERGED_RUNS,
                "{pictures}"
            );
            assert_eq!(sorted(&mut sorter), expected, "{pictures}");
            assert_eq!(sorted(&mut sorter), expected, "{pictures}, once more");
            // Records may be added after sorting.
            let late = Card { number: 0, came: u32::MAX };
            sorter.push(late.clone()).unwrap();
            assert_eq!(sorted(&mut sorter).iter().rfind(|card| card.number == 0), Some(&late), "{pictures}");
        }
    }

    #[test]
    fn a_file_that_was_cut_off_is_reported() {
        for left in [0, 1, 7, 800, 2_391, 2_399] {
            let mut sorter = sorter(&cards(400), 100);
            let file = sorter.file.as_ref().unwrap();
            assert_eq!(file.metadata().unwrap().len(), 300 * 8);
            file.set_len(left).unwrap();
            let cards = sorter.sorted().and_then(|cards| cards.collect::<Result<Vec<Card>, _>>());
            let message = cards.unwrap_err().to_string();
            assert!(
                message.contains("the file was cut off") && message.contains(" exists, can be written to"),
                "{message}"
            );
        }
    }

    #[test]
    fn what_cannot_be_written_stays() {
        let mut sorter = Sorter::new(&SpillOptions { pictures: 2, folder: "no such folder".into() });
        let [one, two, three] = [2, 1, 0].map(|number| Card { number, came: 0 });
        sorter.push(one.clone()).unwrap();
        sorter.push(two.clone()).unwrap();
        for _ in 0..2 {
            assert!(sorter.push(three.clone()).unwrap_err().to_string().contains("`no such folder`"));
        }
        assert_eq!((sorter.len(), sorted(&mut sorter)), (2, vec![two.clone(), one.clone()]));
        // Now with a folder that exists.
        sorter.spill = SpillOptions { pictures: 2, ..SpillOptions::default() };
        sorter.push(three.clone()).unwrap();
        assert_eq!(sorted(&mut sorter), [three, two, one]);
    }
}
