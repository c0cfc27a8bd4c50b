//! What the columns of a table mean: fields, and other people's headings.

mod columns;
mod field;
mod layout;
mod words;

pub use columns::{Columns, ColumnsError};
pub use field::{Field, Kind};

pub(crate) use field::COUNT;
pub(crate) use layout::{Doubt, Headings, Layout, Meaning};
