//! Columns and values that filters ask for and no item has, though one has a name close to it.

use crate::book::Book;
use crate::names::Candidates;
use crate::problem::Problem;
use kitlore_syntax::tree::{Filter, Test};
use kitlore_syntax::{Amount, Name, key};
use std::collections::{BTreeMap, BTreeSet};

/// Columns that every inventory may have.
const OWN: [&str; 7] = ["id", "kind", "kit", "model", "received", "in service", "retired"];

/// The tests of all filters, each section's once.
fn tests(book: &Book) -> Vec<(&Name, &Test)> {
    fn gather<'a>(filter: &'a Filter, into: &mut Vec<(&'a Name, &'a Test)>) {
        match filter {
            Filter::All(parts) | Filter::Any(parts) => parts.iter().for_each(|part| gather(part, into)),
            Filter::Test { attribute, test } => into.push((attribute, test)),
        }
    }
    let mut tests = Vec::new();
    let sections = book.program.inner().house.rules.iter().map(|rule| &rule.section);
    let mut last = None;
    for section in sections {
        if last != Some(std::sync::Arc::as_ptr(section)) {
            section.filter.iter().for_each(|filter| gather(filter, &mut tests));
        }
        last = Some(std::sync::Arc::as_ptr(section));
    }
    tests
}

/// The headings of the inventory by key, as first spelled.
fn headings(book: &Book) -> BTreeMap<String, &str> {
    let mut headings = BTreeMap::new();
    for (heading, _) in book.items.iter().flat_map(|record| &record.item.attributes) {
        if !headings.contains_key(heading.as_str()) {
            headings.entry(key(heading)).or_insert(heading.as_str());
        }
    }
    headings
}

/// Columns that filters ask for and the inventory has not, as first spelled in the rules.
pub(crate) fn unused_columns(book: &Book) -> Vec<&str> {
    let tests = tests(book);
    if tests.is_empty() {
        return Vec::new();
    }
    let (headings, mut told) = (headings(book), BTreeSet::new());
    let lacks = |name: &&Name| !OWN.contains(&name.key.as_str()) && !headings.contains_key(&name.key);
    let names = tests.into_iter().map(|(name, _)| name).filter(lacks);
    names.filter(|name| told.insert(&name.key)).map(|name| name.text.as_str()).collect()
}

/// Reports columns and values that look like slips of others.
pub(crate) fn report(book: &Book, problems: &mut Vec<Problem>) {
    let tests = tests(book);
    if tests.is_empty() || book.items.is_empty() {
        return;
    }
    let headings = headings(book);
    let known = Candidates::new(headings.values().copied().chain(OWN));
    for column in unused_columns(book) {
        if let Some(meant) = known.closest(column) {
            let message =
                format!("the column `{column}` that a filter asks for never occurs in the inventory");
            problems.push(Problem::new("never-seen", message).meant(Some(meant)));
        }
    }
    let mut told = BTreeSet::new();
    for (column, test) in tests {
        let (Test::Is(value) | Test::IsNot(value)) = test else { continue };
        if Amount::parse_signed(value).is_ok() || !told.insert((&column.key, value)) {
            continue;
        }
        let values = values(book, &column.key);
        let is_asked = |held: &&str| match column.key.as_str() {
            "kind" => key(held) == key(value),
            _ => held.to_lowercase() == value.trim().to_lowercase(),
        };
        if values.iter().any(is_asked) {
            continue;
        }
        if let Some(meant) = Candidates::new(values.into_iter()).closest(value) {
            let message = format!(
                "the value `{value}` of `{}` that a filter asks for never occurs in the inventory",
                column.text
            );
            problems.push(Problem::new("never-seen", message).meant(Some(meant)));
        }
    }
}

/// What items have in a column that holds texts.
fn values<'b>(book: &'b Book, column: &str) -> BTreeSet<&'b str> {
    match column {
        "kit" => book.kits.iter().map(String::as_str).collect(),
        "model" => book.models.iter().map(String::as_str).collect(),
        "kind" => book.kinds.iter().map(|kind| &*kind.name).collect(),
        "id" | "received" | "in service" | "retired" => BTreeSet::new(),
        _ => {
            let of = |attributes: &'b [(String, String)]| {
                attributes.iter().find(|(heading, _)| heading == column).map(|(_, value)| value.as_str())
            };
            book.items.iter().filter_map(|record| of(&record.attributes)).collect()
        }
    }
}
