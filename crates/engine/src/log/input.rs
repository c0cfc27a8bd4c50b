//! What a host hands to a book: items and log entries, with their fields as read.

use super::kits;
use crate::problem::Place;
use chrono::NaiveDate;
use kitlore_syntax::{Amount, When};

/// A time field of an entry: as text, or already read.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Time<'a> {
    /// Nothing given.
    #[default]
    Absent,
    /// As written; see [`When::parse`] for what is understood.
    Text(&'a str),
    /// Already a time.
    Read(When),
}

/// A number field of an entry: as text, or already read.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Number<'a> {
    /// Nothing given.
    #[default]
    Absent,
    /// As written, in the language's form (`1,200.5`), with an optional `-`.
    Text(&'a str),
    /// Already a number.
    Read(Amount),
}

/// One log entry with its fields borrowed from wherever they were read; an empty text is an absent field.
///
/// Tables hand these to [`crate::Book::record_fields`]; programs mostly use [`Entry`].
#[derive(Debug, Clone, Copy, Default)]
pub struct Fields<'a> {
    /// When it happened, or began.
    pub when: Time<'a>,
    /// When it ended, for what has a span.
    pub until: Time<'a>,
    /// What happened: a usage, a task that was done, or a reserved event.
    pub event: &'a str,
    /// An item's id, a kit, a model or a kind; empty for every item.
    pub item: &'a str,
    /// How much; 1 if absent.
    pub amount: Number<'a>,
    /// What a meter or gauge showed.
    pub reading: Number<'a>,
    /// The unit of amount or reading.
    pub unit: &'a str,
    /// The conditions, joined by `;` or `,`.
    pub conditions: &'a str,
    /// The findings, joined by `;` or `,`.
    pub found: &'a str,
    /// What it refers to.
    pub reference: &'a str,
    /// Its own id.
    pub id: &'a str,
    /// Who did it.
    pub by: &'a str,
    /// Anything else.
    pub note: &'a str,
    /// What a plan expects a day, such as `lens change 15; frames 800`.
    pub expect: &'a str,
}

/// One log entry, owned.
///
/// ```
/// use kitlore_engine::Entry;
/// let entry = Entry::new("2026-02-07", "lens change").item("C1").amount(12).condition("dust");
/// assert_eq!(entry.fields().conditions, "dust");
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Entry {
    when: String,
    until: String,
    event: String,
    item: String,
    amount: String,
    reading: String,
    unit: String,
    conditions: String,
    found: String,
    reference: String,
    id: String,
    by: String,
    note: String,
    expect: String,
    pub(crate) place: Option<Place>,
}

impl Entry {
    /// An entry of an event, for every item until [`Entry::item`] says otherwise.
    pub fn new(when: impl ToString, event: impl Into<String>) -> Self {
        Self { when: when.to_string(), event: event.into(), ..Self::default() }
    }

    /// When it ended.
    pub fn until(mut self, until: impl ToString) -> Self {
        self.until = until.to_string();
        self
    }

    /// Which item: an id, else a kit, a model or a kind.
    pub fn item(mut self, item: impl Into<String>) -> Self {
        self.item = item.into();
        self
    }

    /// How much, as a number of the language.
    pub fn amount(mut self, amount: impl ToString) -> Self {
        self.amount = amount.to_string();
        self
    }

    /// What a meter or gauge showed.
    pub fn reading(mut self, reading: impl ToString) -> Self {
        self.reading = reading.to_string();
        self
    }

    /// The unit of amount or reading.
    pub fn unit(mut self, unit: impl Into<String>) -> Self {
        self.unit = unit.into();
        self
    }

    /// One more condition.
    pub fn condition(mut self, condition: &str) -> Self {
        join(&mut self.conditions, condition);
        self
    }

    /// One more finding.
    pub fn found(mut self, finding: &str) -> Self {
        join(&mut self.found, finding);
        self
    }

    /// What it refers to.
    pub fn reference(mut self, reference: impl Into<String>) -> Self {
        self.reference = reference.into();
        self
    }

    /// Its own id.
    pub fn id(mut self, id: impl Into<String>) -> Self {
        self.id = id.into();
        self
    }

    /// Who did it.
    pub fn by(mut self, by: impl Into<String>) -> Self {
        self.by = by.into();
        self
    }

    /// Anything else.
    pub fn note(mut self, note: impl Into<String>) -> Self {
        self.note = note.into();
        self
    }

    /// What it expects a day, for a plan: see [`crate::parse_expect`].
    pub fn expect(mut self, expect: impl Into<String>) -> Self {
        self.expect = expect.into();
        self
    }

    /// Where it was read.
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// Its fields, borrowed.
    pub fn fields(&self) -> Fields<'_> {
        Fields {
            when: Time::Text(&self.when),
            until: Time::Text(&self.until),
            event: &self.event,
            item: &self.item,
            amount: Number::Text(&self.amount),
            reading: Number::Text(&self.reading),
            unit: &self.unit,
            conditions: &self.conditions,
            found: &self.found,
            reference: &self.reference,
            id: &self.id,
            by: &self.by,
            note: &self.note,
            expect: &self.expect,
        }
    }
}

fn join(list: &mut String, name: &str) {
    if !list.is_empty() {
        list.push(';');
    }
    list.push_str(name);
}

/// One item of the inventory.
///
/// ```
/// use kitlore_engine::Item;
/// let item = Item::new("B1", "battery").kit("blue bag").attribute("maker", "third party");
/// assert_eq!(item.id, "B1");
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Item {
    /// The id, compared exactly.
    pub id: String,
    /// The kind.
    pub kind: String,
    /// Date received.
    pub received: Option<NaiveDate>,
    /// Date taken into service.
    pub in_service: Option<NaiveDate>,
    /// Date retired.
    pub retired: Option<NaiveDate>,
    /// The kits it is in, as an inventory has them: one or several in each text, and each with or without dates, such
    /// as `travel kit; dive kit from 2026-06-01 to 2026-08-31`.
    pub kits: Vec<String>,
    /// The model, compared exactly.
    pub model: Option<String>,
    /// Every other column: heading and value; an empty value is a missing one.
    pub attributes: Vec<(String, String)>,
    /// Where it was read.
    pub place: Option<Place>,
}

impl Item {
    /// An item of a kind.
    pub fn new(id: impl Into<String>, kind: impl Into<String>) -> Self {
        Self { id: id.into(), kind: kind.into(), ..Self::default() }
    }

    /// Date received.
    pub fn received(mut self, date: NaiveDate) -> Self {
        self.received = Some(date);
        self
    }

    /// Date taken into service.
    pub fn in_service(mut self, date: NaiveDate) -> Self {
        self.in_service = Some(date);
        self
    }

    /// Date retired.
    pub fn retired(mut self, date: NaiveDate) -> Self {
        self.retired = Some(date);
        self
    }

    /// One more kit that it is in; `dive kit from 2026-06-01` since a date.
    pub fn kit(mut self, kit: impl Into<String>) -> Self {
        self.kits.push(kit.into());
        self
    }

    /// The names of the kits it is in, on whatever dates.
    ///
    /// ```
    /// use kitlore_engine::Item;
    /// let item = Item::new("B1", "battery").kit("travel kit; dive kit from 2026-06-01");
    /// assert_eq!(item.kit_names().collect::<Vec<_>>(), ["travel kit", "dive kit"]);
    /// ```
    pub fn kit_names(&self) -> impl Iterator<Item = &str> {
        self.kits.iter().flat_map(|cell| kits::names(cell))
    }

    /// The model.
    pub fn model(mut self, model: impl Into<String>) -> Self {
        self.model = Some(model.into());
        self
    }

    /// One more column.
    pub fn attribute(mut self, heading: impl Into<String>, value: impl Into<String>) -> Self {
        self.attributes.push((heading.into(), value.into()));
        self
    }

    /// Where it was read.
    pub fn at(mut self, place: Place) -> Self {
        self.place = Some(place);
        self
    }

    /// Moves attributes named `kit`, `model` or `retired` to where they belong, as a table's columns would go.
    pub(crate) fn with_columns(mut self) -> Self {
        for (heading, value) in std::mem::take(&mut self.attributes) {
            match kitlore_syntax::key(&heading).as_str() {
                "kit" => self.kits.push(value),
                "model" => self.model = Some(value),
                "retired" => self.retired = kitlore_syntax::parse_date(&value).ok(),
                _ => self.attributes.push((heading, value)),
            }
        }
        self
    }
}
