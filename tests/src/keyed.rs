//! One entry by the keys of its names: a batch of one.

use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Amounts, Keys, Lines, Times};
use kitlore_engine::{Amount, Book, ConditionsKey, EventKey, ItemKey, Problem, SourceKey, When};
use std::num::NonZeroUsize;

/// An entry with no more than these fields.
#[derive(Debug, Clone, Copy)]
pub struct Keyed {
    /// When it happened.
    pub when: When,
    /// What happened.
    pub event: EventKey,
    /// For what.
    pub item: ItemKey,
    /// How much.
    pub amount: Option<Amount>,
    /// Under which conditions.
    pub conditions: ConditionsKey,
}

impl Keyed {
    /// Records it.
    ///
    /// # Errors
    /// As for any entry.
    pub fn record(self, book: &mut Book, place: Option<(SourceKey, u32)>) -> Result<(), Problem> {
        let when = [self.when];
        let batch = Batch {
            item: Keys::One(self.item),
            amount: Amounts::Each(&[self.amount]),
            conditions: Keys::One(self.conditions),
            place: place.map(|(source, line)| (source, Lines::From(line))),
            ..Batch::new(Times::Each(&when), Keys::One(self.event))
        };
        let refused = book.record_batches(&[batch], NonZeroUsize::MIN);
        refused.into_iter().next().map_or(Ok(()), |refused| Err(refused.problem))
    }
}
