//! Standings: what the rules say of the entries of each item at an instant.

mod checkpoint;
mod clause;
mod delays;
pub(crate) mod evaluate;
mod filter;
mod fold;
mod kit_changes;
mod mark;
mod meters;
mod prepared;
mod profile;
mod reach;
#[cfg(feature = "serde")]
mod serial;
mod spans;
mod standings;
mod weights;

pub use clause::{Clause, Count, Part, UsageKey};
#[cfg(feature = "serde")]
pub use serial::JsonMinutes;
pub use standings::{Account, Awaited, Row, RuleText, Standings};

pub(crate) use checkpoint::Checkpoints;
pub(crate) use meters::Meter;
pub(crate) use prepared::Prepared;
pub(crate) use spans::Spans;
