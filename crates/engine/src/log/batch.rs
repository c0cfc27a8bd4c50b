//! Batches: entries as columns whose names were looked up once, the one way into a ledger.

use super::columns::{Amounts, Ends, Keys, Lines, Texts, Times};
use super::input::Fields;
use super::keys::{
    ConditionsKey, EventKey, ExpectKey, FindingsKey, ItemKey, ReferenceKey, SourceKey, UnitKey,
};
use super::row::Row;
use crate::codes::Code;
use crate::problem::{Argument, Problem};

/// Entries as columns: row `n` of each belongs to entry `n`. There are as many entries as times; a row that
/// another column lacks is refused.
///
/// A cell that its column cannot carry, such as a time that cannot be read, makes its row an odd one: it keeps
/// its place, its fields stand in `odd` as they were read, and what the columns hold in that row is not looked
/// at.
///
/// ```
/// use kitlore_engine::batch::Batch;
/// use kitlore_engine::columns::{Amounts, Codes, Keys, Lines, Ticks, Times};
/// use kitlore_engine::{Book, Item, Program, When};
/// use std::num::NonZeroUsize;
///
/// let rules = Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
/// let mut book = Book::new(&rules);
/// book.add_item(Item::new("C1", "camera")).unwrap();
/// book.add_item(Item::new("C2", "camera")).unwrap();
/// // A dictionary of two names, and for each entry which of them it has.
/// let items = [Some(book.item_key("C1")), Some(book.item_key("C2"))];
/// let when = Times::Instants(Ticks::Seconds(&[1_770_000_000, 1_770_000_060, 1_770_000_120]));
/// let entries = Batch {
///     item: Keys::Coded(Codes::U8(&[0, 1, 0]), &items),
///     amount: Amounts::Whole(&[12, 3, 9]),
///     place: Some((book.source("log"), Lines::From(0))),
///     ..Batch::new(when, Keys::One(book.event_key("lens change")))
/// };
/// let refused = book.record_batches(&[entries], NonZeroUsize::MIN);
/// assert!(refused.is_empty());
/// let at = rules.when_is_over(When::parse("2026-02-08").unwrap());
/// let due: Vec<_> = book.standings(at).rows().map(|row| row.standing.word()).collect();
/// assert_eq!(due, ["overdue", "clear"]);
/// ```
#[derive(Debug, Clone, Copy)]
pub struct Batch<'a> {
    /// When each happened, or began.
    pub when: Times<'a>,
    /// When it ended, for what has a span.
    pub until: Ends<'a>,
    /// What happened.
    pub event: Keys<'a, EventKey>,
    /// For what.
    pub item: Keys<'a, ItemKey>,
    /// How much.
    pub amount: Amounts<'a>,
    /// What a meter or gauge showed.
    pub reading: Amounts<'a>,
    /// The unit of amount or reading.
    pub unit: Keys<'a, UnitKey>,
    /// Under which conditions.
    pub conditions: Keys<'a, ConditionsKey>,
    /// What was found.
    pub found: Keys<'a, FindingsKey>,
    /// What it refers to.
    pub reference: Keys<'a, ReferenceKey>,
    /// What a plan expects a day.
    pub expect: Keys<'a, ExpectKey>,
    /// Its own id.
    pub id: Texts<'a>,
    /// Who did it.
    pub by: Texts<'a>,
    /// Anything else.
    pub note: Texts<'a>,
    /// Rows that the columns cannot carry, in order.
    pub odd: &'a [(u32, Fields<'a>)],
    /// Where they were read.
    pub place: Option<(SourceKey, Lines<'a>)>,
}

impl<'a> Batch<'a> {
    /// Entries for every item, without anything else: the columns that differ are then set.
    pub fn new(when: Times<'a>, event: Keys<'a, EventKey>) -> Self {
        Self {
            when,
            until: Ends::Absent,
            event,
            item: Keys::One(ItemKey::default()),
            amount: Amounts::Absent,
            reading: Amounts::Absent,
            unit: Keys::One(UnitKey::default()),
            conditions: Keys::One(ConditionsKey::default()),
            found: Keys::One(FindingsKey::default()),
            reference: Keys::One(ReferenceKey::default()),
            expect: Keys::One(ExpectKey::default()),
            id: Texts::Absent,
            by: Texts::Absent,
            note: Texts::Absent,
            odd: &[],
            place: None,
        }
    }

    /// Where a row stands.
    pub(crate) fn place(&self, row: usize) -> Option<(SourceKey, u32)> {
        self.place.map(|(source, lines)| (source, lines.get(row)))
    }

    /// The entry of a row, or why it is none.
    pub(crate) fn row(&self, row: usize) -> Result<Row<'a>, Problem> {
        let lacks = |code, what: &'static str| {
            let what = Argument::Words(what.into());
            Problem::new(code, "this entry has no {what} that can be used").with("what", what)
        };
        let when =
            self.when.get(row).ok_or_else(|| lacks(Code::BadTime, "time of the years 0001 to 9999"))?;
        let event = self.event.get(row).ok_or_else(|| lacks(Code::MissingEvent, "event"))?;
        let item = self.item.get(row).ok_or_else(|| lacks(Code::UnknownItem, "item"))?;
        let found = self.found.get(row).ok_or_else(|| lacks(Code::UnknownFinding, "findings"))?;
        let conditions =
            self.conditions.get(row).ok_or_else(|| lacks(Code::UnknownCondition, "conditions"))?;
        let unit = self.unit.get(row).ok_or_else(|| lacks(Code::UnitDiffers, "unit"))?;
        let reference = self.reference.get(row).ok_or_else(|| lacks(Code::VoidUnknown, "reference"))?;
        let expect = self.expect.get(row).ok_or_else(|| lacks(Code::BadExpect, "expected use"))?;
        Ok(Row {
            until: self.until.get(row),
            amount: self.amount.get(row).ok_or_else(|| lacks(Code::BadNumber, "amount"))?,
            reading: self.reading.get(row).ok_or_else(|| lacks(Code::BadNumber, "reading"))?,
            unit: unit.0,
            conditions: conditions.0,
            found: found.0,
            reference: reference.0,
            expect: expect.0,
            id: self.id.get(row),
            by: self.by.get(row),
            note: self.note.get(row),
            ..Row::new(when, event.0, item.0)
        })
    }
}
