//! Maintenance rules for working photographers: house rules as text, the equipment, a log of what happened
//! in; what is due on which item, and why, out.
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
//! # let told: Vec<String> = found.rows().map(|row| format!("{} {} {:?}", row.item, row.task, row.standing)).collect();
//! # assert_eq!(told, ["C1 inspect sensor Due"]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # How it fits together
//! [`Rules`] is a compiled rule text: immutable, cheap to clone, shared by any number of threads. A [`Book`]
//! holds the items and the log under one set of rules. [`Book::standings`] says how every item stands with
//! every task at an [`Instant`]; each [`Row`] explains itself through [`Row::rules`], down to the line of the
//! rule and the entry that tipped it.
//!
//! A program that records as things happen asks with [`Book::standing`] for one item: that costs what the
//! item's own entries cost, however large the book, and of an item of long history only what is new.
//!
//! Nothing here reads files, the clock or the environment: the host passes the instant, and a [`Loader`]
//! where a rule text includes others. What in the inventory or the log cannot be used is no error but a
//! [`Problem`] beside the answer, with its place and the name that was probably meant.
//!
//! Several mistakes of a rule text come as one [`Diagnostics`]:
//!
//! ```
//! let mistakes = kitlore::Rules::parse("for cameras\n  every other week, wipe body\n  after 90, look").unwrap_err();
//! assert_eq!(mistakes.list.len(), 2);
//! assert_eq!(mistakes.sources.line_column(mistakes.list[0].span).0, 2);
//! ```
//!
//! # Features
//! None is on by default, and the default build parses and answers.
//!
//! | feature | adds |
//! |---|---|
//! | `serde` | `Serialize` for [`Standings`], [`Row`], [`Problem`], in the shape of the command line's JSON |
//! | `saved` | `Book::save` and `Book::load`: a book in a file, to be loaded under any rules |
//! | `tables` | the module `tables`: inventories and logs from csv and jsonl, appending, rules from a folder |
//! | `xlsx` | workbooks as well |
//! | `planning` | the module `planning`: when use will bring a task due, and what a trip needs |
//! | `render` | the module `render`: why a row stands as it does, what happens next, as a screen says it; with `planning`, forecasts and trips too; with `serde` as well, their JSON |
//! | `page` | `render::page`: standings, forecasts and trips as HTML pages to print |
//! | `calendar` | `render::Calendar`: standings as an iCalendar file |
//! | `photos` | the module `photos`: frames, shooting days and lens changes read off pictures |
//!
//! # Untrusted input
//! Rule texts and tables may come from anyone. No text makes this crate panic, and reading stays linear in
//! its length. Each bound has an error of its own:
//!
//! | of rule texts | at most |
//! |---|---|
//! | a file | 4 MiB |
//! | a statement with the lines it goes on over | 64 KiB |
//! | brackets in brackets | 64 |
//! | rules of a house, includes and all | 100,000 |
//! | files of a house; includes in a row; mistakes told at once | 1,000; 32; 100 |
//! | kinds that are narrower than others; tasks that cover others | 1,000 each |
//!
//! Amounts are exact decimals that refuse to overflow; dates end with the year 9999. An `include` reaches only
//! what the host's [`Loader`] gives; the loader for folders stays inside the folder of the first file. Tables
//! are read within `tables::Limits` (the length of a row, the number of columns and of problems told), a
//! workbook after a look at what it would unpack to. A book grows with its log: a host that takes logs from
//! strangers bounds their size. Ids, names and notes are passed on as they were written: a host that prints
//! them guards its own medium (a terminal, a spreadsheet, a page) as it would with any foreign text.

pub use kitlore_engine::{
    Account, Amount, Book, Entry, Instant, Item, Part, Place, Problem, Program as Rules, Row, Standing,
    Standings, When,
};
#[cfg(feature = "saved")]
pub use kitlore_engine::{LoadError, SaveError};
pub use kitlore_syntax::{Diagnostics, Loader};

/// What a rule text says and what is wrong in it: the tree, spans, diagnostics, the canonical layout.
pub mod language {
    pub use kitlore_engine::Failure;
    pub use kitlore_syntax::codes::Code;
    pub use kitlore_syntax::{
        Diagnostic, Loaded, Name, NoIncludes, Severity, Source, SourceId, Sources, Span, closest, key, tidy,
        tree,
    };
}

/// The smaller parts of an answer.
pub mod answer {
    pub use kitlore_engine::{Clause, Count, RuleText, UsageKey};
}

/// Entries with borrowed fields, for hosts that read tables of their own.
pub mod fields {
    pub use kitlore_engine::{Fields, Number, SourceKey, Time};
}

/// Inventories and logs from files, appending to a log, rules from a folder.
#[cfg(feature = "tables")]
pub mod tables {
    pub use kitlore_tables::*;
}

/// Looking ahead: when use will bring a task due, and what a trip needs before, on the way and in the bag.
#[cfg(feature = "planning")]
pub mod planning {
    pub use kitlore_planning::{
        AtHand, Basis, BeforeTask, Cause, Chance, ChanceBy, Counted, DailyUse, FollowUp, Forecast, Forecasts,
        GammaPoisson, HeldBy, Journey, KnownUse, LeftAtHome, Note, Options, Packed, Plan, Reason, ReturnTask,
        RulePart, Task, Trip, TripAsk, TripEntry, TripError, TripItem, UnknownName, WayTask, forecast,
        time_at_rate, trip,
    };
}

/// Answers for people: in words, as pages, as a calendar file; and as the JSON of the command line.
#[cfg(feature = "render")]
pub mod render {
    #[cfg(feature = "calendar")]
    pub use kitlore_render::calendar::Calendar;
    pub use kitlore_render::words::{
        Days, amount_of, counted, did_you_mean, grouped, last_time, listed, minutes, next, plain,
        plain_lines, reasons, totals, usage, when, without_rule,
    };
    #[cfg(feature = "planning")]
    pub use kitlore_render::words::{basis, calls, cause, note, too_little};
    pub use kitlore_render::work::{WorkDetails, group, urgency};

    /// One self-contained HTML page each.
    #[cfg(feature = "page")]
    pub mod page {
        pub use kitlore_render::page::{ahead, due, trip};
    }

    /// Forecasts and trips as serde values; standings and problems are such values themselves.
    #[cfg(all(feature = "serde", feature = "planning"))]
    pub mod json {
        pub use kitlore_render::json::{forecasts, trip};
    }
}

/// Pictures as a log: frames, shooting days and lens changes read off their metadata.
#[cfg(feature = "photos")]
pub mod photos {
    pub use kitlore_photos::*;
}

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
