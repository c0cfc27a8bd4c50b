//! The ledger: items and entries as they were recorded, without what rules make of them.
//!
//! A log is a set in time order: nothing here depends on the order in which entries arrive, but that entries of
//! the same instant keep their order of record.

pub mod batch;
mod block;
mod clock;
pub mod columns;
mod corrections;
mod dates;
mod entries;
mod expect;
mod facts;
mod groups;
mod input;
mod inventory;
mod item;
mod keys;
mod kits;
mod ledger;
mod lexicon;
mod membership;
mod merge;
mod places;
mod read;
mod row;
mod sets;
mod sources;
mod sparse;
mod spellings;
mod store;
mod take;
mod text_pool;
mod written;

pub use expect::parse_expect;
pub use input::{Entry, Fields, Item, Number, Time};
pub use keys::{ConditionsKey, EventKey, ExpectKey, FindingsKey, ItemKey, ReferenceKey, SourceKey, UnitKey};

pub(crate) use corrections::Fate;
pub(crate) use entries::{
    DATED, ENDS_DATED, EntrySpan, Extra, FOR_GROUP, FOR_KIT, Fact, Line, Moment, READING, VOIDED,
};
pub(crate) use facts::Order;
pub(crate) use groups::{Counted, Groups};
pub(crate) use ledger::Ledger;
pub(crate) use membership::{Member, Naming, NotUsed};
pub(crate) use merge::first_tick;
pub(crate) use sets::NameSets;
pub(crate) use store::{EVERY_ITEM, NO_NAME};
pub(crate) use written::Why;

#[cfg(feature = "saved")]
pub(crate) use self::{
    entries::STATED, expect::Expect, item::ItemRecord, lexicon::Lexicon, row::Row, written::Unfiled,
};
