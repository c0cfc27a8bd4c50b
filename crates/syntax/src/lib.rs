//! The kitlore rule language: text → checked tree, all mistakes at once, canonical layout.
//!
//! Internal to kitlore; use the `kitlore` crate.

mod amount;
mod check;
#[macro_use]
mod code_word;
pub mod codes;
pub mod dates;
mod diagnostic;
mod doubts;
mod house;
mod lexicon;
mod limits;
mod lines;
mod loader;
mod lower;
mod misread;
mod name;
mod nearness;
mod normalise;
mod parse;
mod reading;
mod repair;
mod report;
mod source;
mod tidy;
mod tokens;
pub mod tree;
mod when;

pub use amount::{Amount, AmountError};
pub use code_word::CodeWord;
pub use diagnostic::{Diagnostic, Diagnostics, Edit, Fix, Severity};
pub use house::parse;
pub use loader::{Loaded, Loader, NoIncludes};
pub use name::{Name, key};
pub use nearness::{Candidates, closest};
pub use source::{Source, SourceId, Sources, Span};
pub use tidy::tidy;
pub use when::{When, WhenError, in_range, parse_date};
