//! Plans: entries that are not over yet, whom they are for, and a book without them.

use crate::book::Book;
use crate::log::{Fact, Item, Ledger, Line, Order, READING, VOIDED};
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
        let ledger = &self.ledger;
        let zone = ledger.zone();
        let today = zone.midnight(zone.date(at));
        let mut plans = Vec::new();
        for (stream, number) in ledger.store.streams.iter().zip(0..) {
            // An entry counts at 00:00 of the date of its end, or later.
            let lines = ledger.store.lines(number);
            let from = lines.partition_point(|line| ledger.fact(line).at(line) < today);
            let lines = lines.iter().skip(from).filter(|line| !line.is(VOIDED));
            let planned = lines.map(|line| planned(ledger, number, &stream.name, line));
            plans.extend(planned.filter(|plan| plan.end >= at));
        }
        plans.sort_by_key(|plan: &Planned| (plan.begin, plan.filed.1.2));
        plans
    }

    /// Takes a plan out of the book, as if it had never been recorded; for a copy of a book that is asked
    /// how things would stand without it.
    pub fn take_out(&mut self, plan: &Planned) {
        let (stream, (ticks, _, seq)) = plan.filed;
        self.ledger.store.mark(stream, ticks, seq, true);
    }

    /// The items that an entry's `item` names: the one with that id, else those of that kit, else of that
    /// model, else of that kind and narrower ones; an empty name names every item, and so does `every item`. By id;
    /// those of a kit, on whatever dates.
    pub fn members(&self, name: &str) -> Vec<&Item> {
        self.ledger.members(name).into_iter().map(|record| &record.item).collect()
    }

    /// The items that a plan is for: of those its `item` names, the one with that id, else those that are there, and in
    /// the kit, on one of its dates. By id.
    ///
    /// ```
    /// use kitlore_engine::{Book, Entry, Item, Program, When};
    /// let rules = Program::parse("for every item\n before every trip, look it over").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera").kit("travel to 2026-11-30")).unwrap();
    /// book.add_item(Item::new("C2", "camera").kit("travel from 2026-12-09")).unwrap();
    /// book.record(Entry::new("2026-12-05", "trip").until("2026-12-09").item("travel")).unwrap();
    /// let plans = book.plans(rules.when_is_over(When::parse("2026-12-01").unwrap()));
    /// assert_eq!(book.members("travel").len(), 2);
    /// assert_eq!(book.members_on(&plans[0]).iter().map(|item| &*item.id).collect::<Vec<_>>(), ["C2"]);
    /// ```
    pub fn members_on(&self, plan: &Planned) -> Vec<&Item> {
        let members = self.ledger.members_between(&plan.item, plan.from, plan.to);
        members.into_iter().map(|record| &record.item).collect()
    }

    /// What a gauge last showed for an item by an instant, and the unit if one was given.
    pub fn last_reading(&mut self, item: &str, name: &str, at: Instant) -> Option<(Amount, Option<String>)> {
        self.settle(NonZeroUsize::MIN);
        let ledger = &self.ledger;
        let event = ledger.events.find(&key(name))?;
        let record = ledger.item(item)?;
        let mut buffer = Vec::new();
        let lines = ledger.entries_of(&ledger.member(record), &mut buffer);
        let is_used = |line: &&Line| !line.is(VOIDED) && !line.says_no_item();
        let facts = lines.iter().filter(is_used).map(|line| (line, ledger.fact(line)));
        let shows =
            |(line, fact): &(&Line, &Fact)| fact.event == event && fact.has(READING) && fact.at(line) <= at;
        let (_, fact) = facts.rev().find(shows)?;
        let unit = ledger.extra(fact).and_then(|extra| ledger.unit_text(extra.unit));
        Some((Amount::from_micros(fact.amount), unit.map(str::to_owned)))
    }
}

fn planned(ledger: &Ledger, stream: u32, name: &str, line: &Line) -> Planned {
    let zone = ledger.zone();
    let fact = ledger.fact(line);
    let (begin, end) = ledger.extents(line, fact);
    let names = ledger.condition_sets.list(fact.conditions).iter();
    Planned {
        event: ledger.events.singular(fact.event),
        item: name.to_owned(),
        begin,
        end,
        from: zone.date(begin),
        to: zone.date(end),
        conditions: names.map(|name| ledger.conditions.text(*name).to_owned()).collect(),
        expect: ledger.expected_by(fact),
        reference: ledger.reference(line, fact).map(str::to_owned),
        place: ledger.place(line.seq),
        filed: (stream, ledger.store.facts.order(line)),
    }
}
