//! Inventories and logs from files and rows, appending to a log, rules from a folder.
//!
//! ```
//! # use kitlore::{Book, Rules, When};
//! use kitlore::tables::{Columns, Limits, Table, read_items, read_log};
//! let rules = Rules::parse("for cameras\n  after 20 lens changes, inspect sensor")?;
//! let mut book = Book::new(&rules);
//! let (columns, limits) = (Columns::parse("item=Camera")?, Limits::default());
//! let items = Table::from_bytes("items.csv", b"id,kind\nC1,camera\n")?;
//! read_items(&mut book, items, &columns, &limits)?;
//! let log = Table::from_bytes("log.csv", b"when,Camera,event,amount\n2026-02-07,C1,lens change,20\n")?;
//! read_log(&mut book, log, &columns, &limits)?;
//! let standings = book.standings(rules.when_is_over(When::parse("2026-02-08")?));
//! assert_eq!(standings.rows().next().map(|row| row.standing.word()), Some("overdue"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Files are opened with [`Table::open`], a folder of rules with [`load_rules`]. With the feature `arrow`,
//! `read_batches` reads record batches; rows of a host's own go through [`HostRows`].

#[cfg(feature = "xlsx")]
pub use kitlore_tables::WorkbookRows;
pub use kitlore_tables::{
    AppendError, Columns, ColumnsError, Field, FolderLoader, Format, HostRows, Kind, Limits, ReadError,
    RulesFileError, Table, Value, append_entries, append_entry, check_append, load_rules, read_items,
    read_log, wanted_columns,
};
#[cfg(feature = "arrow")]
pub use kitlore_tables::{RecordBatchReader, read_batches};
