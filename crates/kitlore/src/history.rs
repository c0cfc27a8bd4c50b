//! What the log holds of an item: its entries, how much each counts for a rule, and what is planned.
//!
//! ```
//! # use kitlore::{Book, Entry, Item, Rules};
//! # let rules = Rules::parse("for cameras\n  after 20 lens changes, inspect sensor")?;
//! # let mut book = Book::new(&rules);
//! # book.add_item(Item::new("C1", "camera"))?;
//! use kitlore::history::Logged;
//! book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(12).condition("dust"))?;
//! let log: Vec<Logged> = book.history("C1");
//! assert_eq!((log[0].event.as_str(), log[0].conditions[0].as_str()), ("lens change", "dust"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub use kitlore_engine::{Expected, Logged, Planned, UsageKey, Use, Uses};
