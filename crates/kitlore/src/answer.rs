//! The smaller parts of an answer: the text of a rule, counts, what a part counts, items that are not there yet.
//!
//! ```
//! # use kitlore::{Book, Entry, Item, Rules, When};
//! # let rules = Rules::parse("for cameras\n  after 20 lens changes, inspect sensor")?;
//! # let mut book = Book::new(&rules);
//! # book.add_item(Item::new("C1", "camera"))?;
//! # book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(12))?;
//! use kitlore::answer::{Count, RuleText};
//! let standings = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
//! let row = standings.rows().next().ok_or("a row")?;
//! let account = row.rules().next().ok_or("a rule")?;
//! let rule: RuleText<'_> = account.rule;
//! assert_eq!((rule.line, rule.text), (2, "after 20 lens changes, inspect sensor"));
//! let count: Option<Count> = account.parts()[0].count;
//! assert_eq!(count.map(|count| count.to_string()).as_deref(), Some("12"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

pub use kitlore_engine::{Awaited, Clause, Count, RuleText, UsageKey};
