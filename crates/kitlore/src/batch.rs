//! Many entries at once, as columns whose names are looked up once: the fastest way into a book.
//!
//! ```
//! # use kitlore::{Book, Item, Rules, When};
//! # use std::num::NonZeroUsize;
//! # let rules = Rules::parse("for cameras\n  after 20 lens changes, inspect sensor")?;
//! # let mut book = Book::new(&rules);
//! # book.add_item(Item::new("C1", "camera"))?;
//! use kitlore::batch::{Amounts, Batch, Keys, Ticks, Times};
//! let when = Times::Instants(Ticks::Seconds(&[1_770_000_000, 1_770_000_060]));
//! let entries = Batch {
//!     item: Keys::One(book.item_key("C1")),
//!     amount: Amounts::Whole(&[12, 8]),
//!     ..Batch::new(when, Keys::One(book.event_key("lens change")))
//! };
//! assert!(book.record_batches(&[entries], NonZeroUsize::MIN).is_empty());
//! let standings = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
//! assert_eq!(standings.rows().next().map(|row| row.standing.word()), Some("overdue"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub use kitlore_engine::batch::Batch;
pub use kitlore_engine::columns::{Amounts, Codes, Ends, Keys, Lines, Refused, Texts, Ticks, Times};
pub use kitlore_engine::{
    ConditionsKey, EventKey, ExpectKey, FindingsKey, ItemKey, ReferenceKey, SourceKey, UnitKey, parse_expect,
};
