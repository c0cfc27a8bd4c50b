//! Logs in csv, read in blocks by several threads.
//!
//! A cut within quotes does no harm: a block says where its last whole record ends, and what is left is read
//! together with the next block.

use super::records::CsvRecords;
use super::row::{Check, CsvRow};
use crate::batch::{Rows, Sink};
use crate::blocks::{Block, Blocks, Decoded, Extent, record};
use crate::error::ReadError;
use crate::limits::Limits;
use crate::mapping::{Kind, Layout};
use kitlore_engine::Book;
use std::io::Read;

/// Reads the rest of a log after its headings.
pub(super) fn read<R: Read>(
    sink: &mut Sink<'_>,
    records: CsvRecords<'_, R>,
    file: &str,
    layout: &Layout,
    limits: &Limits,
    extent: Extent,
) -> Result<(), ReadError> {
    let check = Check { layout, kind: Kind::Log, delimiter: records.delimiter() };
    let line = records.line();
    let (pending, input) = records.into_rest();
    let blocks = Blocks::new(file, pending, input, extent.block);
    record(sink, blocks, (line, limits.record_bytes, extent), &mut (), |block, book, ()| {
        (decode(block, book, file, check, limits.record_bytes), None)
    })
}

/// Reads a block.
fn decode(mut block: Block, book: &Book, file: &str, check: Check<'_>, limit: usize) -> Decoded {
    let mut records = CsvRecords::of_parts(file, check.delimiter, limit);
    let mut rows = Rows::default();
    records.refill(std::mem::take(&mut block.bytes), 0);
    let (mut complete, mut lines) = (0, 0);
    let mut error = None;
    loop {
        match records.advance() {
            Ok(true) => {}
            Ok(false) => {
                (complete, lines) = (records.used(), records.line());
                break;
            }
            Err(too_large) => {
                error = Some(too_large);
                break;
            }
        }
        let record = records.record();
        // It goes on in the next block, or may.
        if !block.last && (!record.terminated || records.may_go_on()) {
            break;
        }
        let mut problems = Vec::new();
        let text = check.usable(&record, &mut |problem| problems.push(problem));
        for problem in problems {
            rows.problem(record.line, problem);
        }
        if let Some(text) = text {
            rows.push(&CsvRow { text, layout: check.layout, delimiter: check.delimiter }, record.line, book);
        }
        (complete, lines) = (records.used(), records.line());
    }
    block.bytes = records.refill(Vec::new(), 0);
    if error.is_some() {
        complete = block.bytes.len();
    }
    Decoded { rows, lines, block, complete, error }
}

#[cfg(test)]
#[path = "log_tests.rs"]
mod tests;
