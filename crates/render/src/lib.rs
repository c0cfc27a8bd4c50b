//! Answers for people and for other programs: in words, as pages to print, as a calendar file, as JSON.
//!
//! Sentences are made here and nowhere below. Internal to kitlore; use the `kitlore` crate.
//!
//! ```
//! use kitlore_engine::{Book, Entry, Item, Program, When};
//! use kitlore_render::words::{Days, reasons, when};
//! let rules = Program::parse("for cameras\n after 2 lens changes, inspect sensor")?;
//! let mut book = Book::new(&rules);
//! book.add_item(Item::new("C1", "camera"))?;
//! book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(2))?;
//! let found = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
//! let days = Days::new(&rules, found.at());
//! let row = found.rows().next().ok_or("a row")?;
//! assert_eq!(reasons(&row, &days), ["2 of 2 lens changes, reached 2026-02-07"]);
//! assert_eq!(when(&row, &days), "since 2026-02-07, 1 day");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

#[cfg(feature = "calendar")]
pub mod calendar;
#[cfg(all(feature = "serde", feature = "planning"))]
pub mod json;
#[cfg(feature = "page")]
pub mod page;
pub mod words;
pub mod work;
