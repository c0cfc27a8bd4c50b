//! Maintenance rules for working photographers. In go house rules as text, the equipment, and a log of what
//! happened; out comes what is due on which item, and why.
//!
//! ```
//! use kitlore::{Entry, Item, When, date};
//!
//! let rules = kitlore::Rules::parse("for cameras\n after 20 lens changes in dust or 90 days, inspect sensor")?;
//! let mut book = kitlore::Book::new(&rules);
//! book.add_item(Item::new("C1", "camera").received(date!(2026-01-10)))?;
//! book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(12).condition("dust"))?;
//! book.record(Entry::new("2026-02-08", "lens change").item("C1").amount(8).condition("dust"))?;
//!
//! let at = rules.when_is_over(When::parse("2026-02-08")?);
//! for row in book.standings(at).rows() { println!("{} {} {:?}", row.item, row.task, row.standing); }
//! # let found = book.standings(at);
//! # let rows: Vec<String> = found.rows().map(|row| format!("{} {} {:?}", row.item, row.task, row.standing)).collect();
//! # assert_eq!(rows, ["C1 inspect sensor Due"]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # How it fits together
//! [`Rules`] is a compiled rule text: immutable, cheap to clone, shared by any number of threads. A [`Book`]
//! holds the items and the log under one set of rules. [`Book::standings`] gives the standing of every item
//! with every task at an [`Instant`]; each [`Row`] explains itself through [`Row::rules`], down to the line of the
//! rule and the entry that tipped it.
//!
//! A program that records as things happen asks for one item with [`Book::standing`]. The cost depends on the
//! entries of that item alone, however large the book, and where its history is long only on what is new.
//!
//! Nothing here reads files, the clock or the environment: the host passes the instant, and a [`Loader`]
//! where a rule text includes others. Whatever in the inventory or the log cannot be used is not an error but a
//! [`Problem`] beside the answer, with its place and the name that was probably meant.
//!
//! All mistakes in a rule text are reported at once, as [`Diagnostics`]:
//!
//! ```
//! let mistakes = kitlore::Rules::parse("for cameras\n  every other week, wipe body\n  after 90, look").unwrap_err();
//! assert_eq!(mistakes.list.len(), 2);
//! assert_eq!(mistakes.sources.line_column(mistakes.list[0].span).0, 2);
//! ```
//!
//! # Features
//! None is on by default; the default build parses rules and answers from a book.
//!
//! | feature | adds |
//! |---|---|
//! | `serde` | `Serialize` for [`Standings`], [`Row`], [`Problem`], in the shape of the command line's JSON |
//! | `saved` | `Book::save` and `Book::load`: a book in a file, which can be loaded under any rules |
//! | `tables` | the module `tables`: inventories and logs from csv and jsonl, appending, rules from a folder |
//! | `xlsx` | workbooks as well |
//! | `arrow` | record batches of the Arrow format as well |
//! | `planning` | the module `planning`: when use will bring a task due, and what a trip needs |
//! | `render` | the module `render`: answers in words; with `planning`, forecasts and trips too, and with `serde` also their JSON |
//! | `page` | `render::page`: standings, forecasts and trips as HTML pages to print |
//! | `calendar` | `render::CalendarFile`: standings as an iCalendar file |
//! | `photos` | the module `photos`: frames, shooting days and lens changes from pictures |
//!
//! # Untrusted input
//! Rule texts and tables may come from anyone. No text makes this crate panic, and the time to read one grows
//! linearly with its length. Each limit has an error of its own:
//!
//! | of rule texts | at most |
//! |---|---|
//! | a file | 4 MiB |
//! | a statement with its continuation lines | 64 KiB |
//! | nested brackets | 64 |
//! | rules of a house, includes and all | 100,000 |
//! | files of a house; nested includes; mistakes reported at once | 1,000; 32; 100 |
//! | kinds that are narrower than others; tasks that cover others | 1,000 each |
//!
//! Amounts are exact decimals that refuse to overflow; dates end with the year 9999. An `include` reaches only
//! what the host's [`Loader`] gives; the loader for folders stays inside the folder of the first file. Tables
//! are read within `tables::Limits` (the length of a row, the number of columns and of problems reported), a
//! workbook only after its unpacked size is known. A book grows with its log: a host that takes logs from
//! strangers limits their size. Ids, names and notes are passed on as written: a host that prints them protects
//! its own medium (a terminal, a spreadsheet, a page) as it would from any foreign text.

pub use kitlore_engine::{
    Account, Amount, Argument, Book, CodeWord, Entry, Instant, Item, Part, Place, Problem, Program as Rules,
    Row, Standing, Standings, When,
};
#[cfg(feature = "saved")]
pub use kitlore_engine::{LoadError, SaveError};
pub use kitlore_syntax::{AmountError, Diagnostics, Loader, WhenError};

pub mod answer;
pub mod batch;
pub mod codes;
pub mod fields;
pub mod history;
pub mod language;
#[cfg(feature = "photos")]
pub mod photos;
#[cfg(feature = "planning")]
pub mod planning;
#[cfg(feature = "render")]
pub mod render;
#[cfg(feature = "tables")]
pub mod tables;
pub mod time;

/// A date, checked when the program is compiled.
///
/// ```
/// assert_eq!(kitlore::date!(2026-02-08).to_string(), "2026-02-08");
/// ```
///
/// ```compile_fail
/// kitlore::date!(2026-02-30);
/// ```
#[macro_export]
macro_rules! date {
    ($year:literal - $month:literal - $day:literal) => {
        const { $crate::written_date(stringify!($year - $month - $day)) }
    };
}

/// The date of a text such as `2026 - 01 - 10`, for [`date!`].
///
/// As text and not as numbers, which lints take for octal where they begin with a zero.
#[doc(hidden)]
#[expect(clippy::panic, reason = "called when a program is compiled: a panic is then its compile error")]
pub const fn written_date(text: &str) -> NaiveDate {
    let mut parts = [0_u32; 3];
    let (mut bytes, mut dashes) = (text.as_bytes(), 0);
    while let [byte, rest @ ..] = bytes {
        let [year, month, day] = &mut parts;
        let part = match dashes {
            0 => year,
            1 => month,
            _ => day,
        };
        match byte {
            b'0'..=b'9' if *part < 100_000 => *part = *part * 10 + (*byte - b'0') as u32,
            b'-' => dashes += 1,
            b' ' => {}
            _ => panic!("no date; write year, month and day, such as 2026-03-01"),
        }
        bytes = rest;
    }
    let [year, month, day] = parts;
    match NaiveDate::from_ymd_opt(year as i32, month, day) {
        Some(date) => date,
        None => panic!("no such date; write year, month and day, such as 2026-03-01"),
    }
}

/// For [`date!`], and for hosts that make dates themselves.
#[doc(no_inline)]
pub use chrono::NaiveDate;

/// The Rust of the repository's front page, run as a test.
#[cfg(doctest)]
#[doc = include_str!("../../../README.md")]
struct FrontPage;
