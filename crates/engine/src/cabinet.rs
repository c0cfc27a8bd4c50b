//! Where a book keeps its entries: by the names they are for, on shelves of a few hundred names each.
//!
//! Entries first wait on the shelf they belong to and are put under their names, in order, when somebody asks:
//! a whole shelf at once, in one block of memory, if many wait. Shelves are independent of each other, so that
//! threads share the work.

use crate::facts::{Facts, Order};
use crate::line::{Line, VOIDED};
use crate::names::index;
use std::num::NonZeroUsize;
use std::sync::Mutex;

/// Names on a shelf: few enough that a large log's shelf stays in a processor's cache while it is put in order.
pub(crate) const WIDTH: usize = 1 << 8;

/// Entries of a piece of what waits.
pub(crate) const PIECE: usize = 1 << 12;

/// One more than this many times as many entries as wait must lie on a shelf to leave it as it is.
const FEW: usize = 8;

/// The entries filed under one name.
#[derive(Debug, Clone, Default)]
pub(crate) struct Stream {
    pub name: Box<str>,
    /// The item whose id the name is.
    pub item: Option<u32>,
    /// Its lines on the shelf, unless it has lines of its own.
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
struct Shelf {
    lines: Vec<Line>,
    waiting: Vec<Piece>,
}

/// Some lines that wait, each with the place of its name on the shelf.
#[derive(Debug, Clone, Default)]
pub(crate) struct Piece {
    lines: Vec<Line>,
    names: Vec<u8>,
    /// Its facts are numbered from here.
    facts: u32,
}

impl Piece {
    pub fn with_capacity(count: usize) -> Self {
        Self { lines: Vec::with_capacity(count), names: Vec::with_capacity(count), facts: 0 }
    }

    pub fn is_full(&self) -> bool {
        self.lines.len() >= PIECE
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

/// The shelf of a name.
pub(crate) fn shelf(stream: u32) -> usize {
    stream as usize / WIDTH
}

/// The place of a name on its shelf.
#[expect(clippy::cast_possible_truncation, reason = "below the width of a shelf")]
fn place(stream: u32) -> u8 {
    (stream as usize % WIDTH) as u8
}

/// All names with their entries.
#[derive(Debug, Clone, Default)]
pub(crate) struct Cabinet {
    pub streams: Vec<Stream>,
    shelves: Vec<Shelf>,
    pub facts: Facts,
    /// Shelves on which entries wait.
    unfiled: Vec<usize>,
}

impl Cabinet {
    /// A new name's number.
    pub fn add(&mut self, name: &str) -> u32 {
        if self.streams.len().is_multiple_of(WIDTH) {
            self.shelves.push(Shelf::default());
        }
        self.streams.push(Stream { name: name.into(), ..Stream::default() });
        index(self.streams.len() - 1)
    }

    pub fn stream(&self, number: u32) -> Option<&Stream> {
        self.streams.get(number as usize)
    }

    /// The lines of a name, in order once all are filed.
    pub fn lines(&self, number: u32) -> &[Line] {
        let Some(stream) = self.stream(number) else { return &[] };
        match self.shelves.get(shelf(number)) {
            Some(shelf) => stream.lines(&shelf.lines),
            None => &[],
        }
    }

    /// Marks a filed line as out, or as in again.
    pub fn mark(&mut self, number: u32, order: Order, out: bool) {
        let facts = &self.facts;
        let found = self.lines(number).binary_search_by_key(&order, |line| facts.order(line));
        let (Ok(at), Some(stream)) = (found, self.streams.get_mut(number as usize)) else { return };
        stream.marks = stream.marks.wrapping_add(1);
        let lines = match self.shelves.get_mut(shelf(number)) {
            Some(shelf) if stream.own.is_empty() => shelf.lines.get_mut(stream.range()),
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
        for (shelf, at) in self.shelves.iter().zip(0..) {
            for piece in &shelf.waiting {
                let names = piece.names.iter().map(|name| index(at * WIDTH) + u32::from(*name));
                names.zip(&piece.lines).for_each(|(name, line)| take(name, line));
            }
        }
    }

    /// Takes an entry.
    pub fn push(&mut self, number: u32, line: Line) {
        let at = shelf(number);
        let Some(shelf) = self.shelves.get_mut(at) else { return };
        if shelf.waiting.is_empty() {
            self.unfiled.push(at);
        }
        match shelf.waiting.last_mut().filter(|piece| !piece.is_full() && piece.facts == 0) {
            Some(piece) => piece.push(number, line),
            None => {
                let mut piece = Piece::default();
                piece.push(number, line);
                shelf.waiting.push(piece);
            }
        }
    }

    /// Takes many entries of one shelf, whose facts were numbered from 0 and now begin at `facts`.
    pub fn push_piece(&mut self, at: usize, mut piece: Piece, facts: u32) {
        let Some(shelf) = self.shelves.get_mut(at) else { return };
        if piece.lines.is_empty() {
            return;
        }
        if shelf.waiting.is_empty() {
            self.unfiled.push(at);
        }
        piece.facts = facts;
        match shelf.waiting.last_mut().filter(|last| last.lines.len() + piece.lines.len() <= PIECE) {
            Some(last) => {
                let facts = facts.wrapping_sub(last.facts);
                last.lines.extend(piece.lines.iter().map(|line| line.moved(facts)));
                last.names.append(&mut piece.names);
            }
            None => shelf.waiting.push(piece),
        }
    }

    /// Puts all that waits under its names, in order.
    pub fn file(&mut self, threads: NonZeroUsize) {
        let facts = &self.facts;
        let unfiled = std::mem::take(&mut self.unfiled);
        if threads == NonZeroUsize::MIN || unfiled.len() < 2 * threads.get() {
            for number in unfiled {
                let streams = self.streams.chunks_mut(WIDTH).nth(number);
                if let (Some(shelf), Some(streams)) = (self.shelves.get_mut(number), streams) {
                    shelf.file(streams, facts);
                }
            }
            return;
        }
        let work = Mutex::new(self.shelves.iter_mut().zip(self.streams.chunks_mut(WIDTH)));
        let next = || work.lock().ok().and_then(|mut work| work.next());
        std::thread::scope(|scope| {
            for _ in 0..threads.get() {
                scope.spawn(|| {
                    while let Some((shelf, streams)) = next() {
                        shelf.file(streams, facts);
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

    fn lines<'a>(&'a self, shelf: &'a [Line]) -> &'a [Line] {
        if self.own.is_empty() { shelf.get(self.range()).unwrap_or(&[]) } else { &self.own }
    }

    /// Puts one line where it belongs.
    fn insert(&mut self, line: Line, shelf: &[Line], facts: &Facts) {
        if self.own.is_empty() {
            self.own.extend_from_slice(shelf.get(self.range()).unwrap_or(&[]));
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

impl Shelf {
    /// Puts what waits under its names.
    fn file(&mut self, streams: &mut [Stream], facts: &Facts) {
        let waiting = std::mem::take(&mut self.waiting);
        let count: usize = waiting.iter().map(|piece| piece.lines.len()).sum();
        if count * FEW < self.lines.len() {
            for (line, name) in waiting.iter().flat_map(Piece::lines) {
                if let Some(stream) = streams.get_mut(name) {
                    stream.insert(line, &self.lines, facts);
                }
            }
        } else if count > 0 {
            self.rebuild(waiting, streams, facts);
        }
    }

    /// Makes the block of all lines anew: counts them by name, then puts each where it belongs.
    fn rebuild(&mut self, waiting: Vec<Piece>, streams: &mut [Stream], facts: &Facts) {
        let mut counts = [0_u32; WIDTH];
        for (count, stream) in counts.iter_mut().zip(&*streams) {
            *count = index(stream.lines(&self.lines).len());
        }
        for name in waiting.iter().flat_map(|piece| &piece.names) {
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
            let room = lines.get_mut(start as usize..start as usize + filed.len());
            room.into_iter().for_each(|room| room.copy_from_slice(filed));
            *next += index(filed.len());
            stream.own = Vec::new();
            (stream.start, stream.count) = (start, 0);
        }
        for piece in waiting {
            for (line, name) in piece.lines() {
                let Some(next) = next.get_mut(name) else { continue };
                if let Some(room) = lines.get_mut(*next as usize) {
                    *room = line;
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
