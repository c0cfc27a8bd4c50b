//! Names of items in entries and sections: kinds, filters, the rules that apply.

use super::items::{Item, NamedBy};
use super::members::is_for_all;
use super::records::Entry;
use super::world::World;
use chrono::NaiveDate;
use kitlore_syntax::tree::{Filter, Rule, Section, Test};
use kitlore_syntax::{Amount, key, parse_date};
use std::collections::BTreeSet;

impl World<'_> {
    /// Whether a kind is another or a narrower one.
    pub fn is_a(&self, kind: &str, broader: &str) -> bool {
        let mut kinds = BTreeSet::from([kind.to_owned()]);
        loop {
            let more = self.house.kinds.iter().filter(|k| kinds.contains(&k.narrower.key));
            let more: Vec<String> = more.map(|k| k.broader.key.clone()).collect();
            let size = kinds.len();
            kinds.extend(more);
            if kinds.len() == size {
                return kinds.contains(broader);
            }
        }
    }

    /// How an entry names an item, whatever the dates (section 4, the column `item`).
    pub fn named(&self, entry: &Entry, item: &Item) -> Option<NamedBy> {
        let name = &entry.item;
        let by_id = |i: &Item| i.id == *name;
        let by_kit = |i: &Item| i.kits.iter().any(|stay| stay.kit == *name);
        let by_model = |i: &Item| i.model == *name;
        let by_kind = |i: &Item| self.is_a(&i.kind_key, &entry.item_key);
        if is_for_all(entry) {
            Some(NamedBy::Nothing)
        } else if self.items.iter().any(by_id) {
            by_id(item).then_some(NamedBy::Id)
        } else if self.items.iter().any(by_kit) {
            by_kit(item).then_some(NamedBy::Kit)
        } else if self.items.iter().any(by_model) {
            by_model(item).then_some(NamedBy::Model)
        } else {
            by_kind(item).then_some(NamedBy::Kind)
        }
    }

    fn column(&self, item: &Item, name: &str, dates: Dates) -> Column {
        let one = |value: &String| Some(value.clone()).filter(|v| !v.is_empty());
        match name {
            "kind" => Column::Kind(item.kind.clone()),
            "model" => Column::Exact(one(&item.model).into_iter().collect()),
            "kit" => Column::Exact(kits_on(item, dates)),
            "received" => Column::Date(self.received(item)),
            "in service" => Column::Date(self.in_service(item)),
            "retired" => Column::Date(item.retired),
            other => {
                Column::Attribute(item.attributes.iter().find(|(k, _)| k == other).map(|(_, v)| v.clone()))
            }
        }
    }

    /// Whether a column's value is a text (section 2: how values compare).
    fn is(&self, item: &Item, name: &str, dates: Dates, text: &str) -> bool {
        let number = |text: &str| Amount::parse_signed(text).ok();
        match self.column(item, name, dates) {
            Column::Exact(values) => values.iter().any(|v| v == text.trim()),
            Column::Kind(kind) => key(&kind) == key(text),
            Column::Date(date) => date.is_some() && date == parse_date(text.trim()).ok(),
            Column::Attribute(value) => value.is_some_and(|v| match (number(&v), number(text.trim())) {
                (Some(a), Some(b)) => a == b,
                _ => v.to_lowercase() == text.trim().to_lowercase(),
            }),
        }
    }

    fn texts(&self, item: &Item, name: &str, dates: Dates) -> Vec<String> {
        match self.column(item, name, dates) {
            Column::Exact(values) => values,
            Column::Kind(kind) => vec![kind],
            Column::Date(date) => date.map(|d| d.to_string()).into_iter().collect(),
            Column::Attribute(value) => value.into_iter().collect(),
        }
    }

    /// Whether an item passes a filter, in a kit on some of these dates (section 4, item).
    fn passes(&self, filter: &Filter, item: &Item, dates: Dates) -> bool {
        let (name, test) = match filter {
            Filter::All(parts) => return parts.iter().all(|f| self.passes(f, item, dates)),
            Filter::Any(parts) => return parts.iter().any(|f| self.passes(f, item, dates)),
            Filter::Test { attribute, test } => (attribute.key.as_str(), test),
        };
        let values = self.texts(item, name, dates);
        let dated =
            |holds: &dyn Fn(NaiveDate) -> bool| values.iter().filter_map(|v| parse_date(v).ok()).any(holds);
        match test {
            Test::Is(text) => self.is(item, name, dates, text),
            Test::IsNot(text) => !self.is(item, name, dates, text),
            Test::Compare(comparison, bound) => values
                .iter()
                .filter_map(|v| Amount::parse_signed(v).ok())
                .any(|v| comparison.holds(v, *bound)),
            Test::Before(date) => dated(&|d| d < *date),
            Test::After(date) => dated(&|d| d > *date),
            Test::Known => !values.is_empty(),
            Test::Missing => values.is_empty(),
        }
    }

    /// Whether a rule's section is for an item on the date of `at`.
    pub fn applies(&self, rule: &Rule, item: &Item) -> bool {
        let today = self.clock.date(self.at);
        self.applied(rule, item, (today, today))
    }

    /// Whether a rule's section is for an item, in a kit on some of these dates.
    pub fn applied(&self, rule: &Rule, item: &Item, dates: Dates) -> bool {
        let Section { kinds, filter } = &*rule.section;
        let of_kind =
            |kinds: &Vec<_>| kinds.iter().any(|k: &kitlore_syntax::Name| self.is_a(&item.kind_key, &k.key));
        kinds.as_ref().is_none_or(of_kind) && filter.as_ref().is_none_or(|f| self.passes(f, item, dates))
    }

    /// The rules of a task that count for an item (section 5, `instead`).
    pub fn rules_for(&self, item: &Item, task: &str) -> Vec<(usize, &Rule)> {
        let rules = self.house.rules.iter().enumerate();
        let mine: Vec<_> = rules.filter(|(_, r)| r.task.key == task && self.applies(r, item)).collect();
        let any_instead = mine.iter().any(|(_, r)| r.instead);
        mine.into_iter().filter(|(_, r)| r.instead || !any_instead).collect()
    }
}

/// Dates from a first to a last.
type Dates = (NaiveDate, NaiveDate);

/// The kits that an item is in on some of these dates.
fn kits_on(item: &Item, (first, last): Dates) -> Vec<String> {
    let stays = item.kits.iter().filter(|stay| stay.meets(first, last));
    stays.map(|stay| stay.kit.clone()).collect()
}

/// The values that a filter's name asks about, and how they are compared.
enum Column {
    Exact(Vec<String>),
    Kind(String),
    Date(Option<NaiveDate>),
    Attribute(Option<String>),
}
