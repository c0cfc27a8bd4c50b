//! Answers for people: in words, as pages, as a calendar file; and as the JSON of the command line.
//!
//! ```
//! # use kitlore::{Book, Entry, Item, Rules, When};
//! # let rules = Rules::parse("for cameras\n  after 2 lens changes, inspect sensor")?;
//! # let mut book = Book::new(&rules);
//! # book.add_item(Item::new("C1", "camera"))?;
//! # book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(2))?;
//! use kitlore::render::{Days, reasons, when};
//! let standings = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
//! let days = Days::new(&rules, standings.at());
//! let row = standings.rows().next().ok_or("a row")?;
//! assert_eq!(when(&row, &days), "since 2026-02-07, 1 day");
//! assert_eq!(reasons(&row, &days), ["2 of 2 lens changes, reached 2026-02-07"]);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#[cfg(feature = "calendar")]
pub use kitlore_render::calendar::CalendarFile;
pub use kitlore_render::words::{
    Days, amount_of, awaited, counted, did_you_mean, grouped, last_time, listed, minutes, next, plain,
    plain_lines, reasons, totals, usage, when, without_rule,
};
#[cfg(feature = "planning")]
pub use kitlore_render::words::{basis, calls, cause, note, too_little};
pub use kitlore_render::work::{WorkDetails, group, urgency};

/// Pages to print: one self-contained HTML page each.
#[cfg(feature = "page")]
pub mod page {
    pub use kitlore_render::page::{ahead, due, trip};
}

/// Forecasts and trips as serde values; standings and problems are such values themselves.
#[cfg(all(feature = "serde", feature = "planning"))]
pub mod json {
    pub use kitlore_render::json::{forecasts, trip};
}
