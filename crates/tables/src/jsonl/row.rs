//! The values of a line as the book takes them.

use crate::batch::{Row, Value};
use crate::mapping::{COUNT, Field};
use crate::scan::trimmed;
use std::borrow::Cow;

/// A value as the book takes it.
pub(super) enum Cell<'a> {
    Absent,
    Text(Cow<'a, str>),
    Number(&'a str),
    Fault(&'static str),
}

impl Cell<'_> {
    fn value(&self) -> Value<'_> {
        match self {
            Cell::Absent => Value::Absent,
            Cell::Text(text) => match trimmed(text) {
                "" => Value::Absent,
                text => Value::Text(text),
            },
            Cell::Number(number) => Value::Number(number),
            Cell::Fault(what) => Value::Fault(what),
        }
    }
}

/// Reads the value of a field or, with no field, of an attribute.
pub(super) fn cell<'a>(text: &'a str, field: Option<Field>) -> Cell<'a> {
    let list = matches!(field, Some(Field::Kit | Field::In | Field::Found));
    match text.as_bytes() {
        [b'n', ..] => Cell::Absent,
        [b't' | b'f', ..] => Cell::Text(Cow::Borrowed(text)),
        [b'"', ..] => match text.get(1..text.len() - 1).filter(|inside| !inside.contains('\\')) {
            Some(inside) => Cell::Text(Cow::Borrowed(inside)),
            None => serde_json::from_str(text)
                .map_or(Cell::Fault("cannot be read"), |text| Cell::Text(Cow::Owned(text))),
        },
        [b'[', ..] if list => match serde_json::from_str::<Vec<String>>(text) {
            Ok(names) if names.iter().any(|name| name.contains([';', ','])) => {
                Cell::Fault("holds a name with `;` or `,`, which separate names")
            }
            Ok(names) => Cell::Text(Cow::Owned(names.join(";"))),
            Err(_) => Cell::Fault("is a list of something other than texts"),
        },
        [b'[', ..] => Cell::Fault("is a list where one value belongs"),
        [b'{', ..] => Cell::Fault("is an object where one value belongs"),
        _ => Cell::Number(text),
    }
}

/// The values of a line.
#[derive(Default)]
pub(super) struct JsonRow<'a> {
    pub fields: [Option<Cell<'a>>; COUNT],
    pub others: Vec<(Cow<'a, str>, Cell<'a>)>,
}

impl Row for JsonRow<'_> {
    fn get(&self, field: Field) -> Value<'_> {
        self.fields.get(field as usize).and_then(Option::as_ref).map_or(Value::Absent, Cell::value)
    }

    fn attributes(&self, each: &mut dyn FnMut(&str, Value<'_>)) {
        for (heading, cell) in &self.others {
            each(heading, cell.value());
        }
    }
}
