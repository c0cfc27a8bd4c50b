//! Log entries as a book files them: one small record each, rare fields apart.

use crate::time::Instant;
use chrono::NaiveDate;

/// One entry under the name of the item, kit, model or kind it is for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Line {
    pub seconds: i64,
    pub nanos: u32,
    /// Order of record; also the key to the entry's place.
    pub seq: u32,
    /// Amount, or reading where [`READING`] is set, in millionths.
    pub amount: i64,
    pub event: u32,
    /// The number of its set of conditions.
    pub conditions: u32,
    /// 0, or one more than the index of its [`Extra`].
    pub extra: u32,
    pub flags: u32,
}

/// `when` is a date alone and there is no `until`.
pub(crate) const DATED: u32 = 1;
/// The amount is a reading.
pub(crate) const READING: u32 = 1 << 1;
/// A correction took the entry out.
pub(crate) const VOIDED: u32 = 1 << 2;
/// A usage in another unit than its own: not counted.
pub(crate) const OTHER_UNIT: u32 = 1 << 3;
/// It names a model, a kind or every item, not the item or its kit.
pub(crate) const FOR_GROUP: u32 = 1 << 4;
/// It names the item's kit.
pub(crate) const FOR_KIT: u32 = 1 << 5;
/// It has a span and conditions of its own, which other entries inherit.
pub(crate) const LENDS: u32 = 1 << 6;
/// It is a life event.
pub(crate) const LIFE: u32 = 1 << 7;

impl Line {
    pub fn new(at: Instant, seq: u32, event: u32) -> Self {
        Self {
            seconds: at.seconds,
            nanos: at.nanos,
            seq,
            amount: 0,
            event,
            conditions: 0,
            extra: 0,
            flags: 0,
        }
    }

    /// When it counts.
    pub fn at(&self) -> Instant {
        Instant { seconds: self.seconds, nanos: self.nanos }
    }

    /// Time, then order of record.
    pub fn order(&self) -> (i64, u32, u32) {
        (self.seconds, self.nanos, self.seq)
    }

    pub fn has(&self, flag: u32) -> bool {
        self.flags & flag != 0
    }
}

/// What few entries have.
#[derive(Debug, Clone, Default)]
pub(crate) struct Extra {
    pub span: Option<EntrySpan>,
    pub found: Vec<u32>,
    pub unit: Option<u32>,
    pub reference: Option<u32>,
    /// The reading of a completion.
    pub reading: Option<i64>,
}

/// From when to when, for an entry with `until`.
#[derive(Debug, Clone, Copy)]
pub(crate) struct EntrySpan {
    pub begin: Moment,
    pub end: Moment,
}

/// One end of a span.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Moment {
    /// The first instant for a beginning, the last for an end.
    pub at: Instant,
    /// The local date.
    pub date: NaiveDate,
    /// It was written as a date alone.
    pub dated: bool,
}

/// The entries filed under one name, in order once the book is settled.
#[derive(Debug, Clone)]
pub(crate) struct Stream {
    pub name: Box<str>,
    /// The item whose id the name is.
    pub item: Option<u32>,
    pub lines: Vec<Line>,
    pub sorted: bool,
    /// How many have a span with conditions.
    pub spans: u32,
    /// How many are life events.
    pub lives: u32,
}

impl Stream {
    pub fn new(name: &str) -> Self {
        Self { name: name.into(), item: None, lines: Vec::new(), sorted: true, spans: 0, lives: 0 }
    }

    pub fn push(&mut self, line: Line) {
        if self.lines.last().is_some_and(|last| last.order() > line.order()) {
            self.sorted = false;
        }
        self.spans += u32::from(line.has(LENDS));
        self.lives += u32::from(line.has(LIFE));
        self.lines.push(line);
    }

    pub fn sort(&mut self) {
        if !self.sorted {
            self.lines.sort_by_key(Line::order);
            self.sorted = true;
        }
    }
}

impl Extra {
    pub fn is_needed(&self) -> bool {
        self.span.is_some()
            || !self.found.is_empty()
            || self.unit.is_some()
            || self.reference.is_some()
            || self.reading.is_some()
    }
}
