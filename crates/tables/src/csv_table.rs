//! Inventories and logs in csv.

use crate::csv_log::{self, Extent};
use crate::csv_records::{CsvRecord, CsvRecords, CsvText};
use crate::error::ReadError;
use crate::field::{Field, Kind};
use crate::layout::{Headings, Layout};
use crate::limits::Limits;
use crate::row::{Row, Sink, Value};
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
        Kind::Log => csv_log::read(sink, records, headings.file, &layout, limits, extent),
        Kind::Items => rows(sink, &mut records, &layout, headings.kind),
    }
}

/// Reads records one by one.
pub(crate) fn rows<R: Read>(
    sink: &mut Sink<'_>,
    records: &mut CsvRecords<'_, R>,
    layout: &Layout,
    kind: Kind,
) -> Result<(), ReadError> {
    let mut nameless = layout.nameless.clone();
    let delimiter = records.delimiter();
    while records.advance()? {
        let record = records.record();
        let Some(text) = usable(sink, &record, layout) else {
            continue;
        };
        doubt(sink, &record, layout, kind, delimiter);
        let row = CsvRow { text, layout };
        match kind {
            Kind::Log => sink.entry(&row, record.line),
            Kind::Items => {
                report_nameless(sink, &mut nameless, text, record.line);
                sink.item(&row, record.line);
            }
        }
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

/// The text of a record, or reports why it cannot be used; blank ones are passed over.
fn usable<'a>(sink: &mut Sink<'_>, record: &CsvRecord<'a>, layout: &Layout) -> Option<CsvText<'a>> {
    let Some(text) = record.text() else {
        let message =
            "this row holds bytes that are not UTF-8 text and is left out; save the file as `CSV UTF-8`";
        sink.problem(record.line, "bad-text", message);
        return None;
    };
    if record.len() > layout.width && text.fields().skip(layout.width).any(|field| !field.is_empty()) {
        let message = format!(
            "this row has {} values under {} headings and is left out; put a value that holds the separator in quotes",
            record.len(),
            layout.width
        );
        sink.problem(record.line, "too-many-values", message);
        return None;
    }
    // The first field tells most rows from blank ones.
    let blank = text.field(0).is_empty() && record.is_blank();
    (!blank).then_some(text)
}

/// Reports what makes a row doubtful although it can be used.
fn doubt(sink: &mut Sink<'_>, record: &CsvRecord<'_>, layout: &Layout, kind: Kind, delimiter: u8) {
    if record.unclosed {
        let message = format!(
            "a quote in this row is never closed, so that {} lines to the end of the file are read as one; close it",
            record.lines
        );
        return sink.problem(record.line, "unclosed-quote", message);
    }
    if record.lines > 1 && swallows_a_row(record, layout, kind, delimiter) {
        let message = format!(
            "a quote in this row goes over {} lines, and one of them looks like a row of its own; close the quote before it",
            record.lines
        );
        sink.problem(record.line, "unclosed-quote", message);
    }
    if !record.terminated && record.len() < layout.width {
        let message = "the last row has no line end and fewer values than there are headings: it may have been cut off; compare it with what was meant";
        sink.problem(record.line, "cut-off", message);
    }
}

/// Whether a line inside quotes reads as a row: as many values as there are headings, and in a log a
/// time where one belongs.
fn swallows_a_row(record: &CsvRecord<'_>, layout: &Layout, kind: Kind, delimiter: u8) -> bool {
    let Some(text) = record.text() else {
        return false;
    };
    let delimiter = char::from(delimiter);
    text.fields().any(|field| {
        field.lines().skip(1).any(|line| {
            if kind == Kind::Items {
                return layout.width > 2 && line.split(delimiter).count() == layout.width;
            }
            let when = layout.position(Field::When).and_then(|column| line.split(delimiter).nth(column));
            when.is_some_and(|when| kitlore_syntax::When::parse(when.trim()).is_ok())
                && line.contains(delimiter)
        })
    })
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
