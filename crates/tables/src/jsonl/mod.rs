//! Inventories and logs in jsonl: one object per line, numbers kept as they are written.

mod lines;
mod object;
mod row;

use crate::batch::{Rows, Sink};
use crate::blocks::{Block, Blocks, Decoded, Extent, record};
use crate::error::ReadError;
use crate::limits::Limits;
use crate::mapping::{Headings, Kind};
use crate::window::Window;
use kitlore_engine::Book;
use lines::{Keys, LineReader};
pub(crate) use object::Object;
use std::borrow::Cow;
use std::io::Read;

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
    let mut reader = LineReader::new(Cow::Owned(Keys::default()), headings, limits);
    let mut line = 0;
    while let Some((length, used)) = next_line(&mut window, headings.file, line + 1, limits)? {
        line += 1;
        let row = reader.row(window.part(0, length), line, &mut Vec::new())?;
        for (line, problem) in reader.problems.drain(..) {
            sink.problem(line.into(), problem);
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
    let mut reader = LineReader::new(Cow::Borrowed(keys), headings, limits);
    let mut pairs = Vec::new();
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
        let row = reader.row(rest.get(..length).unwrap_or_default(), line, &mut pairs);
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

#[cfg(test)]
#[path = "log_tests.rs"]
mod tests;
