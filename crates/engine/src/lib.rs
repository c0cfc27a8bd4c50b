//! The meaning of kitlore: compiled rules, the book of items and entries, standings.
//!
//! Everything is a function of the rules, the inventory, the log and the instant asked for. This crate reads
//! no files, no clock and no environment. Internal to kitlore; use the `kitlore` crate.

#![cfg_attr(
    not(feature = "saved"),
    allow(dead_code, reason = "some of what a book keeps only a saved one needs")
)]

mod book;
mod bulk;
mod cabinet;
mod checkpoint;
mod clock;
pub mod codes;
pub mod columns;
mod compile;
mod conditions;
mod delays;
mod evaluate;
mod example;
mod expect;
mod facts;
mod filing;
mod filter;
mod filter_slips;
mod fold;
mod history;
mod identity;
mod input;
mod kept;
mod line;
mod names;
mod places;
mod plans;
mod problem;
mod profile;
mod program;
mod reach;
mod read;
mod recurrence;
mod reports;
#[cfg(feature = "saved")]
mod saved;
#[cfg(feature = "serde")]
mod serial;
mod sources;
mod spans;
mod standings;
mod time;

pub use book::{Book, ConditionsKey, EventKey, ItemKey, Keyed, SourceKey};
pub use example::Failure;
pub use expect::parse_expect;
pub use history::{Expected, Logged, UsageKey, Use, Uses};
pub use input::{Entry, Fields, Item, Number, Time};
pub use kitlore_syntax::tree::Standing;
pub use kitlore_syntax::{Amount, When};
pub use plans::Planned;
pub use problem::{Place, Problem};
pub use program::Program;
#[cfg(feature = "saved")]
pub use saved::{LoadError, SaveError};
pub use standings::{Account, Clause, Count, Part, Row, RuleText, Standings};
pub use time::Instant;
