//! Inventories and logs in jsonl: one object per line, numbers kept as they are written.

use crate::batch::{Row, Rows, Sink, Value};
use crate::blocks::{Block, Blocks, Decoded, Extent, record};
use crate::error::{ReadError, narrow, short};
use crate::limits::Limits;
use crate::mapping::{COUNT, Field, Headings, Kind, Meaning};
use crate::window::Window;
use kitlore_engine::{Book, Problem};
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
    others: Vec<(Cow<'a, str>, Cell<'a>)>,
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
    extent: Extent,
) -> Result<(), ReadError> {
    let window = Window::open(headings.file, input)?;
    let mut keys = Keys::default();
    match headings.kind {
        Kind::Items => keys = items(sink, window, headings, limits)?,
        Kind::Log => {
            let (pending, input) = window.into_rest();
            let blocks = Blocks::new(headings.file, pending, input, extent.block);
            let how = (0, limits.record_bytes, extent);
            record(sink, blocks, how, &mut keys, |block, book, keys| {
                decode(block, book, keys, headings, limits)
            })?;
        }
    }
    keys.check_mapping(headings)
}

/// Reads the rows of an inventory; gives its keys.
fn items<R: Read>(
    sink: &mut Sink<'_>,
    mut window: Window<'_, R>,
    headings: &Headings<'_>,
    limits: &Limits,
) -> Result<Keys, ReadError> {
    let mut reader = LineReader { keys: Cow::Owned(Keys::default()), headings, limits, problems: Vec::new() };
    let mut line = 0;
    while let Some((length, used)) = next_line(&mut window, headings.file, line + 1, limits)? {
        line += 1;
        let row = reader.row(window.part(0, length), line)?;
        for (line, problem) in reader.problems.drain(..) {
            sink.report_at(line, problem);
        }
        if let Some(row) = row {
            sink.item(&row, line);
        }
        window.consume(used);
    }
    Ok(reader.keys.into_owned())
}

/// Reads a block of a log; gives the keys known then if they are more.
fn decode(
    block: Block,
    book: &Book,
    keys: &Keys,
    headings: &Headings<'_>,
    limits: &Limits,
) -> (Decoded, Option<Keys>) {
    let mut reader = LineReader { keys: Cow::Borrowed(keys), headings, limits, problems: Vec::new() };
    let mut rows = Rows::default();
    let (mut complete, mut line) = (0, 0);
    let mut error = None;
    while let Some(rest) = block.bytes.get(complete..).filter(|rest| !rest.is_empty()) {
        let end = memchr::memchr(b'\n', rest);
        if end.is_none() && !block.last {
            break;
        }
        let length = end.unwrap_or(rest.len());
        if length > limits.record_bytes {
            error = Some(ReadError::record_too_large(headings.file, line + 1, limits.record_bytes));
            break;
        }
        line += 1;
        let row = reader.row(rest.get(..length).unwrap_or_default(), line);
        rows.problems.append(&mut reader.problems);
        match row {
            Ok(Some(row)) => rows.push(&row, line, book),
            Ok(None) => {}
            Err(other) => {
                error = Some(other);
                break;
            }
        }
        complete += end.map_or(length, |_| length + 1);
    }
    if error.is_some() {
        complete = block.bytes.len();
    }
    let more = match reader.keys {
        Cow::Owned(keys) => Some(keys),
        Cow::Borrowed(_) => None,
    };
    (Decoded { rows, lines: line, block, complete, error }, more)
}

/// The length of the next line and, with its line end, of what to be done with.
fn next_line<R: Read>(
    window: &mut Window<'_, R>,
    file: &str,
    line: u64,
    limits: &Limits,
) -> Result<Option<(usize, usize)>, ReadError> {
    let mut looked = 0;
    loop {
        let pending = window.pending();
        let end = memchr::memchr(b'\n', pending.get(looked..).unwrap_or_default()).map(|at| looked + at);
        looked = end.unwrap_or(pending.len());
        if looked > limits.record_bytes {
            return Err(ReadError::record_too_large(file, line, limits.record_bytes));
        }
        if end.is_some() {
            return Ok(Some((looked, looked + 1)));
        }
        if !window.more()? {
            return Ok((looked > 0).then_some((looked, looked)));
        }
    }
}

/// Reads one line after the other.
struct LineReader<'l> {
    keys: Cow<'l, Keys>,
    headings: &'l Headings<'l>,
    limits: &'l Limits,
    /// Of lines that were read.
    problems: Vec<(u32, Problem)>,
}

impl LineReader<'_> {
    fn problem(&mut self, line: u64, code: &'static str, message: impl Into<String>) {
        self.problems.push((narrow(line), Problem::new(code, message)));
    }

    /// The row of a line; nothing where it is blank, or left out and reported.
    fn row<'a>(&mut self, bytes: &'a [u8], line: u64) -> Result<Option<JsonRow<'a>>, ReadError> {
        let bytes = bytes.trim_ascii();
        if bytes.is_empty() {
            return Ok(None);
        }
        if self.keys.first.is_none() {
            if bytes.starts_with(b"[") {
                return Err(ReadError::WrongFormat {
                    file: self.headings.file.to_owned(),
                    what: "one JSON list",
                    remedy: "write one object per line, without brackets and commas around them",
                });
            }
            self.keys.to_mut().first = Some(line);
        }
        let Ok(text) = std::str::from_utf8(bytes) else {
            let message =
                "this row holds bytes that are not UTF-8 text and is left out; save the file as UTF-8";
            self.problem(line, "bad-text", message);
            return Ok(None);
        };
        let object: Object<'a> = match serde_json::from_str(text) {
            Ok(object) => object,
            Err(error) => {
                let message = format!(
                    "this row is not one JSON object and is left out; the mistake is at column {}",
                    error.column()
                );
                self.problem(line, "bad-json", message);
                return Ok(None);
            }
        };
        let mut row = JsonRow::default();
        for (key, raw) in object.0 {
            let (twice, name) = match self.meaning(&key, line)? {
                Meaning::Is(field) => {
                    let slot = row.fields.get_mut(field as usize);
                    let twice = slot.and_then(|slot| slot.replace(cell(raw, Some(field)))).is_some();
                    (twice, Cow::Borrowed(field.name()))
                }
                Meaning::Other if self.headings.kind == Kind::Log => continue,
                Meaning::Other => {
                    let twice = row.others.iter().any(|(other, _)| *other == key);
                    row.others.push((key.clone(), cell(raw, None)));
                    (twice, key)
                }
            };
            if twice {
                let message =
                    format!("`{}` stands twice in this row, which is left out; keep one", short(&name));
                self.problem(line, "bad-json", message);
                return Ok(None);
            }
        }
        Ok(Some(row))
    }

    /// What a key means.
    fn meaning(&mut self, key: &str, line: u64) -> Result<Meaning, ReadError> {
        if let Some(meaning) = self.keys.known.get(key) {
            return Ok(*meaning);
        }
        let (headings, keys) = (self.headings, &self.keys);
        if keys.known.len() >= self.limits.columns {
            return Err(ReadError::TooLarge {
                file: headings.file.to_owned(),
                line: Some(narrow(line)),
                what: format!("brings the keys to {}", keys.known.len() + 1),
                limit: self.limits.columns.to_string(),
                remedy: "keep the keys that matter and leave out the rest",
            });
        }
        let meaning = headings.meaning(key)?;
        if meaning == Meaning::Other
            && let Some(meant) = headings.doubt(key, |field| keys.has(field))
        {
            let message = format!("the column `{}` is {}", short(key), headings.kind.use_of_others());
            let problem = Problem::new("unknown-heading", message).meant(Some(meant));
            self.problems.push((narrow(line), problem));
        }
        self.keys.to_mut().known.insert(key.to_owned(), meaning);
        Ok(meaning)
    }
}

/// What the keys met so far mean.
#[derive(Debug, Clone, Default)]
struct Keys {
    known: HashMap<String, Meaning>,
    /// The first line that is not blank.
    first: Option<u64>,
}

impl Keys {
    fn has(&self, field: Field) -> bool {
        self.known.values().any(|meaning| *meaning == Meaning::Is(field))
    }

    /// A mapping to a key that no object has is a mistake, found only at the end.
    fn check_mapping(&self, headings: &Headings<'_>) -> Result<(), ReadError> {
        let (Some(line), Some((field, heading))) = (self.first, headings.unmatched(|field| self.has(field)))
        else {
            return Ok(());
        };
        let mut keys: Vec<&str> = self.known.keys().map(String::as_str).collect();
        keys.sort_unstable();
        Err(headings.unknown(field, heading, &keys, narrow(line)))
    }
}
