//! Lines one after the other, and what the keys in them mean.

use super::object::{self, Pairs};
use super::row::{JsonRow, cell};
use crate::batch::unknown_heading;
use crate::codes::Code;
use crate::error::{ReadError, narrow, short};
use crate::limits::Limits;
use crate::mapping::{Doubt, Field, Headings, Kind, Meaning};
use kitlore_engine::Problem;
use std::borrow::Cow;
use std::collections::HashMap;

/// Reads one line after the other.
pub(super) struct LineReader<'l> {
    pub keys: Cow<'l, Keys>,
    headings: &'l Headings<'l>,
    limits: &'l Limits,
    /// By place in a line the key that first stood there: in most files it does in nearly every line.
    order: Vec<(String, Meaning)>,
    /// Of lines that were read.
    pub problems: Vec<(u32, Problem)>,
}

impl<'l> LineReader<'l> {
    /// Reads lines after those that had these keys.
    pub fn new(keys: Cow<'l, Keys>, headings: &'l Headings<'l>, limits: &'l Limits) -> Self {
        Self { keys, headings, limits, order: Vec::new(), problems: Vec::new() }
    }

    fn problem(&mut self, line: u64, problem: Problem) {
        self.problems.push((narrow(line), problem));
    }

    /// The row of a line; nothing where it is blank, or left out and reported.
    pub fn row<'a>(
        &mut self,
        bytes: &'a [u8],
        line: u64,
        pairs: &mut Pairs<'a>,
    ) -> Result<Option<JsonRow<'a>>, ReadError> {
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
            let sentence =
                "this row holds bytes that are not UTF-8 text and is left out; save the file as UTF-8";
            self.problem(line, Problem::new(Code::BadText, sentence));
            return Ok(None);
        };
        if let Err(error) = object::read(text, pairs) {
            let sentence =
                "this row is not one JSON object and is left out; the mistake is at column {column}";
            let problem = Problem::new(Code::BadJson, sentence).with("column", error.column());
            self.problem(line, problem);
            return Ok(None);
        }
        let mut row = JsonRow::default();
        let mut stand_ins = Vec::new();
        for (place, (key, raw)) in pairs.drain(..).enumerate() {
            let (twice, name) = match self.meaning(&key, place, line)? {
                Meaning::Is(field) => {
                    let slot = row.fields.get_mut(field as usize);
                    let twice = slot.and_then(|slot| slot.replace(cell(raw, Some(field)))).is_some();
                    (twice, Cow::Borrowed(field.name()))
                }
                Meaning::Stands(field) => {
                    stand_ins.push((field, key, raw));
                    continue;
                }
                Meaning::Other if self.headings.kind == Kind::Log => continue,
                Meaning::Other => {
                    let twice = row.others.iter().any(|(other, _)| *other == key);
                    row.others.push((key.clone(), cell(raw, None)));
                    (twice, key)
                }
            };
            if twice {
                let sentence = "`{key}` stands twice in this row, which is left out; keep one";
                self.problem(line, Problem::new(Code::BadJson, sentence).with("key", short(&name)));
                return Ok(None);
            }
        }
        for (field, key, raw) in stand_ins {
            match row.fields.get_mut(field as usize) {
                Some(slot @ None) => *slot = Some(cell(raw, Some(field))),
                _ => self.unread(&key, line),
            }
        }
        Ok(Some(row))
    }

    /// What a key means that stands at a place in its line.
    #[inline]
    fn meaning(&mut self, key: &str, place: usize, line: u64) -> Result<Meaning, ReadError> {
        if let Some((known, meaning)) = self.order.get(place)
            && known == key
        {
            return Ok(*meaning);
        }
        let meaning = self.look_up(key, line)?;
        if self.order.len() == place {
            self.order.push((key.to_owned(), meaning));
        }
        Ok(meaning)
    }

    /// A key that is not read, because the line has the field under its own name.
    fn unread(&mut self, key: &str, line: u64) {
        if self.keys.unread.iter().any(|known| known == key) {
            return;
        }
        self.keys.to_mut().unread.push(key.to_owned());
        let doubt = Doubt { heading: key.to_owned(), meant: None };
        let problem = unknown_heading(&doubt, Kind::Log, None);
        self.problems.push((narrow(line), problem));
    }

    fn look_up(&mut self, key: &str, line: u64) -> Result<Meaning, ReadError> {
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
            && let Some(doubt) = headings.doubt(key, |field| keys.has(field))
        {
            let problem = unknown_heading(&doubt, headings.kind, None);
            self.problems.push((narrow(line), problem));
        }
        self.keys.to_mut().known.insert(key.to_owned(), meaning);
        Ok(meaning)
    }
}

/// What the keys met so far mean.
#[derive(Debug, Clone, Default)]
pub(super) struct Keys {
    known: HashMap<String, Meaning, foldhash::fast::FixedState>,
    /// Those that stood beside the field they would stand for.
    unread: Vec<String>,
    /// The first line that is not blank.
    first: Option<u64>,
}

impl Keys {
    fn has(&self, field: Field) -> bool {
        self.known.values().any(|meaning| [Meaning::Is(field), Meaning::Stands(field)].contains(meaning))
    }

    /// A mapping to a key that no object has is a mistake, found only at the end.
    pub fn check_mapping(&self, headings: &Headings<'_>) -> Result<(), ReadError> {
        let (Some(line), Some((field, heading))) = (self.first, headings.unmatched(|field| self.has(field)))
        else {
            return Ok(());
        };
        let mut keys: Vec<&str> = self.known.keys().map(String::as_str).collect();
        keys.sort_unstable();
        Err(headings.unknown(field, heading, &keys, narrow(line)))
    }
}
