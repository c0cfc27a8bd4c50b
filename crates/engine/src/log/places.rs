//! Where entries were read: runs of lines of a source, by order of record.

use super::keys::SourceKey;
use crate::names::index;

/// The places of all entries.
#[derive(Debug, Clone, Default)]
pub(crate) struct Places {
    runs: Vec<Run>,
    count: usize,
}

/// Entries whose lines follow each other.
#[derive(Debug, Clone, Copy)]
struct Run {
    /// The first one's order of record.
    seq: u32,
    /// The first one's place.
    place: Option<(SourceKey, u32)>,
}

impl Places {
    /// How many entries have a number in the order of record.
    pub fn len(&self) -> usize {
        self.count
    }

    /// The number in the order of record of the next entry, which stands at a place.
    pub fn add(&mut self, place: Option<(SourceKey, u32)>) -> u32 {
        self.add_run(place, 1)
    }

    /// As [`Places::add`] for some entries, whose lines follow each other.
    pub fn add_run(&mut self, place: Option<(SourceKey, u32)>, count: usize) -> u32 {
        let seq = index(self.count);
        if self.next() != Some(place) {
            self.runs.push(Run { seq, place });
        }
        self.count += count;
        seq
    }

    /// Where the next entry would stand if it followed.
    fn next(&self) -> Option<Option<(SourceKey, u32)>> {
        let run = self.runs.last()?;
        let follows = |(source, line): (SourceKey, u32)| {
            (source, line.saturating_add(index(self.count).saturating_sub(run.seq)))
        };
        Some(run.place.map(follows))
    }

    /// The place of an entry by its order of record.
    pub fn get(&self, seq: u32) -> Option<(SourceKey, u32)> {
        let run = self.runs.partition_point(|run| run.seq <= seq).checked_sub(1)?;
        let run = self.runs.get(run)?;
        let (source, line) = run.place?;
        Some((source, line.saturating_add(seq - run.seq)))
    }
}
