//! One entry as it was written, names as numbers: what is read, compared and saved.

use kitlore_syntax::{Amount, When};
use std::hash::BuildHasher;

/// Every column of an entry but its place. Numbers of sets and texts are 0 where there is nothing.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row<'a> {
    pub when: When,
    pub until: Option<When>,
    pub event: u32,
    /// The number of the name it is for.
    pub item: u32,
    pub amount: Option<Amount>,
    pub reading: Option<Amount>,
    pub unit: u32,
    pub conditions: u32,
    pub found: u32,
    pub reference: u32,
    pub expect: u32,
    pub id: &'a str,
    pub by: &'a str,
    pub note: &'a str,
}

/// An entry with texts of its own.
#[derive(Debug, Clone)]
pub(crate) struct OwnedRow {
    row: Row<'static>,
    texts: [Box<str>; 3],
}

impl OwnedRow {
    /// The entry.
    pub fn row(&self) -> Row<'_> {
        let [id, by, note] = &self.texts;
        Row { id, by, note, ..self.row }
    }
}

impl Row<'_> {
    /// An entry of an event for a name, without anything else.
    pub fn new(when: When, event: u32, item: u32) -> Self {
        Self {
            when,
            until: None,
            event,
            item,
            amount: None,
            reading: None,
            unit: 0,
            conditions: 0,
            found: 0,
            reference: 0,
            expect: 0,
            id: "",
            by: "",
            note: "",
        }
    }

    /// The same entry with texts of its own.
    pub fn owned(&self) -> OwnedRow {
        let texts = [self.id, self.by, self.note].map(Into::into);
        OwnedRow { row: Row { id: "", by: "", note: "", ..*self }, texts }
    }

    /// Equal for entries that are equal in every column but the id, in one ledger, and for others as good as never:
    /// 64 bits over all values.
    pub fn fingerprint(&self) -> u64 {
        let print = Print {
            when: PrintTime::of(self.when),
            until: self.until.map(PrintTime::of),
            names: [
                self.event,
                self.item,
                self.unit,
                self.conditions,
                self.found,
                self.reference,
                self.expect,
            ],
            numbers: [self.amount, self.reading].map(|amount| amount.map(Amount::micros)),
            texts: [self.by, self.note],
        };
        print.fingerprint()
    }
}

/// What the fingerprint of an entry is of.
#[derive(Hash)]
pub(crate) struct Print<'a> {
    pub when: PrintTime,
    pub until: Option<PrintTime>,
    /// Event, item, unit, conditions, findings, reference, expected use.
    pub names: [u32; 7],
    /// Amount and reading.
    pub numbers: [Option<i64>; 2],
    /// Who did it, and what was remarked.
    pub texts: [&'a str; 2],
}

/// A time as written: its form, and seconds and nanoseconds after 1970 as if it were in UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub(crate) struct PrintTime(pub u8, pub i64, pub u32);

impl PrintTime {
    pub const DATE: u8 = 0;
    pub const LOCAL: u8 = 1;
    pub const INSTANT: u8 = 2;

    pub fn of(when: When) -> Self {
        let (form, at) = match when {
            When::Date(date) => (Self::DATE, date.and_time(chrono::NaiveTime::MIN).and_utc()),
            When::Local(local) => (Self::LOCAL, local.and_utc()),
            When::Instant(at) => (Self::INSTANT, at.to_utc()),
        };
        Self(form, at.timestamp(), at.timestamp_subsec_nanos())
    }
}

impl Print<'_> {
    pub fn fingerprint(&self) -> u64 {
        foldhash::quality::FixedState::with_seed(0).hash_one(self)
    }
}
