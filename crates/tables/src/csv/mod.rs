//! Inventories and logs in csv.

mod log;
mod records;

pub(crate) use records::CsvRecords;

use crate::batch::{Row, Sink, Value};
use crate::blocks::Extent;
use crate::error::ReadError;
use crate::limits::Limits;
use crate::mapping::{Field, Headings, Kind, Layout};
use records::{CsvRecord, CsvText};
use std::io::Read;

/// A record under the headings of its table.
struct CsvRow<'a> {
    text: CsvText<'a>,
    layout: &'a Layout,
}

impl Row for CsvRow<'_> {
    #[inline]
    fn get(&self, field: Field) -> Value<'_> {
        match self.layout.position(field) {
            None => Value::Absent,
            Some(column) => value(self.text.field(column)),
        }
    }

    fn may_have_faults(&self) -> bool {
        false
    }

    fn attributes(&self, each: &mut dyn FnMut(&str, Value<'_>)) {
        for (column, heading) in &self.layout.others {
            each(heading, value(self.text.field(*column)));
        }
    }
}

#[inline]
fn value(field: &str) -> Value<'_> {
    if field.is_empty() { Value::Absent } else { Value::Text(field) }
}

/// Reads a whole table into a book.
pub(crate) fn read(
    sink: &mut Sink<'_>,
    input: impl Read,
    headings: &Headings<'_>,
    limits: &Limits,
    extent: Extent,
) -> Result<(), ReadError> {
    let mut records = CsvRecords::open(headings.file, input, limits.record_bytes)?;
    let Some(layout) = read_headings(&mut records, headings, limits)? else {
        // A log that was created and never written to holds no entry, which is no error.
        return match headings.kind {
            Kind::Log => Ok(()),
            Kind::Items => Err(ReadError::Empty {
                file: headings.file.to_owned(),
                required: headings.kind.required().map(|field| field.name().to_owned()).to_vec(),
            }),
        };
    };
    sink.doubtful_headings(&layout, headings.kind, records.line().saturating_sub(1));
    match headings.kind {
        Kind::Log => log::read(sink, records, headings.file, &layout, limits, extent),
        Kind::Items => items(sink, &mut records, &layout),
    }
}

/// Reads the records of an inventory.
fn items<R: Read>(
    sink: &mut Sink<'_>,
    records: &mut CsvRecords<'_, R>,
    layout: &Layout,
) -> Result<(), ReadError> {
    let mut nameless = layout.nameless.clone();
    let check = Check { layout, kind: Kind::Items, delimiter: records.delimiter() };
    while records.advance()? {
        let record = records.record();
        let mut problem = |code, message: String| sink.problem(record.line, code, message);
        let Some(text) = check.usable(&record, &mut problem) else { continue };
        report_nameless(sink, &mut nameless, text, record.line);
        sink.item(&CsvRow { text, layout }, record.line);
    }
    Ok(())
}

/// Reads the headings; `None` from a file without any row.
pub(crate) fn read_headings<R: Read>(
    records: &mut CsvRecords<'_, R>,
    headings: &Headings<'_>,
    limits: &Limits,
) -> Result<Option<Layout>, ReadError> {
    let Some(record) = records.next()? else {
        return Ok(None);
    };
    let columns = record.len();
    if columns > limits.columns {
        return Err(ReadError::too_many_columns(headings.file, columns, limits));
    }
    let line = record.line();
    let text = record.text().ok_or_else(|| ReadError::not_text(headings.file))?;
    let names: Vec<&str> = text.fields().collect();
    headings.layout(&names, line).map(Some)
}

/// What records are held to.
#[derive(Clone, Copy)]
struct Check<'a> {
    layout: &'a Layout,
    kind: Kind,
    delimiter: u8,
}

impl Check<'_> {
    /// The text of a record, or reports why it cannot be used, or what makes it doubtful; blank ones are passed over.
    #[inline]
    fn usable<'a>(
        &self,
        record: &CsvRecord<'a>,
        problem: &mut impl FnMut(&'static str, String),
    ) -> Option<CsvText<'a>> {
        let width = self.layout.width;
        let Some(text) = record.text() else {
            let message =
                "this row holds bytes that are not UTF-8 text and is left out; save the file as `CSV UTF-8`";
            problem("bad-text", message.to_owned());
            return None;
        };
        if record.len() > width && text.fields().skip(width).any(|field| !field.is_empty()) {
            let message = format!(
                "this row has {} values under {width} headings and is left out; put a value that holds the separator in quotes",
                record.len(),
            );
            problem("too-many-values", message);
            return None;
        }
        // The first field tells most rows from blank ones.
        if text.field(0).is_empty() && record.is_blank() {
            return None;
        }
        if record.unclosed || record.lines > 1 || !record.terminated {
            self.doubt(record, text, problem);
        }
        Some(text)
    }

    fn doubt(
        &self,
        record: &CsvRecord<'_>,
        text: CsvText<'_>,
        problem: &mut impl FnMut(&'static str, String),
    ) {
        if record.unclosed {
            let message = format!(
                "a quote in this row is never closed, so that {} lines to the end of the file are read as one; close it",
                record.lines
            );
            return problem("unclosed-quote", message);
        }
        if record.lines > 1 && self.swallows_a_row(text) {
            let message = format!(
                "a quote in this row goes over {} lines, and one of them looks like a row of its own; close the quote before it",
                record.lines
            );
            problem("unclosed-quote", message);
        }
        if !record.terminated && record.len() < self.layout.width {
            let message = "the last row has no line end and fewer values than there are headings: it may have been cut off; compare it with what was meant";
            problem("cut-off", message.to_owned());
        }
    }

    /// Whether a line inside quotes reads as a row: as many values as there are headings, and in a log a
    /// time where one belongs.
    fn swallows_a_row(&self, text: CsvText<'_>) -> bool {
        let (layout, delimiter) = (self.layout, char::from(self.delimiter));
        text.fields().any(|field| {
            field.lines().skip(1).any(|line| {
                if self.kind == Kind::Items {
                    return layout.width > 2 && line.split(delimiter).count() == layout.width;
                }
                let when = layout.position(Field::When).and_then(|column| line.split(delimiter).nth(column));
                when.is_some_and(|when| kitlore_syntax::When::parse(when.trim()).is_ok())
                    && line.contains(delimiter)
            })
        })
    }
}

/// Reports once every column that has values and no heading.
fn report_nameless(sink: &mut Sink<'_>, nameless: &mut Vec<usize>, text: CsvText<'_>, line: u64) {
    nameless.retain(|column| {
        let found = text.field(*column);
        if !found.is_empty() {
            sink.no_heading(line, *column, found);
        }
        found.is_empty()
    });
}
