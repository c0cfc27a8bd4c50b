//! Columns and values that filters ask for and no item has, though one has a name close to it.

use super::limits::{NAMES, SUGGESTIONS};
use crate::codes::Code;
use crate::log::Ledger;
use crate::names::Candidates;
use crate::problem::Problem;
use kitlore_syntax::tree::{Filter, Test};
use kitlore_syntax::{Amount, Name, key};
use std::collections::{BTreeMap, BTreeSet};

/// Columns that every inventory may have.
const OWN: [&str; 7] = ["id", "kind", "kit", "model", "received", "in service", "retired"];

/// The tests of all filters, each section's once.
fn tests(ledger: &Ledger) -> Vec<(&Name, &Test)> {
    fn gather<'a>(filter: &'a Filter, into: &mut Vec<(&'a Name, &'a Test)>) {
        match filter {
            Filter::All(parts) | Filter::Any(parts) => parts.iter().for_each(|part| gather(part, into)),
            Filter::Test { attribute, test } => into.push((attribute, test)),
        }
    }
    let mut tests = Vec::new();
    let sections = ledger.program.inner().house.rules.iter().map(|rule| &rule.section);
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
fn headings(ledger: &Ledger) -> BTreeMap<String, &str> {
    let mut headings = BTreeMap::new();
    for (heading, _) in ledger.items.iter().flat_map(|record| &record.item.attributes) {
        if !headings.contains_key(heading.as_str()) {
            headings.entry(key(heading)).or_insert(heading.as_str());
        }
    }
    headings
}

/// Columns that filters ask for and the inventory has not, as first spelled in the rules.
pub(super) fn unused_columns(ledger: &Ledger) -> Vec<&str> {
    unused(&tests(ledger), &headings(ledger))
}

fn unused<'b>(tests: &[(&'b Name, &Test)], headings: &BTreeMap<String, &str>) -> Vec<&'b str> {
    let mut seen = BTreeSet::new();
    let lacks = |name: &&Name| !OWN.contains(&name.key.as_str()) && !headings.contains_key(&name.key);
    let names = tests.iter().map(|(name, _)| *name).filter(lacks);
    names.filter(|name| seen.insert(&name.key)).map(|name| name.text.as_str()).collect()
}

/// Reports columns and values that look like slips of others. As with names of the log, only so many are compared.
pub(super) fn report(ledger: &Ledger, problems: &mut Vec<Problem>) {
    let tests = tests(ledger);
    if tests.is_empty() || ledger.items.is_empty() {
        return;
    }
    let headings = headings(ledger);
    let known = Candidates::new(headings.values().copied().take(SUGGESTIONS).chain(OWN));
    for column in unused(&tests, &headings).into_iter().take(NAMES) {
        if let Some(meant) = known.closest(column) {
            let sentence = "the column `{column}` that a filter asks for never occurs in the inventory";
            let problem = Problem::new(Code::NeverSeen, sentence).with("column", column);
            problems.push(problem.meant(Some(meant)));
        }
    }
    let mut columns: BTreeMap<&str, Values<'_>> = BTreeMap::new();
    let mut seen = BTreeSet::new();
    for (column, test) in tests {
        let (Test::Is(value) | Test::IsNot(value)) = test else { continue };
        let values = columns.entry(&column.key).or_insert_with(|| Values::of(ledger, &column.key));
        let is_text = Amount::parse_signed(value).is_err();
        if !is_text || values.has(value) || seen.len() >= NAMES || !seen.insert((&column.key, value)) {
            continue;
        }
        if let Some(meant) = values.close.closest(value) {
            let sentence =
                "the value `{value}` of `{column}` that a filter asks for never occurs in the inventory";
            let problem = Problem::new(Code::NeverSeen, sentence).with("value", value.as_str());
            problems.push(problem.with("column", column.text.as_str()).meant(Some(meant)));
        }
    }
}

/// What items have in a column that holds texts.
struct Values<'b> {
    /// How a value is compared with what a filter asks for, which is how filters themselves do.
    alike: fn(&str) -> String,
    held: BTreeSet<String>,
    /// As they are spelled: a plural ending may be part of a value, as in `Ines`.
    close: kitlore_syntax::Candidates<'b>,
}

impl<'b> Values<'b> {
    fn of(ledger: &'b Ledger, column: &str) -> Self {
        let texts: BTreeSet<&str> = match column {
            "kit" => ledger.kits.iter().map(String::as_str).collect(),
            "model" => ledger.models.iter().map(String::as_str).collect(),
            "kind" => ledger.kinds.iter().map(|kind| &*kind.name).collect(),
            "id" | "received" | "in service" | "retired" => BTreeSet::new(),
            _ => {
                let of = |attributes: &'b [(String, String)]| {
                    attributes.iter().find(|(heading, _)| heading == column).map(|(_, value)| value.as_str())
                };
                ledger.items.iter().filter_map(|record| of(&record.attributes)).collect()
            }
        };
        let alike: fn(&str) -> String = match column {
            "kind" => key,
            "kit" | "model" => str::to_owned,
            _ => str::to_lowercase,
        };
        let held = texts.iter().map(|text| alike(text)).collect();
        Self { alike, held, close: kitlore_syntax::Candidates::new(texts.into_iter().take(SUGGESTIONS)) }
    }

    fn has(&self, value: &str) -> bool {
        self.held.contains(&(self.alike)(value.trim()))
    }
}
