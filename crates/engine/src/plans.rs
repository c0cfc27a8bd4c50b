//! Plans: entries that are not over yet, whom they are for, and a book without them.

use crate::book::{Book, ItemRecord};
use crate::facts::Order;
use crate::history::extents;
use crate::input::Item;
use crate::line::{Fact, Line, READING, VOIDED};
use crate::names::index;
use crate::problem::Place;
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::{Amount, key};
use std::num::NonZeroUsize;

/// An entry of the log that is not over at some instant: a trip to come, a shoot under way.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Planned {
    /// What is planned, as the log spells it.
    pub event: String,
    /// For what: an item's id, a kit, a model or a kind; empty for every item.
    pub item: String,
    /// When it begins.
    pub begin: Instant,
    /// Its last instant.
    pub end: Instant,
    /// The local date of its beginning.
    pub from: NaiveDate,
    /// The local date of its end.
    pub to: NaiveDate,
    /// Its own conditions.
    pub conditions: Vec<String>,
    /// What it expects a day: see [`crate::parse_expect`].
    pub expect: Vec<(String, Amount)>,
    /// What it refers to.
    pub reference: Option<String>,
    /// Where it was read.
    pub place: Option<Place>,
    filed: (u32, Order),
}

impl Book {
    /// The entries that are not over at an instant, by beginning; completions of tasks among them.
    ///
    /// ```
    /// use kitlore_engine::{Book, Entry, Item, Program, When};
    /// let rules = Program::parse("for every item\n before every trip, look it over").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera").kit("travel")).unwrap();
    /// book.record(Entry::new("2026-12-05", "trip").until("2026-12-09").item("travel").reference("T7")).unwrap();
    /// let plans = book.plans(rules.when_is_over(When::parse("2026-12-01").unwrap()));
    /// assert_eq!(plans[0].reference.as_deref(), Some("T7"));
    /// assert_eq!(book.members(&plans[0].item)[0].id, "C1");
    /// ```
    pub fn plans(&mut self, at: Instant) -> Vec<Planned> {
        self.settle(NonZeroUsize::MIN);
        let zone = self.program.inner().zone;
        let today = zone.midnight(zone.date(at));
        let mut plans = Vec::new();
        for (stream, number) in self.cabinet.streams.iter().zip(0..) {
            // An entry counts at 00:00 of the date of its end, or later.
            let lines = self.cabinet.lines(number);
            let from = lines.partition_point(|line| self.fact(line).at(line) < today);
            let lines = lines.iter().skip(from).filter(|line| !line.is(VOIDED));
            let planned = lines.map(|line| self.planned(number, &stream.name, line));
            plans.extend(planned.filter(|plan| plan.end >= at));
        }
        plans.sort_by_key(|plan: &Planned| (plan.begin, plan.filed.1.2));
        plans
    }

    fn planned(&self, stream: u32, name: &str, line: &Line) -> Planned {
        let zone = self.program.inner().zone;
        let fact = self.fact(line);
        let (begin, end) = extents(self, line, fact);
        let reference = self.extra(fact).and_then(|extra| extra.reference);
        let names = self.sets.list(fact.conditions).iter();
        Planned {
            event: self.events.singular(fact.event),
            item: name.to_owned(),
            begin,
            end,
            from: zone.date(begin),
            to: zone.date(end),
            conditions: names.map(|name| self.conditions.text(*name).to_owned()).collect(),
            expect: self.expected_by(fact),
            reference: reference.and_then(|number| self.reference_text(number)),
            place: self.place(line.seq),
            filed: (stream, self.cabinet.facts.order(line)),
        }
    }

    /// Takes a plan out of the book, as if it had never been recorded; for a copy of a book that is asked
    /// how things would stand without it.
    pub fn take_out(&mut self, plan: &Planned) {
        let (stream, order) = plan.filed;
        self.cabinet.mark(stream, order, true);
    }

    /// The items that an entry's `item` names: the one with that id, else those of that kit, else of that
    /// model, else of that kind and narrower ones; an empty name names every item. By id.
    pub fn members(&self, name: &str) -> Vec<&Item> {
        let name = name.trim();
        let named = |record: &ItemRecord| match name {
            "" => true,
            _ if self.kits.contains(name) => record.item.kits.iter().any(|kit| kit == name),
            _ if self.models.contains(name) => record.item.model.as_deref() == Some(name),
            _ => self.kinds.get(record.kind as usize).is_some_and(|kind| kind.keys.contains(&key(name))),
        };
        let of_id = self.items.iter().find(|record| !name.is_empty() && *record.id == *name);
        let mut items: Vec<&Item> = match of_id {
            Some(record) => vec![&record.item],
            None => self.items.iter().filter(|record| named(record)).map(|record| &record.item).collect(),
        };
        items.sort_by_key(|item| &item.id);
        items
    }

    /// What a gauge last showed for an item by an instant, and the unit if one was given.
    pub fn last_reading(&mut self, item: &str, name: &str, at: Instant) -> Option<(Amount, Option<String>)> {
        self.settle(NonZeroUsize::MIN);
        let name = key(name);
        let event = index(self.events.texts().position(|event| key(event) == name)?);
        let record = self.items.iter().find(|record| *record.id == *item.trim())?;
        let mut room = Vec::new();
        let lines = self.merge(&self.streams_of(record), &mut room);
        let facts = lines.iter().filter(|line| !line.is(VOIDED)).map(|line| (line, self.fact(line)));
        let shows =
            |(line, fact): &(&Line, &Fact)| fact.event == event && fact.has(READING) && fact.at(line) <= at;
        let (_, fact) = facts.rev().find(shows)?;
        let unit = self.extra(fact).and_then(|extra| extra.unit);
        Some((Amount::from_micros(fact.amount), unit.map(|unit| self.units.text(unit).to_owned())))
    }
}
