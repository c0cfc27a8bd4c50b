//! Log entries as a book files them: a short line each; what many of them say alike is kept once, as a fact.

use crate::time::Instant;
use chrono::NaiveDate;

/// One entry under the name of the item, kit, model or kind it is for.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Line {
    /// When it counts, see [`Instant::ticks`]; what is finer is the fact's.
    pub ticks: i64,
    /// Order of record; also the key to the entry's place.
    pub seq: u32,
    /// The number of its fact, below the marks.
    says: u32,
}

/// A correction took the entry out.
pub(crate) const VOIDED: u32 = 1 << 31;
/// It names a model, a kind or every item, not the item or its kit.
pub(crate) const FOR_GROUP: u32 = 1 << 30;
/// It names the item's kit.
pub(crate) const FOR_KIT: u32 = 1 << 29;
const MARKS: u32 = VOIDED | FOR_GROUP | FOR_KIT;

impl Line {
    pub fn new(ticks: i64, seq: u32, fact: u32) -> Self {
        Self { ticks, seq, says: fact & !MARKS }
    }

    /// The number of its fact.
    pub fn fact(&self) -> u32 {
        self.says & !MARKS
    }

    /// The same line where its facts come after so many others.
    pub fn moved(self, facts: u32) -> Self {
        Self { says: self.says.wrapping_add(facts), ..self }
    }

    /// Whether it has one of some marks.
    pub fn is(&self, marks: u32) -> bool {
        self.says & marks != 0
    }

    pub fn mark(&mut self, marks: u32) {
        self.says |= marks & MARKS;
    }

    pub fn unmark(&mut self, marks: u32) {
        self.says &= !(marks & MARKS);
    }
}

/// What an entry says beside its time: often the same as others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub(crate) struct Fact {
    /// Amount, or reading where [`READING`] is set, in millionths.
    pub amount: i64,
    pub event: u32,
    /// The number of its set of conditions.
    pub conditions: u32,
    /// 0, or one more than the index of its [`Extra`].
    pub extra: u32,
    pub flags: u16,
    /// What the line's time leaves out, in nanoseconds.
    pub fine: u8,
}

/// `when` is a date alone and there is no `until`.
pub(crate) const DATED: u16 = 1;
/// The amount is a reading.
pub(crate) const READING: u16 = 1 << 1;
/// A usage in another unit than its own: not counted.
pub(crate) const OTHER_UNIT: u16 = 1 << 2;
/// It is a life event.
pub(crate) const LIFE: u16 = 1 << 3;

impl Fact {
    pub fn has(&self, flag: u16) -> bool {
        self.flags & flag != 0
    }

    /// When a line of it counts.
    pub fn at(&self, line: &Line) -> Instant {
        Instant::from_ticks(line.ticks, self.fine)
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
    /// What it expects a day: events and millionths.
    pub expect: Vec<(u32, i64)>,
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

impl Extra {
    pub fn is_needed(&self) -> bool {
        self.span.is_some()
            || !self.found.is_empty()
            || self.unit.is_some()
            || self.reference.is_some()
            || self.reading.is_some()
            || !self.expect.is_empty()
    }
}
