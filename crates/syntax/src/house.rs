//! A house: all stages, one after the other, and what is meant where they find a mistake.

use crate::diagnostic::Diagnostics;
use crate::loader::Loader;
use crate::reading::Reading;
use crate::repair::{explain, repair};
use crate::tree::House;

/// Reads a rule text with all it includes.
///
/// `name` is shown as the place of its mistakes (usually the file's name); the `loader` receives it as `from`
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
pub fn parse(name: &str, text: &str, loader: &dyn Loader) -> Result<House, Diagnostics> {
    read(name, text, Some(loader))
}

/// Reads a text; without a loader, `include` statements are stepped over.
pub(crate) fn read(name: &str, text: &str, loader: Option<&dyn Loader>) -> Result<House, Diagnostics> {
    let mut reading = Reading::of(name, text, loader, explain);
    repair(name, loader, &mut reading);
    let Reading { mut house, mistakes, .. } = reading;
    if mistakes.is_empty() {
        return Ok(house);
    }
    Err(Diagnostics { sources: std::mem::take(&mut house.sources), list: mistakes })
}
