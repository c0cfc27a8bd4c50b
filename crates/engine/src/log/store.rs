//! Where a ledger keeps its entries: by the names they are for, in buckets of a few hundred names each.
//!
//! Entries first wait in the bucket they belong to and are put under their names, in order, when somebody asks:
//! a whole bucket at once, in one block of memory, if many wait. Buckets are independent of each other, so that
//! threads share the work.

use super::entries::{Line, VOIDED};
use super::facts::Facts;
use crate::names::index;
use std::num::NonZeroUsize;
use std::sync::Mutex;

/// The name under which entries that say no item are filed.
pub(crate) const NO_NAME: u32 = 0;

/// The name of all items, under which entries for it in any case are filed.
pub(crate) const EVERY_ITEM: &str = "every item";

/// Whether an entry says in words that it is for every item.
pub(crate) fn is_every_item(name: &str) -> bool {
    name.eq_ignore_ascii_case(EVERY_ITEM)
}

/// Names of a bucket: few enough that a large log's bucket stays in a processor's cache while it is put in order.
pub(crate) const WIDTH: usize = 1 << 8;

/// Entries of a segment.
pub(crate) const SEGMENT: usize = 1 << 12;

/// A bucket with more than this many times as many entries as wait is left as it is.
const FEW: usize = 8;

/// The entries filed under one name.
#[derive(Debug, Clone, Default)]
pub(crate) struct Stream {
    pub name: Box<str>,
    /// The item whose id the name is.
    pub item: Option<u32>,
    /// Its lines in the bucket, unless it has lines of its own.
    start: u32,
    count: u32,
    /// All its lines, once some came one by one.
    own: Vec<Line>,
    /// How many have a span with conditions.
    pub spans: u32,
    /// How many are life events.
    pub lives: u32,
    /// How often a line was marked as out or in.
    pub marks: u32,
}

/// The lines of some names, one name after the other, and what waits to join them.
#[derive(Debug, Clone, Default)]
struct Bucket {
    lines: Vec<Line>,
    waiting: Vec<Segment>,
}

/// Some lines that wait, each with the place of its name in the bucket.
#[derive(Debug, Clone, Default)]
pub(crate) struct Segment {
    lines: Vec<Line>,
    names: Vec<u8>,
    /// Its facts are numbered from here.
    facts: u32,
}

impl Segment {
    pub fn with_capacity(count: usize) -> Self {
        Self { lines: Vec::with_capacity(count), names: Vec::with_capacity(count), facts: 0 }
    }

    pub fn is_full(&self) -> bool {
        self.lines.len() >= SEGMENT
    }

    pub fn push(&mut self, stream: u32, line: Line) {
        self.lines.push(line);
        self.names.push(place(stream));
    }

    /// Its lines, each with the place of its name.
    fn lines(&self) -> impl Iterator<Item = (Line, usize)> {
        self.lines.iter().zip(&self.names).map(|(line, name)| (line.moved(self.facts), usize::from(*name)))
    }
}

/// The bucket of a name.
pub(crate) fn bucket(stream: u32) -> usize {
    stream as usize / WIDTH
}

/// The place of a name in its bucket.
#[expect(clippy::cast_possible_truncation, reason = "below the width of a bucket")]
fn place(stream: u32) -> u8 {
    (stream as usize % WIDTH) as u8
}

/// All names with their entries.
#[derive(Debug, Clone, Default)]
pub(crate) struct Store {
    pub streams: Vec<Stream>,
    buckets: Vec<Bucket>,
    pub facts: Facts,
    /// Buckets in which entries wait.
    unfiled: Vec<usize>,
}

impl Store {
    /// A new name's number.
    pub fn add(&mut self, name: &str) -> u32 {
        if self.streams.len().is_multiple_of(WIDTH) {
            self.buckets.push(Bucket::default());
        }
        self.streams.push(Stream { name: name.into(), ..Stream::default() });
        index(self.streams.len() - 1)
    }

    pub fn stream(&self, number: u32) -> Option<&Stream> {
        self.streams.get(number as usize)
    }

    /// Counts an entry with a span and conditions.
    pub fn add_spanned(&mut self, number: u32) {
        if let Some(stream) = self.streams.get_mut(number as usize) {
            stream.spans += 1;
        }
    }

    /// Counts an event of an item's life.
    pub fn add_life(&mut self, number: u32) {
        if let Some(stream) = self.streams.get_mut(number as usize) {
            stream.lives += 1;
        }
    }

    /// The lines of a name, in order once all are filed.
    pub fn lines(&self, number: u32) -> &[Line] {
        let Some(stream) = self.stream(number) else { return &[] };
        match self.buckets.get(bucket(number)) {
            Some(bucket) => stream.lines(&bucket.lines),
            None => &[],
        }
    }

    /// Marks a filed line as out, or as in again.
    pub fn mark(&mut self, number: u32, ticks: i64, seq: u32, out: bool) {
        let lines = self.lines(number);
        let found = if self.facts.has_fine() {
            let first = lines.partition_point(|line| line.ticks < ticks);
            let same = lines.iter().skip(first).take_while(|line| line.ticks == ticks);
            same.zip(first..).find(|(line, _)| line.seq == seq).map(|(_, at)| at)
        } else {
            lines.binary_search_by_key(&(ticks, seq), |line| (line.ticks, line.seq)).ok()
        };
        let (Some(at), Some(stream)) = (found, self.streams.get_mut(number as usize)) else { return };
        stream.marks = stream.marks.wrapping_add(1);
        let lines = match self.buckets.get_mut(bucket(number)) {
            Some(bucket) if stream.own.is_empty() => bucket.lines.get_mut(stream.range()),
            _ => Some(&mut stream.own[..]),
        };
        match lines.and_then(|lines| lines.get_mut(at)) {
            Some(line) if out => line.mark(VOIDED),
            Some(line) => line.unmark(VOIDED),
            None => {}
        }
    }

    /// The lines of all names, in no order.
    pub fn all_lines(&self) -> impl Iterator<Item = &Line> {
        (0..index(self.streams.len())).flat_map(|number| self.lines(number))
    }

    /// Hands on every line with the number of its name, those that wait too, in no order.
    pub fn each(&self, mut take: impl FnMut(u32, &Line)) {
        for number in 0..index(self.streams.len()) {
            self.lines(number).iter().for_each(|line| take(number, line));
        }
        for (bucket, at) in self.buckets.iter().zip(0..) {
            for segment in &bucket.waiting {
                let names = segment.names.iter().map(|name| index(at * WIDTH) + u32::from(*name));
                names.zip(&segment.lines).for_each(|(name, line)| take(name, line));
            }
        }
    }

    /// Takes an entry.
    pub fn push(&mut self, number: u32, line: Line) {
        let at = bucket(number);
        let Some(bucket) = self.buckets.get_mut(at) else { return };
        if bucket.waiting.is_empty() {
            self.unfiled.push(at);
        }
        match bucket.waiting.last_mut().filter(|segment| !segment.is_full() && segment.facts == 0) {
            Some(segment) => segment.push(number, line),
            None => {
                let mut segment = Segment::default();
                segment.push(number, line);
                bucket.waiting.push(segment);
            }
        }
    }

    /// Takes many entries of one bucket, whose facts were numbered from 0 and now begin at `facts`.
    pub fn push_segment(&mut self, at: usize, mut segment: Segment, facts: u32) {
        let Some(bucket) = self.buckets.get_mut(at) else { return };
        if segment.lines.is_empty() {
            return;
        }
        if bucket.waiting.is_empty() {
            self.unfiled.push(at);
        }
        segment.facts = facts;
        match bucket.waiting.last_mut().filter(|last| last.lines.len() + segment.lines.len() <= SEGMENT) {
            Some(last) => {
                let facts = facts.wrapping_sub(last.facts);
                last.lines.extend(segment.lines.iter().map(|line| line.moved(facts)));
                last.names.append(&mut segment.names);
            }
            None => bucket.waiting.push(segment),
        }
    }

    /// Puts all that waits under its names, in order.
    pub fn file(&mut self, threads: NonZeroUsize) {
        let facts = &self.facts;
        let unfiled = std::mem::take(&mut self.unfiled);
        if threads == NonZeroUsize::MIN || unfiled.len() < 2 * threads.get() {
            for number in unfiled {
                let streams = self.streams.chunks_mut(WIDTH).nth(number);
                if let (Some(bucket), Some(streams)) = (self.buckets.get_mut(number), streams) {
                    bucket.file(streams, facts);
                }
            }
            return;
        }
        let work = Mutex::new(self.buckets.iter_mut().zip(self.streams.chunks_mut(WIDTH)));
        let next = || work.lock().ok().and_then(|mut work| work.next());
        std::thread::scope(|scope| {
            for _ in 0..threads.get() {
                scope.spawn(|| {
                    while let Some((bucket, streams)) = next() {
                        bucket.file(streams, facts);
                    }
                });
            }
        });
    }
}

impl Stream {
    fn range(&self) -> std::ops::Range<usize> {
        self.start as usize..self.start as usize + self.count as usize
    }

    fn lines<'a>(&'a self, bucket: &'a [Line]) -> &'a [Line] {
        if self.own.is_empty() { bucket.get(self.range()).unwrap_or(&[]) } else { &self.own }
    }

    /// Puts one line where it belongs.
    fn insert(&mut self, line: Line, bucket: &[Line], facts: &Facts) {
        if self.own.is_empty() {
            self.own.extend_from_slice(bucket.get(self.range()).unwrap_or(&[]));
        }
        let order = facts.order(&line);
        if self.own.last().is_none_or(|last| facts.order(last) <= order) {
            self.own.push(line);
        } else {
            let at = self.own.partition_point(|other| facts.order(other) <= order);
            self.own.insert(at, line);
        }
    }
}

impl Bucket {
    /// Puts what waits under its names.
    fn file(&mut self, streams: &mut [Stream], facts: &Facts) {
        let waiting = std::mem::take(&mut self.waiting);
        let count: usize = waiting.iter().map(|segment| segment.lines.len()).sum();
        if count * FEW < self.lines.len() {
            for (line, name) in waiting.iter().flat_map(Segment::lines) {
                if let Some(stream) = streams.get_mut(name) {
                    stream.insert(line, &self.lines, facts);
                }
            }
        } else if count > 0 {
            self.rebuild(waiting, streams, facts);
        }
    }

    /// Makes the block of all lines anew: counts them by name, then puts each where it belongs.
    fn rebuild(&mut self, waiting: Vec<Segment>, streams: &mut [Stream], facts: &Facts) {
        let mut counts = [0_u32; WIDTH];
        for (count, stream) in counts.iter_mut().zip(&*streams) {
            *count = index(stream.lines(&self.lines).len());
        }
        for name in waiting.iter().flat_map(|segment| &segment.names) {
            if let Some(count) = counts.get_mut(usize::from(*name)) {
                *count += 1;
            }
        }
        let mut next = [0_u32; WIDTH];
        let mut total = 0;
        for (next, count) in next.iter_mut().zip(&counts) {
            *next = total;
            total += count;
        }
        let mut lines = vec![Line::default(); total as usize];
        for (stream, next) in streams.iter_mut().zip(&mut next) {
            let start = *next;
            let filed = stream.lines(&self.lines);
            let own = lines.get_mut(start as usize..start as usize + filed.len());
            own.into_iter().for_each(|own| own.copy_from_slice(filed));
            *next += index(filed.len());
            stream.own = Vec::new();
            (stream.start, stream.count) = (start, 0);
        }
        for segment in waiting {
            for (line, name) in segment.lines() {
                let Some(next) = next.get_mut(name) else { continue };
                if let Some(slot) = lines.get_mut(*next as usize) {
                    *slot = line;
                }
                *next += 1;
            }
        }
        for (stream, count) in streams.iter_mut().zip(counts) {
            stream.count = count;
            let Some(own) = lines.get_mut(stream.range()) else { continue };
            if facts.has_fine() || !own.is_sorted_by_key(|line| (line.ticks, line.seq)) {
                own.sort_by_key(|line| facts.order(line));
            }
        }
        self.lines = lines;
    }
}
