//! Names that were probably meant.

use kitlore_engine::{Book, Entry, Program, When};

/// The event that rules know and that was probably meant by one they do not know.
pub(crate) fn event(rules: &Program, name: &str) -> Option<String> {
    told(rules, "unknown-event", Entry::new(DAY, name))
}

/// The condition that rules ask about and that was probably meant by one they do not ask about.
pub(crate) fn condition(rules: &Program, name: &str) -> Option<String> {
    told(rules, "unknown-condition", Entry::new(DAY, name).condition(name))
}

/// Any day: what a name may mean hangs on none.
const DAY: &str = "2000-01-01";

/// What the engine says of a log that has just this entry, so that a name is near here where it is near in a log.
fn told(rules: &Program, code: &str, entry: Entry) -> Option<String> {
    let mut book = Book::new(rules);
    book.record(entry).ok()?;
    let found = book.standings(rules.when_is_over(When::parse(DAY).ok()?));
    found.problems().iter().find(|problem| problem.code == code).and_then(|problem| problem.meant.clone())
}

/// The id, kit, model or kind of the inventory that was probably meant.
///
/// Less careful than with the names of a log, where a slip may be of an item that is elsewhere: this one was
/// typed in to be answered.
pub(crate) fn member(book: &Book, name: &str) -> Option<String> {
    let plain = |text: &str| text.to_lowercase().replace(['-', '_', ' '], "");
    let wanted = plain(name);
    let most = (wanted.chars().count() / 3).min(3);
    let names = book.items().flat_map(|item| {
        let of_many = item.kits.iter().chain(&item.model).chain([&item.kind]);
        of_many.chain([&item.id]).map(String::as_str)
    });
    let near = names.filter_map(|known| {
        let known_plain = plain(known);
        // A letter has at most four bytes; texts of very unequal length are not compared.
        let comparable = known_plain.len().abs_diff(wanted.len()) <= 4 * most;
        let distance = comparable.then(|| strsim::damerau_levenshtein(&wanted, &known_plain))?;
        (distance <= most).then_some((distance, known))
    });
    near.min_by_key(|(distance, _)| *distance).map(|(_, known)| known.to_owned())
}

/// ` (did you mean ...?)`, or nothing.
pub(crate) fn did_you_mean(meant: Option<&str>) -> String {
    meant.map_or_else(String::new, |meant| format!(" (did you mean `{meant}`?)"))
}
