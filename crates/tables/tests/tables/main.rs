//! Tables of every format: cases, hostile files, appending, frames.

mod common;

mod append;
mod arrow;
mod cases;
mod hostile;
mod rules;
mod workbooks;
