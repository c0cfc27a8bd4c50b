//! Blocks and threads change nothing: all that can be seen of a book is compared with reading in one block.
#![allow(clippy::unwrap_used, reason = "tests")]

use super::Extent;
use crate::batch::Sink;
use crate::error::ReadError;
use crate::limits::Limits;
use crate::mapping::{Columns, Headings, Kind};
use kitlore_engine::{Book, Item, Program, When};
use std::io::Read;
use std::num::NonZeroUsize;

const RULES: &str = "for cameras
  after 3 lens changes in dust or 90 days, inspect sensor
  after 50 frames, clean sensor
  after 4 trips or 2 knocks, inspect strap
";

/// Reads a log of some format.
pub(crate) type Decoder =
    fn(&mut Sink<'_>, &mut dyn Read, &Headings<'_>, &Limits, Extent) -> Result<(), ReadError>;

/// In one block, or in blocks of some bytes by some threads.
pub(crate) type Way = Option<(usize, usize)>;

/// A stream that breaks off.
struct Broken<'a>(&'a [u8]);

impl Read for Broken<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        match self.0.read(buffer)? {
            0 => Err(std::io::Error::other("the disk is gone")),
            count => Ok(count),
        }
    }
}

fn fill(
    read: Decoder,
    sink: &mut Sink<'_>,
    input: &mut dyn Read,
    limits: &Limits,
    way: Way,
) -> Result<(), ReadError> {
    let columns = Columns::new();
    let headings = Headings { file: "log", kind: Kind::Log, columns: &columns };
    let (block, threads) = way.unwrap_or((1 << 24, 1));
    let extent = Extent { block, threads: NonZeroUsize::new(threads).unwrap() };
    read(sink, input, &headings, limits, extent)
}

/// All that can be seen of a book after reading a log.
pub(crate) fn shown(read: Decoder, mut input: impl Read, limits: &Limits, way: Way) -> String {
    let rules = Program::parse(RULES).unwrap();
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera").kit("blue bag")).unwrap();
    book.add_item(Item::new("C2", "camera").model("R-1")).unwrap();
    let mut sink = Sink::new(&mut book, "log", limits.problems);
    let read = fill(read, &mut sink, &mut input, limits, way).map_err(|error| error.to_string());
    sink.finish();
    let found = book.standings(rules.when_is_over(When::parse("2026-06-01").unwrap()));
    let problems: Vec<String> = found.problems().iter().map(|problem| format!("{problem:?}\n")).collect();
    let rows = serde_json::to_string_pretty(&found).unwrap();
    format!("{read:?}\n{} entries\n{rows}\n{}", book.len(), problems.concat())
}

/// Every way gives the same.
pub(crate) fn check(read: Decoder, log: &[u8], limits: &Limits) {
    let expected = shown(read, log, limits, None);
    for block in [1, 2, 7, 30, 64, 200, 1 << 16] {
        for threads in 1..4 {
            assert_eq!(
                shown(read, log, limits, Some((block, threads))),
                expected,
                "{block} bytes, {threads} threads"
            );
        }
    }
    let expected = shown(read, Broken(log), limits, None);
    for (block, threads) in [(1, 1), (50, 2), (1 << 16, 3)] {
        assert_eq!(
            shown(read, Broken(log), limits, Some((block, threads))),
            expected,
            "{block} bytes, broken"
        );
    }
}

/// Bytes of a log, of which one may be no text.
pub(crate) fn spoil(log: String, at: Option<usize>) -> Vec<u8> {
    let mut bytes = log.into_bytes();
    if let Some(byte) = at.and_then(|at| bytes.get_mut(at)) {
        *byte = 0xE9;
    }
    bytes
}
