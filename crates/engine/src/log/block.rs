//! Some rows of a batch, read column by column.

use super::batch::Batch;
use super::clock::{Clock, Stand};
use super::columns::{Amounts, Ends, Keys, MISSING, Texts, Times, UNSTATED};
use super::entries::{DATED, EntrySpan, Extra, Fact};
use super::row::Print;
use std::ops::Range;

/// The columns of a block, read.
#[derive(Default)]
pub(crate) struct Block {
    pub when: Vec<Stand>,
    pub event: Vec<u32>,
    pub item: Vec<u32>,
    pub amount: Vec<i64>,
    pub conditions: Vec<u32>,
    /// Of what few logs have.
    pub until: Vec<Option<Stand>>,
    more: More,
    buffer: Vec<Stand>,
}

/// Those that few logs have.
#[derive(Default)]
struct More {
    reading: Vec<i64>,
    unit: Vec<u32>,
    found: Vec<u32>,
    reference: Vec<u32>,
    expect: Vec<u32>,
}

/// A row of a block on its way into a line.
pub(crate) struct Entry {
    pub item: u32,
    pub when: Stand,
    pub fact: Fact,
    pub extra: Extra,
    pub reference: u32,
}

impl Block {
    /// Reads the columns that nearly all logs have.
    pub fn read(&mut self, batch: &Batch<'_>, rows: Range<usize>, clock: &mut Clock) {
        batch.when.stand(rows.clone(), clock, &mut self.when);
        batch.event.numbers(rows.clone(), |key| key.0, &mut self.event);
        batch.item.numbers(rows.clone(), |key| key.0, &mut self.item);
        batch.amount.micros(rows.clone(), &mut self.amount);
        batch.conditions.numbers(rows, |key| key.0, &mut self.conditions);
    }

    /// Reads the columns that few logs have.
    pub fn read_more(&mut self, batch: &Batch<'_>, rows: Range<usize>, clock: &mut Clock) {
        batch.until.stand(rows.clone(), clock, &mut self.buffer, &mut self.until);
        self.more.read(batch, rows);
    }

    /// The entry of a row but for its span; `None` if a column has nothing that can be used.
    pub fn entry(&self, row: usize) -> Option<Entry> {
        let when = self.when.get(row).filter(|when| **when != Stand::NEVER && !when.left_out)?;
        let number = |column: &[u32]| column.get(row).copied().filter(|number| *number != MISSING);
        let value = |column: &[i64]| match column.get(row) {
            None => None,
            Some(&UNSTATED) => Some(None),
            Some(value) => (*value >= 0).then_some(Some(*value)),
        };
        let (amount, reading) = (value(&self.amount)?, value(&self.more.reading)?);
        let fact = Fact {
            fine: when.fine,
            ..Fact::new(number(&self.event)?, number(&self.conditions)?, amount, reading, when.dated)
        };
        let extra = Extra {
            found: number(&self.more.found)?,
            unit: number(&self.more.unit)?,
            expect: number(&self.more.expect)?,
            amount: amount.filter(|_| reading.is_some()),
        };
        let reference = number(&self.more.reference)?;
        Some(Entry { item: number(&self.item)?, when: *when, fact, extra, reference })
    }

    /// What the fingerprint of a row's entry is of.
    pub fn print<'a>(&self, at: usize, batch: &Batch<'a>, row: usize) -> Option<Print<'a>> {
        let More { reading, unit, found, reference, expect } = &self.more;
        let number = |column: &[u32]| column.get(at).copied().unwrap_or(0);
        let value = |column: &[i64]| column.get(at).copied().filter(|micros| *micros != UNSTATED);
        Some(Print {
            when: batch.when.print(row)?,
            until: batch.until.print(row),
            names: [&self.event, &self.item, unit, &self.conditions, found, reference, expect]
                .map(|column| number(column)),
            numbers: [&self.amount, reading].map(|column| value(column)),
            texts: [batch.by.get(row), batch.note.get(row)],
        })
    }
}

impl More {
    fn read(&mut self, batch: &Batch<'_>, rows: Range<usize>) {
        batch.reading.micros(rows.clone(), &mut self.reading);
        batch.unit.numbers(rows.clone(), |key| key.0, &mut self.unit);
        batch.found.numbers(rows.clone(), |key| key.0, &mut self.found);
        batch.reference.numbers(rows.clone(), |key| key.0, &mut self.reference);
        batch.expect.numbers(rows, |key| key.0, &mut self.expect);
    }
}

impl Entry {
    /// From when to when an entry lasts; it then counts at its end. `None` if it ends before it begins, or is taken
    /// one by one for another reason.
    pub fn last_to(&mut self, end: Stand, clock: &mut Clock) -> Option<EntrySpan> {
        if end == Stand::NEVER || end.left_out {
            return None;
        }
        let span = EntrySpan { begin: clock.begin(self.when), end: clock.end(end) };
        let ends_before = match end.dated {
            true => span.end.day < span.begin.day,
            false => (end.ticks, end.fine) < (self.when.ticks, self.when.fine),
        };
        if ends_before {
            return None;
        }
        if (end.ticks, end.fine) > (self.when.ticks, self.when.fine) {
            self.when = end;
        }
        self.fact.fine = self.when.fine;
        self.fact.flags &= !DATED;
        Some(span)
    }
}

/// Whether the instants of all rows give back how their times and ends are written.
pub(crate) fn are_plain(batch: &Batch<'_>) -> bool {
    matches!(
        (batch.when, batch.until),
        (Times::Instants(_), Ends::All(Times::Instants(_)))
            | (Times::Local(_), Ends::All(Times::Local(_)))
            | (Times::Dates(_), Ends::All(Times::Dates(_)))
    )
}

/// Whether a batch has no more than the columns that nearly all logs have.
pub(crate) fn is_simple(batch: &Batch<'_>) -> bool {
    fn is_absent<K: Copy + Default + PartialEq>(keys: &Keys<'_, K>) -> bool {
        matches!(keys, Keys::One(key) if *key == K::default())
    }
    matches!(batch.until, Ends::Absent)
        && matches!(batch.reading, Amounts::Absent)
        && matches!(batch.id, Texts::Absent)
        && is_absent(&batch.unit)
        && is_absent(&batch.found)
        && is_absent(&batch.reference)
        && is_absent(&batch.expect)
}
