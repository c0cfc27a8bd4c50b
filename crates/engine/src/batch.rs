//! Batches: entries as columns whose names were looked up once, the one way into a book.

use crate::book::{Book, ConditionsKey, EventKey, ItemKey, Keyed, SourceKey};
use crate::columns::{Amounts, Keys, Lines, Refused, Times};
use crate::input::Fields;
use crate::problem::Problem;
use kitlore_syntax::{Amount, When};
use std::num::NonZeroUsize;

/// A set of findings in one book.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct FindingsKey(pub(crate) u32);

/// A unit in one book; the default is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct UnitKey(pub(crate) u32);

/// What entries refer to, in one book; the default is nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ReferenceKey(pub(crate) u32);

/// What plans expect a day, in one book; the default is nothing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ExpectKey(pub(crate) u32);

/// Entries as columns: row `n` of each belongs to entry `n`. There are as many entries as times; a row that
/// another column lacks is refused.
///
/// A cell that a column cannot carry, such as a time that cannot be read, makes its row an odd one: it keeps
/// its place, its fields stand in `odd` as they were read, and what the columns hold in that row is not looked
/// at.
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

/// A column of ends.
#[derive(Debug, Clone, Copy)]
pub enum Ends<'a> {
    /// No entry has one.
    Absent,
    /// Some have one.
    Each(&'a [Option<When>]),
}

/// A column of texts that are not looked up.
#[derive(Debug, Clone, Copy)]
pub enum Texts<'a> {
    /// No entry has one.
    Absent,
    /// One for each entry; an empty one is none.
    Each(&'a [&'a str]),
}

impl<'a> Batch<'a> {
    /// Entries of one event for every item, without anything else: the columns that differ are then set.
    pub fn new(when: Times<'a>, event: EventKey, every_item: ItemKey) -> Self {
        Self {
            when,
            until: Ends::Absent,
            event: Keys::One(event),
            item: Keys::One(every_item),
            amount: Amounts::Absent,
            reading: Amounts::Absent,
            unit: Keys::One(UnitKey::default()),
            conditions: Keys::One(ConditionsKey(0)),
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

    fn keyed(&self, row: usize) -> Result<Keyed, Problem> {
        let columns = crate::columns::EntryColumns {
            when: self.when,
            event: self.event,
            item: self.item,
            amount: self.amount,
            conditions: self.conditions,
            place: self.place,
        };
        columns.entry(row)
    }
}

/// Texts by number, 0 the empty one; stands in until the ledger keeps sets of its own.
#[derive(Debug, Clone, Default)]
pub(crate) struct TextNumbers(Vec<String>, crate::names::Map<String, u32>);

impl TextNumbers {
    fn add(&mut self, text: &str) -> u32 {
        if text.is_empty() {
            return 0;
        }
        let next = crate::names::index(self.0.len() + 1);
        let number = *self.1.entry(text.to_owned()).or_insert(next);
        if number == next {
            self.0.push(text.to_owned());
        }
        number
    }

    fn text(&self, number: u32) -> &str {
        (number as usize).checked_sub(1).and_then(|at| self.0.get(at)).map_or("", String::as_str)
    }
}

impl Book {
    /// The key of a `;`-joined list of findings.
    pub fn findings_key(&mut self, findings: &str) -> FindingsKey {
        FindingsKey(self.texts.add(findings))
    }

    /// The key of a unit; of an empty text, for none.
    pub fn unit_key(&mut self, unit: &str) -> UnitKey {
        UnitKey(self.texts.add(unit.trim()))
    }

    /// The key of what entries refer to; of an empty text, for nothing.
    pub fn reference_key(&mut self, reference: &str) -> ReferenceKey {
        ReferenceKey(self.texts.add(reference.trim()))
    }

    /// The key of what a plan expects a day, see [`crate::parse_expect`]; what is wrong with it is reported.
    pub fn expect_key(&mut self, expect: &str) -> ExpectKey {
        ExpectKey(self.texts.add(expect))
    }

    /// Records batches, one after the other, on as many threads as given. Answers and problems are the same
    /// however entries are cut into batches, and whatever the threads.
    ///
    /// Gives what could not be recorded: of a time outside the years 0001 to 9999, without a key, or as
    /// [`Book::record`] says.
    pub fn record_batches(&mut self, batches: &[Batch<'_>], _threads: NonZeroUsize) -> Vec<Refused> {
        let mut refused = Vec::new();
        for (piece, batch) in batches.iter().enumerate() {
            let mut odd = batch.odd.iter().peekable();
            for row in 0..batch.when.len() {
                let place = batch.place.map(|(source, lines)| (source, lines.get(row)));
                let recorded = match odd.next_if(|(at, _)| *at as usize == row) {
                    Some((_, fields)) => self.record_fields(fields, place),
                    None => self.record_batch_row(batch, row, place),
                };
                if let Err(problem) = recorded {
                    refused.push(Refused { piece, row, problem });
                }
            }
        }
        refused
    }

    fn record_batch_row(
        &mut self,
        batch: &Batch<'_>,
        row: usize,
        place: Option<(SourceKey, u32)>,
    ) -> Result<(), Problem> {
        let text = |texts: Texts<'_>| match texts {
            Texts::Absent => String::new(),
            Texts::Each(list) => list.get(row).copied().unwrap_or("").to_owned(),
        };
        let lacks = || Problem::new("bad-number", "this entry has no value in a column");
        let keyed: Keyed = batch.keyed(row).map_err(|problem| problem.at(self.place_of(place)))?;
        let until = match batch.until {
            Ends::Absent => None,
            Ends::Each(list) => list.get(row).copied().flatten(),
        };
        let reading: Option<Amount> = batch.reading.get(row).ok_or_else(lacks)?;
        let number = |key: Option<u32>| key.ok_or_else(lacks);
        let unit = self.texts.text(number(batch.unit.get(row).map(|key| key.0))?).to_owned();
        let found = self.texts.text(number(batch.found.get(row).map(|key| key.0))?).to_owned();
        let reference = self.texts.text(number(batch.reference.get(row).map(|key| key.0))?).to_owned();
        let expect = self.texts.text(number(batch.expect.get(row).map(|key| key.0))?).to_owned();
        let (id, by, note) = (text(batch.id), text(batch.by), text(batch.note));
        let fields = Fields { reference: &reference, id: &id, by: &by, note: &note, ..Fields::default() };
        let read = self.batch_read(&keyed, until, reading, [&unit, &found, &reference, &expect]);
        self.admit(read, &fields, place)
    }
}
