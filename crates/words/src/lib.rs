//! Standings in words, once for every screen, page and calendar: why a row stands as it does, since when,
//! what happens next, dates and lengths as people say them. Internal to kitlore; use the `kitlore` crate.
//!
//! ```
//! use kitlore_engine::{Book, Entry, Item, Program, When};
//! let rules = Program::parse("for cameras\n after 2 lens changes, inspect sensor")?;
//! let mut book = Book::new(&rules);
//! book.add_item(Item::new("C1", "camera"))?;
//! book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(2))?;
//! let found = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
//! let days = kitlore_words::Days::new(&rules, found.at());
//! let row = found.rows().next().ok_or("a row")?;
//! assert_eq!(kitlore_words::reasons(&row, &days), ["2 of 2 lens changes, reached 2026-02-07"]);
//! assert_eq!(kitlore_words::when(&row, &days), "since 2026-02-07, 1 day");
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod close;
mod next;
mod plain;
mod reasons;
mod row;
mod say;

pub use close::did_you_mean;
pub use kitlore_syntax::closest;
pub use next::next;
pub use plain::{plain, plain_lines};
pub use reasons::{Told, cause, counting, is_undated, reasons, told_limit_parts, told_parts, usage};
pub use row::{last_time, totals, when, without_rule};
pub use say::{Days, amount_of, billionths, counted, grouped, listed, minutes};
