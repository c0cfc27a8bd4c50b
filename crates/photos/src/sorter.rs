//! Records put in order however many they are: some in memory, the others in runs in a temporary file, which are
//! merged when all are asked for.
//!
//! Our own, since the crates for it fall short: `extsort` takes a file that was cut off for one that ends there, and
//! leaves named files behind when it is killed; `ext-sort` leaves a folder; both need rayon and hold a file open for
//! each run; `extsort-iter` writes the pointers to names and leaves the names in memory.

use crate::room::{Room, RoomError};
use crate::stored::Stored;
use std::borrow::Borrow;
use std::cmp::Ordering;
use std::collections::BinaryHeap;
use std::collections::binary_heap::PeekMut;
use std::fs::File;
use std::io::{self, Read, Seek, SeekFrom, Write};
use std::marker::PhantomData;
use std::mem;

/// What can be put in order in a file.
pub(crate) trait Record: Stored + Clone {
    fn compare(&self, other: &Self) -> Ordering;

    /// What comes first when they are compared, and within which they come nearly in order.
    fn group(&self) -> u32;
}

fn sort<T: Record>(records: &mut [T]) {
    // What is in order already is only looked through, and after this most groups are.
    records.sort_by_key(T::group);
    records.sort_by(T::compare);
}

/// So many runs of one size become one, lest their number grow with that of the records.
const RUNS: usize = 32;

/// Of each run so many bytes are read at a time.
const BLOCK: usize = 4 * 1024;
/// So many are written at a time, of one run.
const WRITTEN: usize = 16 * BLOCK;

/// Records to be put in order.
#[derive(Debug)]
pub(crate) struct Sorter<T> {
    room: Room,
    /// Those in memory.
    few: Vec<T>,
    len: usize,
    file: Option<File>,
    /// From the oldest on; of later ones as many make less.
    runs: Vec<Run>,
}

/// Records in order, in the file from one place to another.
#[derive(Debug, Clone, Copy)]
struct Run {
    /// How many times over it was made of several.
    merged: u32,
    from: u64,
    to: u64,
}

impl<T: Record> Sorter<T> {
    pub fn new(room: &Room) -> Self {
        Self { room: room.clone(), few: Vec::new(), len: 0, file: None, runs: Vec::new() }
    }

    pub fn len(&self) -> usize {
        self.len
    }

    /// # Errors
    /// The temporary file cannot be written. The record is not taken then, and those before are still there.
    pub fn push(&mut self, record: T) -> Result<(), RoomError> {
        if self.few.len() >= self.room.pictures.max(1) {
            self.write_few().map_err(|cause| self.room.error(cause))?;
        }
        self.few.push(record);
        self.len += 1;
        Ok(())
    }

    /// All of them, in order; equal ones in the order in which they came.
    ///
    /// # Errors
    /// The temporary file cannot be read.
    pub fn sorted(&mut self) -> Result<Sorted<'_, T>, RoomError> {
        sort(&mut self.few);
        let few = self.few.iter().cloned().map(Ok);
        let sources = self.sources(&self.runs).chain([Box::new(few) as Source<'_, T>]);
        let merged = Merged::of(sources).map_err(|cause| self.room.error(cause))?;
        Ok(Sorted { room: &self.room, merged })
    }

    /// Moves what is in memory to the file.
    fn write_few(&mut self) -> io::Result<()> {
        sort(&mut self.few);
        if self.file.is_none() {
            self.file = Some(tempfile::tempfile_in(&self.room.folder)?);
        }
        let run = self.append(0, self.few.iter().map(Ok))?;
        self.runs.push(run);
        self.few.clear();
        while let Some(at) = self.runs.len().checked_sub(RUNS)
            && let Some(several @ [first, .., last]) = self.runs.get(at..)
            && first.merged == last.merged
        {
            let run = self.append(first.merged + 1, Merged::of(self.sources(several))?)?;
            self.runs.truncate(at);
            self.runs.push(run);
        }
        Ok(())
    }

    /// Writes records that are in order behind what is in the file.
    fn append<R: Borrow<T>>(
        &self,
        merged: u32,
        records: impl Iterator<Item = io::Result<R>>,
    ) -> io::Result<Run> {
        let from = self.runs.last().map_or(0, |last| last.to);
        let mut run = Run { merged, from, to: from };
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
            record?.borrow().write(&mut bytes);
            if bytes.len() >= WRITTEN {
                write(&mut bytes)?;
            }
        }
        write(&mut bytes)?;
        Ok(run)
    }

    fn sources<'a>(&'a self, runs: &'a [Run]) -> impl Iterator<Item = Source<'a, T>> {
        let file = self.file.iter();
        file.flat_map(|file| {
            runs.iter().map(move |run| {
                Box::new(Reader { file, run: *run, bytes: Vec::new(), at: 0, of: PhantomData })
                    as Source<'a, T>
            })
        })
    }
}

type Source<'a, T> = Box<dyn Iterator<Item = io::Result<T>> + 'a>;

/// The records of one run.
struct Reader<'a, T> {
    file: &'a File,
    /// What is still to be read.
    run: Run,
    /// What was read last, and how much of it is done.
    bytes: Vec<u8>,
    at: usize,
    of: PhantomData<T>,
}

impl<T: Stored> Reader<'_, T> {
    /// Reads on; whether there is more.
    fn fill(&mut self) -> io::Result<bool> {
        let length = (self.run.to - self.run.from).min(BLOCK as u64);
        self.bytes.drain(..self.at);
        self.bytes.reserve_exact(BLOCK);
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

impl<T: Stored> Iterator for Reader<'_, T> {
    type Item = io::Result<T>;

    fn next(&mut self) -> Option<io::Result<T>> {
        loop {
            let mut rest = self.bytes.get(self.at..).unwrap_or_default();
            if let Some(record) = T::read(&mut rest) {
                self.at = self.bytes.len() - rest.len();
                return Some(Ok(record));
            }
            // The record goes on in the next block.
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
    /// The next of each source that has one; the least on top.
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
    pub room: &'a Room,
    merged: Merged<'a, T>,
}

impl<T: Record> Iterator for Sorted<'_, T> {
    type Item = Result<T, RoomError>;

    fn next(&mut self) -> Option<Result<T, RoomError>> {
        Some(self.merged.next()?.map_err(|cause| self.room.error(cause)))
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test fails by panicking")]

    use super::*;
    use crate::stored::fields;

    /// A number to sort by, and when it came.
    #[derive(Debug, Clone, PartialEq)]
    struct Card {
        number: u32,
        came: u32,
    }

    fields!(Card { number, came });

    impl Record for Card {
        fn compare(&self, other: &Self) -> Ordering {
            self.number.cmp(&other.number)
        }

        fn group(&self) -> u32 {
            self.number / 100
        }
    }

    /// Of so many cards, in no order.
    fn cards(count: u32) -> Vec<Card> {
        (0..count).map(|came| Card { number: came * 7_919 % 311, came }).collect()
    }

    fn sorter(cards: &[Card], pictures: usize) -> Sorter<Card> {
        let mut sorter = Sorter::new(&Room { pictures, ..Room::default() });
        cards.iter().for_each(|card| sorter.push(card.clone()).unwrap());
        sorter
    }

    fn sorted(sorter: &mut Sorter<Card>) -> Vec<Card> {
        sorter.sorted().unwrap().map(Result::unwrap).collect()
    }

    #[test]
    fn cards_are_in_order_however_few_are_kept_in_memory() {
        let cards = cards(3_000);
        let mut expected = cards.clone();
        expected.sort_by_key(|card| (card.number, card.came));
        for pictures in [0, 1, 2, 3, 90, 93, 94, 1_000, 2_999, 3_000, 3_001] {
            let mut sorter = sorter(&cards, pictures);
            assert_eq!(sorter.len(), cards.len());
            assert_eq!(sorter.file.is_some(), pictures < cards.len());
            assert!(sorter.few.len() <= pictures.max(1) && sorter.runs.len() < 3 * RUNS, "{pictures}");
            assert_eq!(sorted(&mut sorter), expected, "{pictures}");
            assert_eq!(sorted(&mut sorter), expected, "{pictures}, once more");
            // More may come when all were looked at.
            let late = Card { number: 0, came: u32::MAX };
            sorter.push(late.clone()).unwrap();
            assert_eq!(sorted(&mut sorter).iter().rfind(|card| card.number == 0), Some(&late), "{pictures}");
        }
    }

    #[test]
    fn a_file_that_was_cut_off_is_told() {
        for left in [0, 1, 7, 800, 2_391, 2_399] {
            let mut sorter = sorter(&cards(400), 100);
            let file = sorter.file.as_ref().unwrap();
            assert_eq!(file.metadata().unwrap().len(), 300 * 8);
            file.set_len(left).unwrap();
            let cards = sorter.sorted().and_then(|cards| cards.collect::<Result<Vec<Card>, _>>());
            let told = cards.unwrap_err().to_string();
            assert!(
                told.contains("the file was cut off") && told.contains(" is there, may be written to"),
                "{told}"
            );
        }
    }

    #[test]
    fn what_cannot_be_written_stays() {
        let mut sorter = Sorter::new(&Room { pictures: 2, folder: "no such folder".into() });
        let [one, two, three] = [2, 1, 0].map(|number| Card { number, came: 0 });
        sorter.push(one.clone()).unwrap();
        sorter.push(two.clone()).unwrap();
        for _ in 0..2 {
            assert!(sorter.push(three.clone()).unwrap_err().to_string().contains("`no such folder`"));
        }
        assert_eq!((sorter.len(), sorted(&mut sorter)), (2, vec![two.clone(), one.clone()]));
        // The folder is there again.
        sorter.room = Room { pictures: 2, ..Room::default() };
        sorter.push(three.clone()).unwrap();
        assert_eq!(sorted(&mut sorter), [three, two, one]);
    }
}
