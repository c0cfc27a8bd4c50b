//! What each column of a table means, worked out once from its headings.

use super::columns::Columns;
use super::field::{COUNT, Field, Kind, named_in};
use super::words;
use crate::error::ReadError;
use kitlore_syntax::{closest, key};

/// The columns of one table.
#[derive(Debug)]
pub(crate) struct Layout {
    /// The column of each field, by `Field as usize`.
    positions: [Option<usize>; COUNT],
    /// The other named columns: attributes of the inventory.
    pub others: Vec<(usize, String)>,
    /// Columns without a heading.
    pub nameless: Vec<usize>,
    /// How many columns there are.
    pub width: usize,
    /// Headings that mean nothing but probably should.
    pub doubts: Vec<Doubt>,
}

/// A heading that means nothing but probably should.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Doubt {
    pub heading: String,
    /// The field that was probably meant, unless another column is that.
    pub meant: Option<&'static str>,
}

/// What one heading means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Meaning {
    /// A field.
    Is(Field),
    /// A field of a log, where no other column is that.
    Stands(Field),
    /// An attribute, or nothing.
    Other,
}

/// Finds the meaning of headings under a mapping.
pub(crate) struct Headings<'a> {
    pub file: &'a str,
    pub kind: Kind,
    pub columns: &'a Columns,
}

impl Headings<'_> {
    /// The meaning of one heading.
    pub fn meaning(&self, heading: &str) -> Result<Meaning, ReadError> {
        let mut mapped = self.columns.mapped(heading, self.kind.fields());
        // `id` is the inventory's mapping as well: a log's column given to `item` is no id of entries.
        if self.kind == Kind::Log && mapped.len() > 1 {
            mapped.retain(|field| *field != Field::Id);
        }
        match mapped.as_slice() {
            [first, second, ..] => Err(ReadError::HeadingTwice {
                file: self.file.to_owned(),
                heading: heading.to_owned(),
                first: first.name(),
                second: second.name(),
            }),
            [field] => Ok(Meaning::Is(*field)),
            [] => Ok(self.unmapped(heading)),
        }
    }

    /// The meaning of a heading that is not mapped.
    fn unmapped(&self, heading: &str) -> Meaning {
        let is_free = |field: &Field| !self.takes_elsewhere(*field);
        if let Some(field) = named_in(&key(heading), self.kind.fields()).filter(is_free) {
            return Meaning::Is(field);
        }
        let stands = words::same(heading).filter(|_| self.kind == Kind::Log).filter(is_free);
        stands.map_or(Meaning::Other, Meaning::Stands)
    }

    /// Whether a field's column is under another heading than its own name.
    fn takes_elsewhere(&self, field: Field) -> bool {
        // The log has its own `id` even where the inventory's is mapped.
        self.columns.heading(field).is_some() && !(self.kind == Kind::Log && field == Field::Id)
    }

    /// The columns of a table with these headings in this line.
    pub fn layout(&self, headings: &[&str], line: u32) -> Result<Layout, ReadError> {
        let mut layout = Layout {
            positions: [None; COUNT],
            others: Vec::new(),
            nameless: Vec::new(),
            width: headings.len(),
            doubts: Vec::new(),
        };
        let mut other_keys: Vec<(String, &str)> = Vec::new();
        let mut stand_ins: Vec<(Field, usize, &str)> = Vec::new();
        for (column, heading) in headings.iter().enumerate() {
            let heading = heading.trim();
            if heading.is_empty() {
                layout.nameless.push(column);
                continue;
            }
            match self.meaning(heading)? {
                Meaning::Is(field) => {
                    if let Some(first) = layout.position(field) {
                        let first = headings.get(first).copied().unwrap_or_default();
                        return Err(self.duplicate(line, field.name(), first, heading));
                    }
                    layout.set(field, column);
                }
                Meaning::Stands(field) => stand_ins.push((field, column, heading)),
                Meaning::Other => {
                    other_keys.push((key(heading), heading));
                    layout.others.push((column, heading.to_owned()));
                }
            }
        }
        for (field, column, heading) in stand_ins {
            match layout.position(field) {
                Some(_) => layout.others.push((column, heading.to_owned())),
                None => layout.set(field, column),
            }
        }
        if self.kind == Kind::Items {
            other_keys.sort();
            if let Some([(name, first), (_, second)]) = other_keys
                .windows(2)
                .find_map(|pair| <&[_; 2]>::try_from(pair).ok().filter(|[a, b]| a.0 == b.0))
            {
                return Err(self.duplicate(line, name, first, second));
            }
        }
        self.check_complete(&layout, headings, line)?;
        let has = |field| layout.position(field).is_some();
        layout.doubts = layout.others.iter().filter_map(|(_, heading)| self.doubt(heading, has)).collect();
        Ok(layout)
    }

    /// Whether a heading without meaning probably should have one. In an inventory it does have one, as an attribute:
    /// there only a heading close to a field that the table lacks is a doubt.
    pub fn doubt(&self, heading: &str, has: impl Fn(Field) -> bool) -> Option<Doubt> {
        let fields = self.kind.fields();
        let meant = match self.kind {
            Kind::Items => {
                let free: Vec<Field> = fields.iter().copied().filter(|field| !has(*field)).collect();
                Some(Field::meant(heading, &free)?)
            }
            Kind::Log => {
                let field = words::probable(heading, fields, &self.columns.words)?;
                Some(field.name()).filter(|_| !has(field))
            }
        };
        Some(Doubt { heading: heading.to_owned(), meant })
    }

    /// The field whose mapped heading the table does not have.
    pub fn unmatched(&self, has: impl Fn(Field) -> bool) -> Option<(Field, &str)> {
        self.kind
            .fields()
            .iter()
            .filter(|field| !has(**field))
            // The mapped `id` is the inventory's; a log need not have it.
            .filter(|field| self.kind == Kind::Items || **field != Field::Id)
            .find_map(|field| self.columns.heading(*field).map(|heading| (*field, heading)))
    }

    /// The error for a mapped heading that the table does not have.
    pub fn unknown(&self, field: Field, heading: &str, headings: &[&str], line: u32) -> ReadError {
        ReadError::UnknownHeading {
            file: self.file.to_owned(),
            line,
            field: field.name(),
            heading: heading.to_owned(),
            meant: closest(heading, headings.iter().copied()).map(str::to_owned),
            headings: owned(headings),
        }
    }

    fn check_complete(&self, layout: &Layout, headings: &[&str], line: u32) -> Result<(), ReadError> {
        if let Some((field, heading)) = self.unmatched(|field| layout.position(field).is_some()) {
            return Err(self.unknown(field, heading, headings, line));
        }
        for field in self.kind.required() {
            if layout.position(field).is_none() {
                let free = layout.others.iter().map(|(_, heading)| heading.as_str());
                return Err(ReadError::MissingColumn {
                    file: self.file.to_owned(),
                    line,
                    field: field.name(),
                    meant: closest(field.name(), free).map(str::to_owned),
                    headings: owned(headings),
                });
            }
        }
        Ok(())
    }

    fn duplicate(&self, line: u32, name: &str, first: &str, second: &str) -> ReadError {
        ReadError::DuplicateHeading {
            file: self.file.to_owned(),
            line,
            name: name.to_owned(),
            first: first.trim().to_owned(),
            second: second.to_owned(),
        }
    }
}

fn owned(headings: &[&str]) -> Vec<String> {
    headings.iter().map(|h| h.trim()).filter(|h| !h.is_empty()).map(str::to_owned).collect()
}

impl Layout {
    /// The column of a field.
    pub fn position(&self, field: Field) -> Option<usize> {
        self.positions.get(field as usize).copied().flatten()
    }

    fn set(&mut self, field: Field, column: usize) {
        if let Some(position) = self.positions.get_mut(field as usize) {
            *position = Some(column);
        }
    }
}
