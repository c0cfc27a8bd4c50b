//! Whom entries are for: kinds, filters, dates of an item's life, the rules that apply.

use super::items::{Item, NamedBy};
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

    /// How an entry names an item, if it is for it (section 4, the column `item`).
    pub fn named(&self, entry: &Entry, item: &Item) -> Option<NamedBy> {
        let name = &entry.item;
        let by_id = |i: &Item| i.id == *name;
        let by_kit = |i: &Item| i.kits.contains(name);
        let by_model = |i: &Item| i.model == *name;
        let by_kind = |i: &Item| self.is_a(&i.kind_key, &entry.item_key);
        if name.is_empty() {
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

    /// The entries that hold for an item, in time order.
    pub fn entries_of(&self, item: &Item) -> Vec<&Entry> {
        self.entries.iter().filter(|e| self.named(e, item).is_some()).collect()
    }

    /// The date of the earliest entry of a life event.
    fn event_date(&self, item: &Item, event: &str) -> Option<NaiveDate> {
        let entry = self.entries_of(item).into_iter().find(|e| e.event == event)?;
        Some(self.clock.date(entry.counts))
    }

    /// The date received (section 4, the event `received`).
    pub fn received(&self, item: &Item) -> Option<NaiveDate> {
        item.received.or_else(|| self.event_date(item, "received"))
    }

    /// The date taken into service (section 4, the event `in service`).
    pub fn in_service(&self, item: &Item) -> Option<NaiveDate> {
        item.in_service.or_else(|| self.event_date(item, "in service"))
    }

    /// Where ages count from (section 5, age).
    pub fn born(&self, item: &Item) -> Option<NaiveDate> {
        self.received(item).or_else(|| self.in_service(item))
    }

    /// Start, with `count from` (section 5, start).
    pub fn start(&self, item: &Item) -> Option<NaiveDate> {
        let own = self.in_service(item).or_else(|| self.received(item));
        own.max(self.house.count_from)
    }

    /// Whether an item has no rows at an instant (section 5, first paragraph).
    pub fn is_absent(&self, item: &Item) -> bool {
        let by_date = item.retired.map(|d| self.clock.start_of(d));
        let by_entry = self.entries_of(item).into_iter().filter(|e| {
            let retires = |task: &String| task.split(' ').next() == Some("retire");
            e.event == "retired" || self.completes(e, item).iter().any(retires)
        });
        let retired = by_date.into_iter().chain(by_entry.map(|e| e.counts)).min();
        let received = self.received(item).map(|d| self.clock.start_of(d));
        retired.is_some_and(|t| t <= self.at) || received.is_some_and(|t| t > self.at)
    }

    fn column(&self, item: &Item, name: &str) -> Column {
        let one = |value: &String| Some(value.clone()).filter(|v| !v.is_empty());
        match name {
            "kind" => Column::Kind(item.kind.clone()),
            "model" => Column::Exact(one(&item.model).into_iter().collect()),
            "kit" => Column::Exact(item.kits.clone()),
            "received" => Column::Date(self.received(item)),
            "in service" => Column::Date(self.in_service(item)),
            "retired" => Column::Date(item.retired),
            other => {
                Column::Attribute(item.attributes.iter().find(|(k, _)| k == other).map(|(_, v)| v.clone()))
            }
        }
    }

    /// Whether a column's value is a text (section 2: how values compare).
    fn is(&self, item: &Item, name: &str, text: &str) -> bool {
        let number = |text: &str| Amount::parse_signed(text).ok();
        match self.column(item, name) {
            Column::Exact(values) => values.iter().any(|v| v == text.trim()),
            Column::Kind(kind) => key(&kind) == key(text),
            Column::Date(date) => date.is_some() && date == parse_date(text.trim()).ok(),
            Column::Attribute(value) => value.is_some_and(|v| match (number(&v), number(text.trim())) {
                (Some(a), Some(b)) => a == b,
                _ => v.to_lowercase() == text.trim().to_lowercase(),
            }),
        }
    }

    fn texts(&self, item: &Item, name: &str) -> Vec<String> {
        match self.column(item, name) {
            Column::Exact(values) => values,
            Column::Kind(kind) => vec![kind],
            Column::Date(date) => date.map(|d| d.to_string()).into_iter().collect(),
            Column::Attribute(value) => value.into_iter().collect(),
        }
    }

    /// Whether an item passes a filter (section 4, item).
    pub fn passes(&self, filter: &Filter, item: &Item) -> bool {
        let (name, test) = match filter {
            Filter::All(parts) => return parts.iter().all(|f| self.passes(f, item)),
            Filter::Any(parts) => return parts.iter().any(|f| self.passes(f, item)),
            Filter::Test { attribute, test } => (attribute.key.as_str(), test),
        };
        let values = self.texts(item, name);
        let dated =
            |holds: &dyn Fn(NaiveDate) -> bool| values.iter().filter_map(|v| parse_date(v).ok()).any(holds);
        match test {
            Test::Is(text) => self.is(item, name, text),
            Test::IsNot(text) => !self.is(item, name, text),
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

    /// Whether a rule's section is for an item.
    pub fn applies(&self, rule: &Rule, item: &Item) -> bool {
        let Section { kinds, filter } = &*rule.section;
        let of_kind =
            |kinds: &Vec<_>| kinds.iter().any(|k: &kitlore_syntax::Name| self.is_a(&item.kind_key, &k.key));
        kinds.as_ref().is_none_or(of_kind) && filter.as_ref().is_none_or(|f| self.passes(f, item))
    }

    /// The rules of a task that count for an item (section 5, `instead`).
    pub fn rules_for(&self, item: &Item, task: &str) -> Vec<(usize, &Rule)> {
        let rules = self.house.rules.iter().enumerate();
        let mine: Vec<_> = rules.filter(|(_, r)| r.task.key == task && self.applies(r, item)).collect();
        let any_instead = mine.iter().any(|(_, r)| r.instead);
        mine.into_iter().filter(|(_, r)| r.instead || !any_instead).collect()
    }
}

/// The values that a filter's name asks about, and how they are compared.
enum Column {
    Exact(Vec<String>),
    Kind(String),
    Date(Option<NaiveDate>),
    Attribute(Option<String>),
}
