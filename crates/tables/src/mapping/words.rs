//! Headings of a log by other words than the fields' own.

use super::field::{Field, named_in};
use kitlore_syntax::{closest, key};

/// Words that mean a field where the log has no column of its name.
const SAME: [(&str, Field); 2] = [("condition", Field::In), ("finding", Field::Found)];

/// Words that probably mean a field, and are never taken for it.
const OTHER: [(&str, Field); 13] = [
    ("date", Field::When),
    ("day", Field::When),
    ("asset", Field::Item),
    ("equipment", Field::Item),
    ("gear", Field::Item),
    ("task", Field::Event),
    ("action", Field::Event),
    ("qty", Field::Amount),
    ("quantity", Field::Amount),
    ("count", Field::Amount),
    ("value", Field::Reading),
    ("place", Field::In),
    ("result", Field::Found),
];

/// The field that a heading means where the log has no column of its name.
pub(super) fn same(heading: &str) -> Option<Field> {
    of(&key(heading), SAME.into_iter())
}

/// The field that a heading of a log probably means: it is another word for it, or close to its name. `more` are
/// the host's own words.
pub(super) fn probable(heading: &str, fields: &[Field], more: &[(Field, String)]) -> Option<Field> {
    let wanted = key(heading);
    let own = || more.iter().find(|(_, word)| key(word) == wanted).map(|(field, _)| *field);
    let word = || of(&wanted, SAME.into_iter().chain(OTHER));
    let close = || {
        let names = fields.iter().map(|field| field.name());
        let name = closest(heading, names.chain(SAME.map(|(word, _)| word)))?;
        named_in(name, fields).or_else(|| same(name))
    };
    own().or_else(word).or_else(close)
}

fn of(wanted: &str, words: impl Iterator<Item = (&'static str, Field)>) -> Option<Field> {
    words.into_iter().find(|(word, _)| *word == wanted).map(|(_, field)| field)
}
