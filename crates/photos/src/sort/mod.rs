//! Sorting of more records than memory should hold.

mod codec;
mod sorter;
mod spill;

pub(crate) use codec::{Codec, codec};
pub(crate) use sorter::{Record, Sorted, Sorter};
pub use spill::{SpillError, SpillOptions};
