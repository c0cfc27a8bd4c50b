//! Looking ahead: when use will bring a task due, and what a trip needs before, on the way and in the bag.
//!
//! ```
//! # use kitlore::{Book, Entry, Item, Rules, When};
//! use kitlore::planning::{Options, forecast};
//! let rules = Rules::parse("for cameras\n  after 90 days, inspect sensor")?;
//! let mut book = Book::new(&rules);
//! book.add_item(Item::new("C1", "camera"))?;
//! book.record(Entry::new("2026-02-07", "inspect sensor").item("C1"))?;
//! let at = rules.when_is_over(When::parse("2026-04-01")?);
//! let ahead = forecast(&mut book, at, &Options { days: 60, ..Options::default() });
//! let row = ahead.get("C1", "inspect sensor").ok_or("a row")?;
//! assert_eq!(row.p50.map(|date| date.to_string()).as_deref(), Some("2026-05-08"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Answers are values; the module `render` puts them into words.

pub use kitlore_planning::{
    AtHand, Basis, BeforeTask, Cause, Chance, ChanceBy, Counted, DailyUse, FollowUp, Forecast, Forecasts,
    GammaPoisson, HeldBy, Journey, KnownUse, LeftAtHome, Note, Options, Packed, Plan, Reason, ReturnTask,
    RulePart, Trip, TripAsk, TripEntry, TripError, TripItem, TripTask, UnknownName, WayTask, forecast,
    time_at_rate, trip,
};
