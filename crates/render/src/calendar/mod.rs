//! Standings as an iCalendar file (RFC 5545): one task to do per row with a date.
//!
//! # Dates
//! The engine's due day is the first day on which a task is to be done, and the whole of that day (and of
//! what `allow` adds) is left to do it. RFC 5545 §3.6.2 reads `DUE;VALUE=DATE:20260502` as "before 2 May; at
//! midnight of 2 May it is overdue". So `DTSTART` is the due day and `DUE` the moment from which the row is
//! overdue or the item grounded, whichever is earlier: a task due on 1 May without `allow` starts on
//! 20260501 and is `DUE` 20260502. Where nothing is left between the two (`do not use until done`), `DUE`
//! stands alone. The description says the days in words, for programs that show `DUE` as a day to work on.
//!
//! Times that are 00:00 of a date in the house's zone are written as dates, all others in UTC, so that a file
//! needs no definitions of time zones.
//!
//! # Exporting again
//! The `UID` of a row is made of the house's name, the item's id and the task, and never of dates, so that a
//! later export updates what an earlier one brought in. `SEQUENCE`, `DTSTAMP` and `LAST-MODIFIED` are taken
//! from the instant of the standings, not from a clock: the same standings give the same bytes. A row that
//! was done and has no date now is written as completed, so that an earlier date does not stay open. A row
//! that is gone (its item retired, its rule removed) is not in the file at all: delete it by hand.
//!
//! ```
//! use kitlore_engine::{Book, Item, Program, When};
//! let rules = Program::parse("house \"Kestrel Yard\"\nfor cameras\n after 90 days, inspect sensor")?;
//! let mut book = Book::new(&rules);
//! book.add_item(Item::new("C1", "camera").received(chrono::NaiveDate::from_ymd_opt(2026, 1, 31).ok_or("a date")?))?;
//! let found = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
//! let file = kitlore_render::calendar::Calendar::of(&found).to_string();
//! assert!(file.contains("\r\nDTSTART;VALUE=DATE:20260501\r\n"));
//! assert!(file.contains("\r\nDUE;VALUE=DATE:20260502\r\n"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod file;
mod fold;
mod moment;
mod task;

pub use file::Calendar;
