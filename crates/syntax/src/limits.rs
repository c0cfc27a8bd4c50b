//! How much a rule text may hold, so that no input costs more than its size is worth.

/// Bytes of one file.
pub(crate) const FILE_BYTES: usize = 4 * 1024 * 1024;
/// Bytes of one logical line.
pub(crate) const LINE_BYTES: usize = 64 * 1024;
/// Brackets within brackets.
pub(crate) const NESTING: usize = 64;
/// Rules of a house, with all it includes.
pub(crate) const RULES: usize = 100_000;
/// Statements `a … is a …`, and tasks named after `covers`: what follows from them grows with their square.
pub(crate) const LINKS: usize = 1_000;
/// Bytes that are read again, in all, to try corrections; a larger house is read once.
pub(crate) const READ_AGAIN: usize = 1024 * 1024;
/// Mistakes shown at once.
pub(crate) const MISTAKES: usize = 100;
/// Files of a house.
pub(crate) const FILES: usize = 1_000;
/// Files that include one another in a row.
pub(crate) const INCLUDES: usize = 32;
