//! Entries with borrowed fields, for hosts that read rows of their own one by one. Many entries at once are a
//! [`batch`](crate::batch).
//!
//! ```
//! # use kitlore::{Book, Item, Rules};
//! # let rules = Rules::parse("for cameras\n  after 20 lens changes, inspect sensor")?;
//! # let mut book = Book::new(&rules);
//! # book.add_item(Item::new("C1", "camera"))?;
//! use kitlore::fields::{Fields, Number, Time};
//! let source = book.source("host");
//! let entry = Fields {
//!     when: Time::Text("2026-02-07"),
//!     item: "C1",
//!     event: "lens change",
//!     amount: Number::Text("12"),
//!     ..Fields::default()
//! };
//! book.record_fields(&entry, Some((source, 1)))?;
//! assert_eq!(book.len(), 1);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub use kitlore_engine::{Fields, Number, SourceKey, Time};
