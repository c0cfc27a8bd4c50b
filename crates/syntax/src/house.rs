//! A house: all stages, one after the other.

use crate::check::check;
use crate::diagnostic::Diagnostics;
use crate::doubts::doubts;
use crate::loader::Loader;
use crate::lower::Lowering;
use crate::repair::explain;
use crate::source::SourceId;
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
    let mut lowering = Lowering::new(loader);
    lowering.file(name, text, None);
    lowering.items();
    let Lowering { report, house, places, codes, .. } = &mut lowering;
    check(house, places, report);
    if !report.is_empty() {
        let code = |file: SourceId| codes.get(file.0 as usize).map_or("", |code| code);
        let list = std::mem::take(report).finish(|misread| explain(misread, code(misread.file), house));
        return Err(Diagnostics { sources: std::mem::take(&mut house.sources), list });
    }
    doubts(house);
    Ok(lowering.house)
}
