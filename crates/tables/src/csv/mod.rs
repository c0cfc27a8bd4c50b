//! Inventories and logs in csv.

mod log;
mod records;
mod row;

pub(crate) use records::CsvRecords;

use crate::batch::Sink;
use crate::blocks::Extent;
use crate::error::ReadError;
use crate::limits::Limits;
use crate::mapping::{Headings, Kind, Layout};
use records::CsvText;
use row::{Check, CsvRow};
use std::io::Read;

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
        let mut problem = |problem| sink.problem(record.line, problem);
        let Some(text) = check.usable(&record, &mut problem) else { continue };
        report_nameless(sink, &mut nameless, text, record.line);
        sink.item(&CsvRow { text, layout, delimiter: check.delimiter }, record.line);
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
