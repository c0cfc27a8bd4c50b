//! The fourth stage: nodes to the tree, file by file.

mod detail;
mod example_lines;
mod file;
mod lowering;
mod reader;
mod section;
mod trigger;
mod values;

pub(crate) use detail::opening;
pub(crate) use file::File;
pub(crate) use lowering::{Lowering, Places};
pub(crate) use values::word;
