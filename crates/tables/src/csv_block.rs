//! One block of a log in csv: which of its rows are plain, and what they say.
//!
//! A row is plain if it has no more than time, event, item, amount and conditions and nothing about it is to
//! be told. All other rows are odd: they are left as they are, to be read one by one.

use crate::csv_names::{Known, Learnt};
use crate::csv_records::{CsvText, quoted_reader};
use crate::field::{Field, Kind};
use crate::layout::Layout;
use chrono::DateTime;
use csv_core::ReadRecordResult;
use kitlore_engine::{Amount, When};
use smol_str::SmolStr;
use std::ops::Range;

/// Names of a row by column: event, item, conditions.
pub(crate) const NAMES: usize = 3;

/// Bytes of a log that start with a record.
#[derive(Debug, Default)]
pub(crate) struct Block {
    pub bytes: Vec<u8>,
    /// Whether the file ends with it.
    pub last: bool,
}

/// A block once read.
#[derive(Debug, Default)]
pub(crate) struct Parsed {
    pub block: Block,
    pub runs: Vec<Run>,
    pub columns: Columns,
    /// Names that were not known, by column, in the order in which they came.
    pub fresh: [Vec<SmolStr>; NAMES],
    /// Where the first record starts that does not end in the block.
    pub complete: usize,
}

/// Records of one sort that follow each other.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Run {
    /// Plain rows and blank lines.
    Plain {
        /// Which rows of the columns.
        rows: Range<usize>,
        /// How many lines the run goes over.
        lines: u32,
        /// Whether each row is on the line after the one before it, the first on the run's first line.
        dense: bool,
        /// How many of the fresh names its rows may have.
        fresh: [usize; NAMES],
    },
    /// Records to be read one by one.
    Odd { start: usize, end: usize },
}

/// The plain rows of a block, as columns.
#[derive(Debug, Default)]
pub(crate) struct Columns {
    pub when: Whens,
    /// In millionths.
    pub amount: Vec<i64>,
    /// Numbers of event, item and conditions.
    pub names: [Vec<u32>; NAMES],
    /// The line of each, from 0 where its run starts.
    pub lines: Vec<u32>,
}

/// Times of rows, as narrow as they allow.
#[derive(Debug)]
pub(crate) enum Whens {
    /// Seconds since 1970.
    Instants(Vec<i64>),
    /// Of any form.
    Each(Vec<When>),
}

impl Default for Whens {
    fn default() -> Self {
        Self::Instants(Vec::new())
    }
}

impl Whens {
    fn with_capacity(rows: usize) -> Self {
        Self::Instants(Vec::with_capacity(rows))
    }

    #[inline]
    fn push(&mut self, moment: Moment) {
        match (&mut *self, moment) {
            (Self::Instants(list), Moment::Second(second)) => list.push(second),
            (_, moment) => self.widen().push(moment.when()),
        }
    }

    /// As [`Self::Each`].
    #[cold]
    fn widen(&mut self) -> &mut Vec<When> {
        let seconds = match self {
            Self::Each(list) => return list,
            Self::Instants(seconds) => std::mem::take(seconds),
        };
        *self = Self::Each(seconds.into_iter().map(|second| Moment::Second(second).when()).collect());
        self.widen()
    }
}

/// A time as narrow as it allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Moment {
    /// A whole second since 1970.
    Second(i64),
    Other(When),
}

impl Moment {
    fn when(self) -> When {
        match self {
            Self::Second(second) => {
                When::Instant(DateTime::from_timestamp(second, 0).unwrap_or_default().fixed_offset())
            }
            Self::Other(when) => when,
        }
    }
}

/// Reads times; remembers the last date, which in most logs is also the next.
#[derive(Debug)]
struct Clock {
    date: [u8; 10],
    /// The second in which it begins in UTC.
    midnight: i64,
}

impl Default for Clock {
    fn default() -> Self {
        // No text has this byte.
        Self { date: [0xFF; 10], midnight: 0 }
    }
}

impl Clock {
    #[inline]
    fn read(&mut self, text: &str) -> Option<Moment> {
        if let Some((date, [b'T', h1, h2, b':', m1, m2, b':', s1, s2, b'Z'])) =
            text.as_bytes().split_first_chunk::<10>()
            && *date == self.date
            && let (Some(hour @ 0..24), Some(minute @ 0..60), Some(second @ 0..60)) =
                (two(*h1, *h2), two(*m1, *m2), two(*s1, *s2))
        {
            return Some(Moment::Second(self.midnight + hour * 3600 + minute * 60 + second));
        }
        self.read_any(text)
    }

    fn read_any(&mut self, text: &str) -> Option<Moment> {
        let when = When::parse(text).ok()?;
        let When::Instant(at) = when else { return Some(Moment::Other(when)) };
        if at.timestamp_subsec_nanos() != 0 {
            return Some(Moment::Other(when));
        }
        if let Some((date, clock)) = text.as_bytes().split_first_chunk()
            && clock.ends_with(b"Z")
        {
            self.date = *date;
            self.midnight = at.timestamp() - at.timestamp().rem_euclid(86_400);
        }
        Some(Moment::Second(at.timestamp()))
    }
}

/// Two digits as a number.
#[inline]
fn two(tens: u8, ones: u8) -> Option<i64> {
    let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
    (tens < 10 && ones < 10).then(|| i64::from(tens) * 10 + i64::from(ones))
}

/// A row with no more than these fields.
struct PlainRow<'a> {
    when: Moment,
    amount: Amount,
    names: [&'a str; NAMES],
}

/// Where the fields of plain rows stand.
#[derive(Debug, Clone)]
pub(crate) struct Shape {
    when: Option<usize>,
    amount: Option<usize>,
    names: [Option<usize>; NAMES],
    /// Columns that are empty in plain rows.
    others: Vec<usize>,
    width: usize,
    delimiter: u8,
    /// How many bytes a record may have.
    limit: usize,
}

/// Reads blocks; one for each thread.
#[derive(Debug)]
pub(crate) struct Parser<'s> {
    shape: &'s Shape,
    clock: Clock,
    known: [Known; NAMES],
    learnt: &'s [Learnt; NAMES],
    ends: Vec<usize>,
    quoted: csv_core::Reader,
    output: Vec<u8>,
    /// How many plain rows the last block had.
    rows: usize,
}

impl Shape {
    pub fn new(layout: &Layout, delimiter: u8, limit: usize) -> Self {
        let read = [Field::When, Field::Event, Field::Item, Field::Amount, Field::In];
        // Who did it and what was remarked matter only beside an id.
        let remarks = [Field::By, Field::Note];
        let others =
            Kind::Log.fields().iter().filter(|field| !read.contains(field) && !remarks.contains(field));
        Self {
            when: layout.position(Field::When),
            amount: layout.position(Field::Amount),
            names: [Field::Event, Field::Item, Field::In].map(|field| layout.position(field)),
            others: others.filter_map(|field| layout.position(*field)).collect(),
            width: layout.width,
            delimiter,
            limit,
        }
    }
}

/// How a record ends.
enum End {
    /// After so many bytes; with its line end it has `used`.
    Line { length: usize, used: usize },
    /// It has a quote.
    Quote,
    /// Not within the block.
    Open,
}

impl<'s> Parser<'s> {
    pub fn new(shape: &'s Shape, learnt: &'s [Learnt; NAMES]) -> Self {
        Self {
            shape,
            clock: Clock::default(),
            known: Default::default(),
            learnt,
            ends: Vec::new(),
            quoted: quoted_reader(shape.delimiter),
            output: vec![0; 1024],
            rows: 0,
        }
    }

    /// Reads a block.
    pub fn parse(&mut self, block: Block) -> Parsed {
        let mut known = std::mem::take(&mut self.known);
        for (known, learnt) in known.iter_mut().zip(self.learnt) {
            known.catch_up(learnt);
        }
        let bytes = block.bytes.as_slice();
        let text = std::str::from_utf8(bytes).ok();
        let mut runs = Runs::new(known, self.rows + self.rows / 16);
        let mut at = 0;
        while let Some(rest) = bytes.get(at..).filter(|rest| !rest.is_empty()) {
            let (used, plain) = match self.split(rest, block.last) {
                End::Line { length: 0, used } => {
                    runs.blank();
                    at += used;
                    continue;
                }
                End::Line { length, used } => {
                    let line = match text {
                        Some(text) => text.get(at..at + length),
                        None => rest.get(..length).and_then(|line| std::str::from_utf8(line).ok()),
                    };
                    let fits = length <= self.shape.limit;
                    let plain = line.filter(|_| fits).and_then(|line| {
                        read(self.shape, &CsvText::new(line, &self.ends, 1), &mut self.clock)
                    });
                    (used, plain)
                }
                End::Quote => match self.split_quoted(rest) {
                    Some((used, record)) => {
                        let fits = text.is_some() && used <= self.shape.limit;
                        (used, record.filter(|_| fits).and_then(|length| self.read_quoted(length)))
                    }
                    None => break,
                },
                End::Open => break,
            };
            match plain {
                Some(row) => runs.plain(row),
                None => runs.odd(at, at + used),
            }
            at += used;
        }
        if block.last && at < bytes.len() {
            runs.odd(at, bytes.len());
            at = bytes.len();
        }
        runs.end_plain();
        let Runs { runs, columns, known, .. } = runs;
        self.rows = columns.lines.len();
        self.known = known;
        let fresh = self.known.each_mut().map(Known::end_block);
        Parsed { runs, columns, fresh, complete: at, block }
    }

    /// Finds the end of a record without quotes, and where its fields end.
    fn split(&mut self, rest: &[u8], last: bool) -> End {
        self.ends.clear();
        let delimiter = self.shape.delimiter;
        let next = |at: usize| rest.get(at + 1);
        let (words, tail) = rest.as_chunks::<8>();
        let tail_start = rest.len() - tail.len();
        let marked = words.iter().enumerate().flat_map(|(number, word)| {
            let base = number * 8;
            Marks::of(word, delimiter).map(move |at| base + at)
        });
        let tail = (tail_start..rest.len()).filter(|at| {
            rest.get(*at).is_some_and(|byte| *byte == delimiter || matches!(byte, b'\n' | b'\r' | b'"'))
        });
        for at in marked.chain(tail) {
            let (length, used) = match rest.get(at) {
                Some(b'"') => return End::Quote,
                Some(b'\n') => (at, at + 1),
                Some(b'\r') => match next(at) {
                    Some(b'\n') => (at, at + 2),
                    // Where the block ends, `\n` may follow.
                    None if !last => return End::Open,
                    _ => (at, at + 1),
                },
                _ => {
                    self.ends.push(at);
                    continue;
                }
            };
            self.ends.push(length);
            return End::Line { length, used };
        }
        End::Open
    }

    /// Finds the end of a record with quotes. Gives how many bytes it has with its line end and, if it is on
    /// one line, how many are in `output`. `None` if it does not end within the block.
    fn split_quoted(&mut self, rest: &[u8]) -> Option<(usize, Option<usize>)> {
        self.quoted.reset();
        let (mut used, mut length, mut count) = (0, 0, 0);
        self.ends.resize(self.ends.capacity().max(32), 0);
        loop {
            let input = rest.get(used..).unwrap_or_default();
            let room = self.output.get_mut(length..).unwrap_or_default();
            let ends = self.ends.get_mut(count..).unwrap_or_default();
            let (result, read, written, ended) = self.quoted.read_record(input, room, ends);
            (used, length, count) = (used + read, length + written, count + ended);
            match result {
                ReadRecordResult::Record => break,
                ReadRecordResult::OutputFull => self.output.resize(self.output.len() * 2, 0),
                ReadRecordResult::OutputEndsFull => self.ends.resize(self.ends.len() * 2, 0),
                ReadRecordResult::InputEmpty | ReadRecordResult::End => return None,
            }
        }
        self.ends.truncate(count);
        let record = rest.get(..used.checked_sub(1)?)?;
        let one_line = memchr::memchr2(b'\n', b'\r', record).is_none();
        if rest.get(used - 1) == Some(&b'\r') {
            used += usize::from(rest.get(used)? == &b'\n');
        }
        Some((used, one_line.then_some(length)))
    }

    fn read_quoted(&mut self, length: usize) -> Option<PlainRow<'_>> {
        let Self { shape, ends, output, clock, .. } = self;
        let text = std::str::from_utf8(output.get(..length)?).ok()?;
        read(shape, &CsvText::new(text, ends, 0), clock)
    }
}

/// Reads a record as a plain row, if it is one.
#[inline]
fn read<'a>(shape: &Shape, text: &CsvText<'a>, clock: &mut Clock) -> Option<PlainRow<'a>> {
    if text.len() > shape.width || shape.others.iter().any(|column| !text.field(*column).is_empty()) {
        return None;
    }
    let field = |column: Option<usize>| column.map_or("", |column| text.field(column));
    let when = clock.read(field(shape.when))?;
    let amount = match field(shape.amount) {
        "" => Amount::ONE,
        text => text.parse().ok()?,
    };
    let [event, item, conditions] = shape.names.map(field);
    if event.is_empty() {
        return None;
    }
    Some(PlainRow { when, amount, names: [event, item, conditions] })
}

/// The records of a block on their way into runs.
#[derive(Debug)]
struct Runs {
    runs: Vec<Run>,
    columns: Columns,
    known: [Known; NAMES],
    /// Of the plain run at hand: its first row, how many lines it has, whether a blank one was before a row.
    first: usize,
    lines: u32,
    gaps: bool,
}

impl Runs {
    fn new(known: [Known; NAMES], rows: usize) -> Self {
        let columns = Columns {
            when: Whens::with_capacity(rows),
            amount: Vec::with_capacity(rows),
            names: std::array::from_fn(|_| Vec::with_capacity(rows)),
            lines: Vec::with_capacity(rows),
        };
        Self { runs: Vec::new(), columns, known, first: 0, lines: 0, gaps: false }
    }

    fn blank(&mut self) {
        self.lines += 1;
    }

    #[inline]
    fn plain(&mut self, row: PlainRow<'_>) {
        let Columns { when, amount, names, lines } = &mut self.columns;
        self.gaps |= lines.len() - self.first != self.lines as usize;
        when.push(row.when);
        amount.push(row.amount.micros());
        for ((known, name), numbers) in self.known.iter_mut().zip(row.names).zip(names) {
            known.add(name, numbers);
        }
        lines.push(self.lines);
        self.lines += 1;
    }

    fn odd(&mut self, start: usize, end: usize) {
        self.end_plain();
        match self.runs.last_mut() {
            Some(Run::Odd { end: last, .. }) => *last = end,
            _ => self.runs.push(Run::Odd { start, end }),
        }
    }

    fn end_plain(&mut self) {
        if self.lines > 0 {
            for (known, numbers) in self.known.iter_mut().zip(&mut self.columns.names) {
                known.settle(numbers);
            }
            let rows = self.first..self.columns.lines.len();
            let fresh = self.known.each_ref().map(Known::fresh);
            self.runs.push(Run::Plain { rows, lines: self.lines, dense: !self.gaps, fresh });
            (self.first, self.lines, self.gaps) = (self.columns.lines.len(), 0, false);
        }
    }
}

/// The places of delimiters, line ends and quotes among eight bytes.
struct Marks(u64);

impl Marks {
    #[inline]
    fn of(word: &[u8; 8], delimiter: u8) -> Self {
        let word = u64::from_le_bytes(*word);
        let is = |byte| equal_bytes(word, byte);
        Self(is(delimiter) | is(b'\n') | is(b'\r') | is(b'"'))
    }
}

impl Iterator for Marks {
    type Item = usize;

    #[inline]
    fn next(&mut self) -> Option<usize> {
        if self.0 == 0 {
            return None;
        }
        let at = self.0.trailing_zeros() as usize / 8;
        self.0 &= self.0 - 1;
        Some(at)
    }
}

/// The high bit of each byte of `word` that is `byte`.
#[inline]
fn equal_bytes(word: u64, byte: u8) -> u64 {
    const LOW: u64 = 0x7F7F_7F7F_7F7F_7F7F;
    let differing = word ^ u64::from_le_bytes([byte; 8]);
    // A byte is zero where neither its low bits carry into the high one nor that is set.
    !(((differing & LOW) + LOW) | differing | LOW)
}

#[cfg(test)]
#[path = "csv_block_tests.rs"]
mod tests;
