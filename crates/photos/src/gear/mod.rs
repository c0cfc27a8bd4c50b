//! Bodies and lenses: which item of the inventory each is.

mod lens;
mod matching;
mod unmatched;

pub(crate) use lens::{Lens, is_another, label, of_label};
pub(crate) use matching::{Match, matched};
pub use unmatched::Unmatched;
pub(crate) use unmatched::UnmatchedCounts;
