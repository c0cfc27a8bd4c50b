//! The kitlore rule language: text → checked tree, all mistakes at once, canonical layout.
//!
//! Internal to kitlore; use the `kitlore` crate.

mod advice;
mod amount;
mod check;
pub mod codes;
mod diagnostic;
mod doubts;
mod limits;
mod lines;
mod lower;
mod name;
mod normalise;
mod parse;
mod report;
mod source;
mod tidy;
mod tokens;
pub mod tree;
mod when;

pub use amount::{Amount, AmountError};
pub use diagnostic::{Diagnostic, Diagnostics, Severity};
pub use name::{Name, key};
pub use source::{Source, SourceId, Sources, Span};
pub use tidy::tidy;
pub use when::{When, WhenError, in_range, parse_date};

/// Brings the text of an included file.
///
/// The host decides what a path means; `kitlore-tables` has one for folders.
pub trait Loader {
    /// The text of `path` as written in `include "path"` in the source named `from`, with the name
    /// under which people see it. The name also tells whether two includes are the same file.
    ///
    /// # Errors
    /// Says in words for people why it cannot be had.
    fn load(&self, path: &str, from: &str) -> Result<Loaded, String>;
}

/// A text that a [`Loader`] brought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loaded {
    /// The name people see, unique to the file.
    pub name: String,
    /// Its text, as read.
    pub text: String,
}

/// A loader for texts that include nothing: every `include` is a mistake.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoIncludes;

impl Loader for NoIncludes {
    fn load(&self, _path: &str, _from: &str) -> Result<Loaded, String> {
        Err("this host reads no other files".to_owned())
    }
}

/// Reads a rule text with all it includes.
///
/// `name` is what people see as its place (usually the file's name), and what the `loader` is told
/// when the text includes another.
///
/// ```
/// use kitlore_syntax::{NoIncludes, parse};
/// let house = parse("house.lore", "for cameras\n  after 90 days, inspect sensor", &NoIncludes).unwrap();
/// assert_eq!(house.rules[0].task.text, "inspect sensor");
/// let wrong = parse("house.lore", "for cameras\n  after 90 dayz, inspect sensor; takes 5", &NoIncludes).unwrap_err();
/// assert_eq!(wrong.list.len(), 1);
/// ```
///
/// # Errors
/// Every mistake of the text and of what it includes, in order of place.
pub fn parse(name: &str, text: &str, loader: &dyn Loader) -> Result<tree::House, Diagnostics> {
    read(name, text, Some(loader))
}

/// Reads a text; without a loader, `include` statements are stepped over.
fn read(name: &str, text: &str, loader: Option<&dyn Loader>) -> Result<tree::House, Diagnostics> {
    let mut lowering = lower::Lowering::new(loader);
    lowering.file(name, text, None);
    lowering.items();
    let lower::Lowering { report, house, places, .. } = &mut lowering;
    check::check(house, places, report);
    if !report.is_empty() {
        return Err(Diagnostics {
            sources: std::mem::take(&mut house.sources),
            list: std::mem::take(report).finish(),
        });
    }
    doubts::doubts(house);
    Ok(lowering.house)
}
