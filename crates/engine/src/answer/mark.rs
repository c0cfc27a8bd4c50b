//! An entry that tipped something, and when.

use crate::time::Instant;

/// An entry, by its order of record, and when it counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Mark {
    pub at: Instant,
    pub seq: u32,
}
