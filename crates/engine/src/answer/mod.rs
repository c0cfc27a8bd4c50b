//! Standings: what the rules say of the entries of each item at an instant.

mod checkpoint;
mod delays;
pub(crate) mod evaluate;
mod filter;
mod fold;
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

pub use standings::{Account, Count, Part, Row, RuleText, Standings, UsageKey};

pub(crate) use checkpoint::Checkpoints;
pub(crate) use meters::Meter;
pub(crate) use prepared::Prepared;
pub(crate) use spans::Spans;
