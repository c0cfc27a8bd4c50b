//! Standings, forecasts and trips as one self-contained HTML page: a work sheet to print, to read on a phone, to tick.
//!
//! A page is one text: its style and drawings stand in it, it asks nothing of a network and runs no script.
//! All foreign text is escaped by the template library. It reads in black and white: every standing has a
//! word and a shape, and no meaning depends on colour. Cautions stand with their tasks and are always printed.
//!
//! ```
//! use kitlore_engine::{Book, Entry, Item, Program, When};
//! let rules = Program::parse("for cameras\n after 2 lens changes, inspect sensor\n  caution \"Charged battery <only>.\"")?;
//! let mut book = Book::new(&rules);
//! book.add_item(Item::new("C1", "camera"))?;
//! book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(2))?;
//! let found = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
//! let page = kitlore_render::page::due(&found, false);
//! assert!(page.starts_with("<!DOCTYPE html>"));
//! assert!(page.contains("2 of 2 lens changes, reached "));
//! assert!(page.contains("Charged battery &lt;only&gt;."));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod ahead;
mod due;
mod frame;
mod mark;
mod row;
mod timeline;
mod trip;
mod work_table;

pub use ahead::ahead;
pub use due::due;
pub use trip::trip;
