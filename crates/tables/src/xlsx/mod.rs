//! Inventories and logs in a workbook.

mod guard;
mod rows;
mod sheet;

pub use rows::WorkbookRows;

pub(crate) use sheet::read;
