//! What the tests of tables share: a book under fixed rules, and what it shows as plain lines.
#![allow(dead_code, reason = "each test file uses its share")]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

pub mod zips;

use kitlore_engine::{Book, Program};
use kitlore_syntax::When;
use kitlore_tables::{Columns, Limits, ReadError, Table, read_items, read_log};

/// The rules of every test: two tallies that show what was read.
pub const RULES: &str = "for cameras\n  after 1,000,000 lens changes, inspect sensor\n  after 1,000,000 lens changes in dust, clean sensor\n";

pub fn book() -> Book {
    Book::new(&Program::parse(RULES).unwrap())
}

pub fn items(book: &mut Book, name: &str, bytes: &[u8], columns: &Columns) -> Result<(), ReadError> {
    read_items(book, Table::from_bytes(name, bytes)?, columns, &Limits::default())
}

pub fn log(book: &mut Book, name: &str, bytes: &[u8], columns: &Columns) -> Result<(), ReadError> {
    read_log(book, Table::from_bytes(name, bytes)?, columns, &Limits::default())
}

/// Items, tallies and problems, one per line.
pub fn show(book: &mut Book) -> String {
    let mut lines = Vec::new();
    for item in book.items() {
        let mut line = format!("item {} | {}", item.id, item.kind);
        let dates = [("received", item.received), ("in_service", item.in_service), ("retired", item.retired)];
        for (name, date) in dates.iter().filter_map(|(name, date)| date.map(|date| (name, date))) {
            line += &format!(" | {name} {date}");
        }
        for kit in &item.kits {
            line += &format!(" | kit {kit}");
        }
        if let Some(model) = &item.model {
            line += &format!(" | model {model}");
        }
        for (heading, value) in &item.attributes {
            line += &format!(" | {heading}: {value}");
        }
        lines.push(line);
    }
    if !book.is_empty() {
        lines.push(format!("entries {}", book.len()));
    }
    let at = book.program().when_is_over(When::parse("2027-01-01").unwrap());
    let found = book.standings(at);
    for row in found.rows() {
        for account in row.rules() {
            for part in account.parts() {
                let count = part.count.map(|count| count.to_string()).unwrap_or_default();
                if count != "0" {
                    let tail = part.text.trim_start_matches("1,000,000 ");
                    lines.push(format!("{}: {count} {tail}", row.item));
                }
            }
        }
    }
    for problem in found.problems() {
        let place = problem.place.as_ref().map(|place| format!("{}:{}", place.source, place.line));
        let meant = problem.meant.as_ref().map(|meant| format!(" [meant {meant}]")).unwrap_or_default();
        lines.push(format!("{} {}: {}{meant}", place.unwrap_or_default(), problem.code, problem.message()));
    }
    lines.iter().map(|line| format!("{line}\n")).collect()
}
