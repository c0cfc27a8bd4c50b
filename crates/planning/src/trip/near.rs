//! Names that were probably meant.

use kitlore_engine::codes::Code;
use kitlore_engine::{Book, Entry, Program, When};
use kitlore_syntax::closest;

/// The event that rules know and that was probably meant by one they do not know.
pub(crate) fn event(rules: &Program, name: &str) -> Option<String> {
    meant(rules, Code::UnknownEvent, Entry::new(DAY, name))
}

/// The condition that rules ask about and that was probably meant by one they do not ask about.
pub(crate) fn condition(rules: &Program, name: &str) -> Option<String> {
    meant(rules, Code::UnknownCondition, Entry::new(DAY, name).condition(name))
}

/// Any day: what a name may mean depends on none.
const DAY: &str = "2000-01-01";

/// What the engine says of a log that has just this entry, so that a name is near here where it is near in a log.
fn meant(rules: &Program, code: Code, entry: Entry) -> Option<String> {
    let mut book = Book::new(rules);
    book.record(entry).ok()?;
    let found = book.standings(rules.when_is_over(When::parse(DAY).ok()?));
    found.problems().iter().find(|problem| problem.is(code)).and_then(|problem| problem.meant.clone())
}

/// The id, kit, model or kind of the inventory that was probably meant.
pub(crate) fn member(book: &Book, name: &str) -> Option<String> {
    let names = book.items().flat_map(|item| {
        let others = item.model.iter().chain([&item.kind, &item.id]);
        item.kit_names().chain(others.map(String::as_str))
    });
    closest(name, names).map(str::to_owned)
}
