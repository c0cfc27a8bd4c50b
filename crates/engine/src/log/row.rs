//! One entry as it was written, names as numbers: what is read, compared and saved.

use kitlore_syntax::{Amount, When};
use std::hash::{BuildHasher, Hash, Hasher};

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
        let mut hasher = foldhash::quality::FixedState::with_seed(0).build_hasher();
        hash_time(self.when, &mut hasher);
        match self.until {
            None => hasher.write_u8(3),
            Some(until) => hash_time(until, &mut hasher),
        }
        (self.event, self.item, self.unit, self.conditions, self.found, self.reference, self.expect)
            .hash(&mut hasher);
        (self.amount.map(Amount::micros), self.reading.map(Amount::micros)).hash(&mut hasher);
        (self.by, self.note).hash(&mut hasher);
        hasher.finish()
    }
}

fn hash_time(when: When, hasher: &mut impl Hasher) {
    let (form, at) = match when {
        When::Date(date) => (0_u8, date.and_time(chrono::NaiveTime::MIN).and_utc()),
        When::Local(local) => (1, local.and_utc()),
        When::Instant(at) => (2, at.to_utc()),
    };
    (form, at.timestamp(), at.timestamp_subsec_nanos()).hash(hasher);
}
