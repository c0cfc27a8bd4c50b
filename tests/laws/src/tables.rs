//! Text tables: each row is used or reported with its place, whatever the bytes are.

use crate::answers::{checked_json, end_of};
use kitlore_engine::{Book, Program};
use kitlore_tables::{Columns, Limits, ReadError, Table, read_items, read_log};
use std::collections::BTreeSet;
use std::sync::LazyLock;

/// Rules in a zone whose clocks change, that look at all that a table can say.
const RULES: &str = "time zone Europe/Lisbon
for cameras
  after 20 lens changes in dust or 90 days, inspect sensor
  when inspect sensor finds dust, clean sensor
  when capacity is below 80 percent, retire battery
  before every trip, check strap
  after 200 frames, service shutter
for cameras where maker is Tern or price is above 100 or serial is missing
  3 days after each release unless recall, install release";

pub(crate) static PROGRAM: LazyLock<Program> = LazyLock::new(|| Program::parse(RULES).expect("rules"));

/// Small enough for every bound to be met.
pub(crate) const LIMITS: Limits = Limits {
    text_file_bytes: 1 << 16,
    record_bytes: 300,
    columns: 20,
    workbook_bytes: 1 << 17,
    unpacked_bytes: 1 << 18,
    parts: 20,
    texts: 40,
    problems: 30,
};

/// A table read as items into one book and as a log into another; the log's book.
pub(crate) fn read(name: &str, data: &[u8]) -> Option<Book> {
    let mapped = Columns::parse("item=Asset no,when=Day").expect("a mapping");
    let both: [(Reader, &str); 2] = [(read_items, "items"), (read_log, "log")];
    let mut read = None;
    for (reader, kind) in both {
        for columns in [&Columns::new(), &mapped] {
            let mut book = Book::new(&PROGRAM);
            let done = Table::from_bytes(name, data).and_then(|t| reader(&mut book, t, columns, &LIMITS));
            if let Err(error) = &done {
                assert!(!error.code().is_empty() && !error.to_string().is_empty());
            }
            if kind == "log" {
                book.add_item(kitlore_engine::Item::new("C1", "camera")).expect("a new item");
            }
            let at = end_of(&book, "2026-06-30");
            checked_json(&book.standings(at));
            if kind == "log" && done.is_ok() {
                read = Some(book);
            }
        }
    }
    read
}

type Reader = fn(&mut Book, Table<'_>, &Columns, &Limits) -> Result<(), ReadError>;

/// How many lines of a log were used or reported, as far as problems are reported one by one.
fn accounted(book: &mut Book) -> Option<usize> {
    let at = end_of(book, "2026-06-30");
    let found = book.standings(at);
    if found.problems().iter().any(|problem| problem.code == "more-problems") {
        return None;
    }
    let unused = ["bad-time", "bad-number", "negative-amount", "until-before-when", "missing-event"];
    let unread = ["bad-json", "bad-text", "bad-value", "too-many-values"];
    let lines: BTreeSet<u32> = found
        .problems()
        .iter()
        .filter(|problem| unused.contains(&&*problem.code) || unread.contains(&&*problem.code))
        .filter_map(|problem| problem.place.as_ref().map(|place| place.line))
        .collect();
    Some(book.len() + lines.len())
}

pub(crate) fn csv(data: &[u8]) {
    let Some(mut book) = read("t.csv", data) else { return };
    // Where nothing is quoted, lines are rows: all but the first with something in it, and `sep=`.
    let Ok(text) = std::str::from_utf8(data) else { return };
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.contains('"') {
        return;
    }
    let filled = |line: &&str| line.split([',', ';', '\t']).any(|field| !field.trim().is_empty());
    let rows = text.split(['\n', '\r']).filter(filled).filter(|line| !line.starts_with("sep=")).count();
    if let Some(accounted) = accounted(&mut book) {
        assert!(accounted >= rows.saturating_sub(1), "{accounted} of {rows} lines are accounted for");
    }
}

pub(crate) fn jsonl(data: &[u8]) {
    let Some(mut book) = read("t.jsonl", data) else { return };
    let data = data.strip_prefix(b"\xef\xbb\xbf").unwrap_or(data);
    let lines = data.split(|byte| *byte == b'\n').filter(|line| !line.trim_ascii().is_empty()).count();
    if let Some(accounted) = accounted(&mut book) {
        assert!(accounted >= lines, "{accounted} of {lines} lines are accounted for");
    }
}
