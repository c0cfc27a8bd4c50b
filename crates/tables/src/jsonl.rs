//! Inventories and logs in jsonl: one object per line, numbers kept as they are written.

use crate::chunk::Chunk;
use crate::error::{ReadError, narrow, short};
use crate::field::{COUNT, Field, Kind};
use crate::layout::{Headings, Meaning};
use crate::limits::Limits;
use crate::row::{Row, Sink, Value};
use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;
use std::borrow::Cow;
use std::collections::HashMap;
use std::io::Read;

/// The keys and unread values of an object, in order.
pub(crate) struct Object<'a>(pub Vec<(Cow<'a, str>, &'a RawValue)>);

impl<'de> Deserialize<'de> for Object<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Pairs;
        impl<'de> Visitor<'de> for Pairs {
            type Value = Object<'de>;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut pairs = Vec::new();
                while let Some((Key(key), value)) = map.next_entry()? {
                    pairs.push((key, value));
                }
                Ok(Object(pairs))
            }
        }
        deserializer.deserialize_map(Pairs)
    }
}

#[derive(serde::Deserialize)]
#[serde(transparent)]
struct Key<'a>(#[serde(borrow)] Cow<'a, str>);

/// A value as the book takes it.
enum Cell<'a> {
    Absent,
    Text(Cow<'a, str>),
    Number(&'a str),
    Fault(&'static str),
}

impl Cell<'_> {
    fn value(&self) -> Value<'_> {
        match self {
            Cell::Absent => Value::Absent,
            Cell::Text(text) if text.trim().is_empty() => Value::Absent,
            Cell::Text(text) => Value::Text(text.trim()),
            Cell::Number(number) => Value::Number(number),
            Cell::Fault(what) => Value::Fault(what),
        }
    }
}

/// Reads the value of a field or, with no field, of an attribute.
fn cell<'a>(raw: &'a RawValue, field: Option<Field>) -> Cell<'a> {
    let list = matches!(field, Some(Field::Kit | Field::In | Field::Found));
    let text = raw.get();
    match text.as_bytes() {
        [b'n', ..] => Cell::Absent,
        [b't' | b'f', ..] => Cell::Text(Cow::Borrowed(text)),
        [b'"', ..] => match text.get(1..text.len() - 1).filter(|inside| !inside.contains('\\')) {
            Some(inside) => Cell::Text(Cow::Borrowed(inside)),
            None => serde_json::from_str(text)
                .map_or(Cell::Fault("cannot be read"), |text| Cell::Text(Cow::Owned(text))),
        },
        [b'[', ..] if list => match serde_json::from_str::<Vec<String>>(text) {
            Ok(names) if names.iter().any(|name| name.contains(';')) => {
                Cell::Fault("holds a name with `;`, which separates names")
            }
            Ok(names) => Cell::Text(Cow::Owned(names.join(";"))),
            Err(_) => Cell::Fault("is a list of something other than texts"),
        },
        [b'[', ..] => Cell::Fault("is a list where one value belongs"),
        [b'{', ..] => Cell::Fault("is an object where one value belongs"),
        _ => Cell::Number(text),
    }
}

#[derive(Default)]
struct JsonRow<'a> {
    fields: [Option<Cell<'a>>; COUNT],
    others: Vec<(&'a str, Cell<'a>)>,
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

/// Reads a whole table into a book.
pub(crate) fn read(
    sink: &mut Sink<'_>,
    input: impl Read,
    headings: &Headings<'_>,
    limits: &Limits,
) -> Result<(), ReadError> {
    let mut chunk = Chunk::open(headings.file, input)?;
    let mut meanings = Meanings { known: HashMap::new(), headings, limits };
    let mut line = 0;
    let mut first = None;
    while let Some((length, used)) = next_line(&mut chunk, headings.file, line + 1, limits)? {
        line += 1;
        let bytes = chunk.part(0, length).trim_ascii();
        if !bytes.is_empty() {
            if first.is_none() && bytes.starts_with(b"[") {
                return Err(ReadError::WrongFormat {
                    file: headings.file.to_owned(),
                    what: "one JSON list",
                    remedy: "write one object per line, without brackets and commas around them",
                });
            }
            first = first.or(Some(line));
            record(sink, bytes, line, &mut meanings)?;
        }
        chunk.consume(used);
    }
    meanings.check_mapping(first)
}

/// The length of the next line and, with its line end, of what to be done with.
fn next_line<R: Read>(
    chunk: &mut Chunk<'_, R>,
    file: &str,
    line: u64,
    limits: &Limits,
) -> Result<Option<(usize, usize)>, ReadError> {
    let mut looked = 0;
    loop {
        let pending = chunk.pending();
        let end = memchr::memchr(b'\n', pending.get(looked..).unwrap_or_default()).map(|at| looked + at);
        looked = end.unwrap_or(pending.len());
        if looked > limits.record_bytes {
            return Err(ReadError::record_too_large(file, line, limits.record_bytes));
        }
        if end.is_some() {
            return Ok(Some((looked, looked + 1)));
        }
        if !chunk.more()? {
            return Ok((looked > 0).then_some((looked, looked)));
        }
    }
}

fn record(
    sink: &mut Sink<'_>,
    bytes: &[u8],
    line: u64,
    meanings: &mut Meanings<'_>,
) -> Result<(), ReadError> {
    let Ok(text) = std::str::from_utf8(bytes) else {
        sink.problem(
            line,
            "bad-text",
            "this row holds bytes that are not UTF-8 text and is left out; save the file as UTF-8",
        );
        return Ok(());
    };
    let object: Object<'_> = match serde_json::from_str(text) {
        Ok(object) => object,
        Err(error) => {
            let message = format!(
                "this row is not one JSON object and is left out; the mistake is at column {}",
                error.column()
            );
            sink.problem(line, "bad-json", message);
            return Ok(());
        }
    };
    let mut row = JsonRow::default();
    for (key, raw) in &object.0 {
        let (twice, name) = match meanings.of(sink, key, line)? {
            Meaning::Is(field) => {
                let slot = row.fields.get_mut(field as usize);
                (slot.and_then(|slot| slot.replace(cell(raw, Some(field)))).is_some(), field.name())
            }
            Meaning::Other if meanings.headings.kind == Kind::Log => (false, ""),
            Meaning::Other => {
                let twice = row.others.iter().any(|(other, _)| other == key);
                row.others.push((key, cell(raw, None)));
                (twice, key.as_ref())
            }
        };
        if twice {
            sink.problem(
                line,
                "bad-json",
                format!("`{}` stands twice in this row, which is left out; keep one", short(name)),
            );
            return Ok(());
        }
    }
    match meanings.headings.kind {
        Kind::Items => sink.item(&row, line),
        Kind::Log if sink.fault(&row, line) => {}
        Kind::Log => sink.entry(&row, line),
    }
    Ok(())
}

/// What the keys met so far mean.
struct Meanings<'h> {
    known: HashMap<String, Meaning>,
    headings: &'h Headings<'h>,
    limits: &'h Limits,
}

impl Meanings<'_> {
    fn of(&mut self, sink: &mut Sink<'_>, key: &str, line: u64) -> Result<Meaning, ReadError> {
        if let Some(meaning) = self.known.get(key) {
            return Ok(*meaning);
        }
        if self.known.len() >= self.limits.columns {
            return Err(ReadError::TooLarge {
                file: self.headings.file.to_owned(),
                line: Some(narrow(line)),
                what: format!("brings the keys to {}", self.known.len() + 1),
                limit: self.limits.columns.to_string(),
                remedy: "keep the keys that matter and leave out the rest",
            });
        }
        let meaning = self.headings.meaning(key)?;
        if meaning == Meaning::Other
            && let Some(meant) = self.headings.doubt(key, |field| self.has(field))
        {
            sink.doubtful_heading(line, key, meant, self.headings.kind);
        }
        self.known.insert(key.to_owned(), meaning);
        Ok(meaning)
    }

    fn has(&self, field: Field) -> bool {
        self.known.values().any(|meaning| *meaning == Meaning::Is(field))
    }

    /// A mapping to a key that no object has is a mistake, found only at the end.
    fn check_mapping(&self, first: Option<u64>) -> Result<(), ReadError> {
        let (Some(line), Some((field, heading))) = (first, self.headings.unmatched(|field| self.has(field)))
        else {
            return Ok(());
        };
        let mut keys: Vec<&str> = self.known.keys().map(String::as_str).collect();
        keys.sort_unstable();
        Err(self.headings.unknown(field, heading, &keys, narrow(line)))
    }
}
