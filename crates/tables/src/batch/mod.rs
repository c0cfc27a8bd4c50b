//! The one way into a book: cells of any table become columns, and columns are recorded as batches.

mod builder;
mod column;
mod points;
mod problems;
mod sink;
mod time_help;
mod value;

pub use value::Value;

pub(crate) use builder::Rows;
#[cfg(feature = "arrow")]
pub(crate) use builder::{read_number, share_of_percent};
pub(crate) use problems::unknown_heading;
pub(crate) use sink::Sink;
#[cfg(feature = "arrow")]
pub(crate) use sink::with_time_help;
pub(crate) use value::Row;
#[cfg(feature = "arrow")]
pub(crate) use value::{OwnedRow, fields};
