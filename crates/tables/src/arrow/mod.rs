//! Record batches of the Arrow format: frames of other libraries, without a copy.

mod cells;
mod columns;
mod log;

use crate::codes::Code;
use crate::error::{ReadError, short};
use crate::host_rows::HostRows;
use crate::limits::Limits;
use crate::mapping::{Columns, Kind};
use arrow_array::{RecordBatch, RecordBatchReader};
use arrow_schema::DataType;
use cells::{Cells, is_local, is_read, suits};
use kitlore_engine::{Book, Problem};
use log::LogFrame;
use std::num::NonZeroUsize;

/// Rows that are held until they are recorded together.
const GROUP: usize = 1 << 21;

/// Reads the batches of a frame as an inventory or a log. Rows are numbered from 0 over all batches.
///
/// Times with a zone are instants, times without one are the house's clock times. Where every such time of a
/// column is a midnight it is a column of dates, as spreadsheets and frames without a type for dates write
/// them; batches are kept until a clock time shows that it is none.
///
/// Work is shared by `threads`; the answers are the same whatever their number.
///
/// # Errors
/// A column is missing, doubled or of a type that its field cannot be read from, or the batches stop with
/// an error. What was read before stays in the book.
pub fn read_batches(
    book: &mut Book,
    kind: Kind,
    name: &str,
    batches: &mut dyn RecordBatchReader,
    columns: &Columns,
    limits: &Limits,
    threads: NonZeroUsize,
) -> Result<(), ReadError> {
    let schema = batches.schema();
    if schema.fields().is_empty() {
        // Without columns there is nothing in it, and nothing to mend.
        return Ok(());
    }
    let headings: Vec<&str> = schema.fields().iter().map(|field| field.name().as_str()).collect();
    let types: Vec<&DataType> = schema.fields().iter().map(|field| field.data_type()).collect();
    let rules = book.program().clone();
    let mut rows = HostRows::new(book, kind, name, &headings, columns, limits)?;
    check_types(&mut rows, kind, name, &headings, &types)?;
    let cells = Cells {
        is_read: types.iter().map(|data_type| is_read(data_type)).collect(),
        dates: types.iter().map(|data_type| is_local(data_type)).collect(),
        rules,
    };
    match kind {
        Kind::Items => items(rows, cells, name, batches),
        Kind::Log => entries(LogFrame::new(rows, cells, threads), name, batches),
    }
}

/// Reads an inventory row by row.
fn items(
    mut rows: HostRows<'_>,
    mut cells: Cells,
    name: &str,
    batches: &mut dyn RecordBatchReader,
) -> Result<(), ReadError> {
    let mut held: Vec<RecordBatch> = Vec::new();
    let mut failed = None;
    for batch in batches {
        match batch {
            Ok(batch) => held.push(batch),
            Err(cause) => {
                failed = Some(ReadError::Batches { file: name.to_owned(), cause });
                break;
            }
        }
    }
    held.iter().for_each(|batch| cells.look_for_midnights(batch));
    let numbers =
        (0_u32..).zip(held.iter().flat_map(|batch| (0..batch.num_rows()).map(move |row| (batch, row))));
    let mut buffers = cells.buffers();
    for (number, (batch, row)) in numbers {
        rows.row(number, &cells.row(batch, row, &mut buffers));
    }
    match failed {
        None => {
            rows.finish();
            Ok(())
        }
        Some(error) => Err(error),
    }
}

/// Reads a log column by column.
fn entries(
    mut frame: LogFrame<'_>,
    name: &str,
    batches: &mut dyn RecordBatchReader,
) -> Result<(), ReadError> {
    let mut held: Vec<RecordBatch> = Vec::new();
    let mut count = 0;
    for batch in batches {
        let batch = match batch {
            Ok(batch) => batch,
            Err(cause) => {
                frame.record(&held);
                return Err(ReadError::Batches { file: name.to_owned(), cause });
            }
        };
        frame.look_for_midnights(&batch);
        count += batch.num_rows();
        held.push(batch);
        // A column of midnights may still turn out to be one of clock times.
        if count >= GROUP && !frame.has_dates() {
            frame.record(&held);
            held.clear();
            count = 0;
        }
    }
    frame.record(&held);
    frame.finish(name);
    Ok(())
}

/// Refuses fields of a wrong type, and reports other columns that are not read.
fn check_types(
    rows: &mut HostRows<'_>,
    kind: Kind,
    name: &str,
    headings: &[&str],
    types: &[&DataType],
) -> Result<(), ReadError> {
    for field in kind.fields() {
        let Some(column) = rows.layout().position(*field) else { continue };
        let (Some(heading), Some(found)) = (headings.get(column), types.get(column)) else { continue };
        if !suits(*field, found) {
            return Err(ReadError::ColumnType {
                file: name.to_owned(),
                heading: short(heading),
                field: field.name(),
                found: short(&found.to_string()),
                remedy: "turn it into texts, numbers, dates or times",
            });
        }
    }
    if kind == Kind::Items {
        let others = rows.layout().others.clone();
        for (column, heading) in others {
            let Some(found) = types.get(column).filter(|found| !is_read(found)) else { continue };
            let (heading, found) = (short(&heading), short(&found.to_string()));
            let sentence = "the column `{column}` of `{table}` holds {type} and is not read; turn it into texts, numbers, dates or times if a rule asks about it";
            let problem = Problem::new(Code::BadValue, sentence).with("column", heading).with("table", name);
            rows.sink().column_problem(problem.with("type", found));
        }
    }
    Ok(())
}
