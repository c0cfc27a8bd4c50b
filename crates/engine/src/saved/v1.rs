//! Version 1 of a saved book.

mod form;
mod load;
mod save;

pub(super) use load::load;
pub(super) use save::save;
