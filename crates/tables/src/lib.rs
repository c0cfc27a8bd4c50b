//! Files for kitlore: inventories and logs in csv, jsonl and xlsx, appending to a log, rules from a folder.
//!
//! Internal to kitlore; use the `kitlore` crate.
//!
//! # Tables
//! [`read_items`] and [`read_log`] put a [`Table`] into a book. Its first row (of jsonl: its keys) says
//! what the columns mean, by the names of [`Field`] or through [`Columns`]. What cannot be used is
//! reported to the book with file and line, and the rest is read; only a table that cannot be read at all
//! is a [`ReadError`]. Lines are counted from 1, the headings included; in a workbook they are its rows.
//!
//! Dates are `2026-03-01`, also as the date cells of a workbook; `1.3.2026` and `03/01/2026` are never
//! guessed. A date cell at 00:00 is a date alone. Rows without any value are passed over.
//!
//! # Untrusted input
//! [`Limits`] bounds what is read. csv and jsonl are read as streams that hold one row at a time, a log some
//! blocks and the numbers of its rows, a workbook cell by cell after a look at what it would unpack to.
//!
//! # Threads
//! A large log in csv or jsonl is read by as many threads as [`Table::on_threads`] says, by default one. What is
//! read, and every problem with its line, is the same for any number of them.
//!
//! # Features
//! `csv`, `jsonl`, `xlsx`, all on by default. Appending needs `csv` and `jsonl`. `arrow` adds record batches
//! ([`read_batches`]); a host with rows of its own brings them through [`HostRows`].

#![cfg_attr(
    not(all(feature = "csv", feature = "jsonl", feature = "xlsx")),
    allow(dead_code, unused_mut, reason = "each format uses its share of what all of them need")
)]

#[cfg(all(feature = "csv", feature = "jsonl"))]
mod append;
#[cfg(feature = "arrow")]
mod arrow;
mod batch;
#[cfg(any(feature = "csv", feature = "jsonl", feature = "arrow"))]
mod blocks;
pub mod codes;
#[cfg(feature = "csv")]
mod csv;
mod error;
mod host_rows;
#[cfg(feature = "jsonl")]
mod jsonl;
mod limits;
mod mapping;
mod path;
mod rules_file;
mod table;
#[cfg(any(feature = "csv", feature = "jsonl"))]
mod window;
mod wording;
#[cfg(feature = "xlsx")]
mod xlsx;

#[cfg(all(feature = "csv", feature = "jsonl"))]
pub use append::{AppendError, append_entries, append_entry, check_append};
#[cfg(feature = "arrow")]
pub use arrow::read_batches;
pub use batch::Value;
pub use error::ReadError;
pub use host_rows::{HostRows, wanted_columns};
pub use limits::Limits;
pub use mapping::{Columns, ColumnsError, Field, Kind};
pub use path::Format;
pub use rules_file::{FolderLoader, RulesFileError, load_rules};
pub use table::{Table, read_items, read_log};
#[cfg(feature = "xlsx")]
pub use xlsx::WorkbookRows;
