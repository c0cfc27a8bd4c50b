//! Cells and rows of any table.

use crate::mapping::{Field, Kind};
use kitlore_engine::{Fields, Number, Time};
use kitlore_syntax::When;

/// The value of one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value<'a> {
    /// Nothing.
    Absent,
    /// Text, trimmed.
    Text(&'a str),
    /// A number that the table stores as one, as text.
    Number(&'a str),
    /// A time that the table stores as one, and its text.
    Time(When, &'a str),
    /// Something that cannot be used; says what it is, as in "is an error".
    Fault(&'a str),
}

/// One row of any table.
pub(crate) trait Row {
    /// The value of a field; absent where the table has no such column.
    fn get(&self, field: Field) -> Value<'_>;
    /// Whether some value may be a [`Value::Fault`].
    fn may_have_faults(&self) -> bool {
        true
    }
    /// Whether its table is written where a comma is the decimal point, so that a point may group digits.
    fn may_group_by_points(&self) -> bool {
        false
    }
    /// Calls `each` with the heading and the value of every column that is no field.
    fn attributes(&self, each: &mut dyn FnMut(&str, Value<'_>));
}

impl<'a> Value<'a> {
    /// Its text; empty for an absent one.
    pub(crate) fn text(self) -> &'a str {
        match self {
            Value::Text(text) | Value::Number(text) | Value::Time(_, text) => text,
            Value::Absent | Value::Fault(_) => "",
        }
    }
}

/// The fields of an entry in a row of a log.
pub(crate) fn fields(row: &impl Row) -> Fields<'_> {
    let text = |field| row.get(field).text();
    Fields {
        when: time(row.get(Field::When)),
        until: time(row.get(Field::Until)),
        event: text(Field::Event),
        item: text(Field::Item),
        amount: number(row.get(Field::Amount)),
        reading: number(row.get(Field::Reading)),
        unit: text(Field::Unit),
        conditions: text(Field::In),
        found: text(Field::Found),
        reference: text(Field::Ref),
        id: text(Field::Id),
        by: text(Field::By),
        note: text(Field::Note),
        expect: text(Field::Expect),
    }
}

fn time(value: Value<'_>) -> Time<'_> {
    match value {
        Value::Absent | Value::Fault(_) => Time::Absent,
        Value::Text(text) | Value::Number(text) => Time::Text(text),
        Value::Time(when, _) => Time::Read(when),
    }
}

fn number(value: Value<'_>) -> Number<'_> {
    match value {
        Value::Absent | Value::Fault(_) => Number::Absent,
        Value::Text(text) | Value::Number(text) | Value::Time(_, text) => Number::Text(text),
    }
}

/// A row of a log kept as it is.
#[derive(Debug)]
pub(crate) struct OwnedRow(Vec<(Field, OwnedValue)>);

#[derive(Debug)]
enum OwnedValue {
    Text(Box<str>),
    Number(Box<str>),
    Time(When, Box<str>),
}

impl OwnedRow {
    pub fn of(row: &impl Row) -> Self {
        let cells = Kind::Log.fields().iter().filter_map(|field| {
            let value = match row.get(*field) {
                Value::Absent | Value::Fault(_) => return None,
                Value::Text(text) => OwnedValue::Text(text.into()),
                Value::Number(text) => OwnedValue::Number(text.into()),
                Value::Time(when, text) => OwnedValue::Time(when, text.into()),
            };
            Some((*field, value))
        });
        Self(cells.collect())
    }
}

impl Row for OwnedRow {
    fn get(&self, field: Field) -> Value<'_> {
        let found = self.0.iter().find(|(own, _)| *own == field);
        found.map_or(Value::Absent, |(_, value)| match value {
            OwnedValue::Text(text) => Value::Text(text),
            OwnedValue::Number(text) => Value::Number(text),
            OwnedValue::Time(when, text) => Value::Time(*when, text),
        })
    }

    fn may_have_faults(&self) -> bool {
        false
    }

    fn attributes(&self, _each: &mut dyn FnMut(&str, Value<'_>)) {}
}
