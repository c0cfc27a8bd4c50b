//! The meaning of kitlore: compiled rules, the book of items and entries, standings.
//!
//! Everything is a function of the rules, the inventory, the log and the instant asked for. This crate reads
//! no files, no clock and no environment. Internal to kitlore; use the `kitlore` crate.

#![cfg_attr(
    not(feature = "saved"),
    allow(dead_code, reason = "some of what a ledger keeps only a saved one needs")
)]

mod answer;
mod book;
pub mod codes;
mod example;
mod history;
mod log;
mod names;
mod plans;
mod problem;
mod report;
mod rules;
#[cfg(feature = "saved")]
mod saved;
mod time;

#[cfg(feature = "serde")]
pub use answer::JsonMinutes;
pub use answer::{Account, Awaited, Clause, Count, Part, Row, RuleText, Standings, UsageKey};
pub use book::Book;
pub use example::Failure;
pub use history::{Expected, Logged, Use, Uses};
pub use kitlore_syntax::tree::Standing;
pub use kitlore_syntax::{Amount, CodeWord, When};
pub use log::{
    ConditionsKey, Entry, EventKey, ExpectKey, Fields, FindingsKey, Item, ItemKey, Number, ReferenceKey,
    SourceKey, Time, UnitKey, parse_expect,
};
pub use log::{batch, columns};
pub use plans::Planned;
pub use problem::{Argument, Place, Problem};
pub use rules::Program;
#[cfg(feature = "saved")]
pub use saved::{LoadError, SaveError};
pub use time::Instant;
