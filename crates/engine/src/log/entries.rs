//! Entries as a ledger files them: a short line each; what many of them say alike is kept once, as a fact.

use crate::time::{FROM_COMMON_ERA, Instant};
use chrono::{Datelike, NaiveDate};
use kitlore_syntax::Amount;

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
/// It is for a group (a model, a kind, every item) and not for the item or its kit by name.
pub(crate) const FOR_GROUP: u32 = 1 << 30;
/// It names the item's kit.
pub(crate) const FOR_KIT: u32 = 1 << 29;
/// It says no item. All items are a group.
pub(crate) const NO_ITEM: u32 = FOR_GROUP | FOR_KIT;
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

    /// Whether its entry says no item.
    pub fn says_no_item(&self) -> bool {
        self.says & NO_ITEM == NO_ITEM
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
    /// The reading where [`READING`] is set, else the amount, in millionths.
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
/// The amount was stated and is not the 1 of an entry without.
pub(crate) const STATED: u16 = 1 << 2;
/// It has a span.
pub(crate) const SPANNED: u16 = 1 << 3;
/// Its span ends with a date alone.
pub(crate) const ENDS_DATED: u16 = 1 << 4;
/// It refers to something.
pub(crate) const REFERS: u16 = 1 << 5;

impl Fact {
    /// What an entry says beside its time, amounts in millionths; `dated` if `when` is a date alone without `until`.
    #[inline]
    pub fn new(event: u32, conditions: u32, amount: Option<i64>, reading: Option<i64>, dated: bool) -> Self {
        let flag = |flag: u16, holds: bool| if holds { flag } else { 0 };
        Self {
            amount: reading.or(amount).unwrap_or(Amount::ONE.micros()),
            event,
            conditions,
            extra: 0,
            flags: flag(DATED, dated)
                | flag(READING, reading.is_some())
                | flag(STATED, reading.is_none() && amount.is_some()),
            fine: 0,
        }
    }

    pub fn has(&self, flag: u16) -> bool {
        self.flags & flag != 0
    }

    /// When a line of it counts.
    pub fn at(&self, line: &Line) -> Instant {
        Instant::from_ticks(line.ticks, self.fine)
    }
}

/// What few entries have. Numbers of sets and texts are 0 where there is nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub(crate) struct Extra {
    /// The number of its set of findings.
    pub found: u32,
    pub unit: u32,
    /// The number of what it expects a day.
    pub expect: u32,
    /// The amount beside a reading, in millionths.
    pub amount: Option<i64>,
}

/// What an entry hardly shares with others.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Own {
    pub span: Option<EntrySpan>,
    /// The number of what it refers to; 0 where there is nothing.
    pub reference: u32,
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
    /// The first instant for a beginning, the last for an end; see [`Instant::ticks`].
    ticks: i64,
    /// The local date, in days after 1970-01-01.
    pub day: i32,
    fine: u8,
    /// It was written as a date alone.
    pub dated: bool,
}

impl Moment {
    pub fn new(at: Instant, day: i32, dated: bool) -> Self {
        let (ticks, fine) = at.ticks();
        Self { ticks, day, fine, dated }
    }

    /// Where the local date is known.
    pub fn on(at: Instant, date: NaiveDate, dated: bool) -> Self {
        Self::new(at, date.num_days_from_ce() - FROM_COMMON_ERA, dated)
    }

    /// The first instant for a beginning, the last for an end.
    pub fn at(&self) -> Instant {
        Instant::from_ticks(self.ticks, self.fine)
    }

    /// The local date.
    pub fn date(&self) -> NaiveDate {
        NaiveDate::from_num_days_from_ce_opt(self.day + FROM_COMMON_ERA).unwrap_or_default()
    }
}
