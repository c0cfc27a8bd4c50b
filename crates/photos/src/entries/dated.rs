//! An entry with the time by which the entries of all bodies are ordered.

use chrono::NaiveDateTime;
use kitlore_engine::Entry;

/// An entry and the local time of its first frame.
pub(crate) struct DatedEntry {
    pub at: NaiveDateTime,
    pub entry: Entry,
}
