//! Everything a question is about.

use super::clock::{Clock, Instant};
use super::items::Item;
use super::records::Entry;
use kitlore_syntax::tree::House;
use std::collections::BTreeSet;

/// Everything a question is about.
pub struct World<'a> {
    /// The rules.
    pub house: &'a House,
    /// Keys of the tasks.
    pub tasks: BTreeSet<String>,
    /// The zone.
    pub clock: Clock,
    /// The inventory.
    pub items: Vec<Item>,
    /// The log in time order, without what is unreadable, doubled or voided.
    pub entries: Vec<Entry>,
    /// The instant asked about.
    pub at: Instant,
    /// Whether the asker says that it is now.
    pub now: bool,
}
