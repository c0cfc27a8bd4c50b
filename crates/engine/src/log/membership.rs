//! Whom entries are for: the names that mean an item, and which of the entries filed under them are for it.
//!
//! An entry that names an item's id is for the item whatever its dates. One that names a kit, a model, a kind or
//! every item is for those that were there, and in the kit, on one of its dates.

use super::dates::Dates;
use super::entries::{Fact, Line, READING, VOIDED};
use super::input::Item;
use super::item::ItemRecord;
use super::ledger::Ledger;
use super::store::{EVERY_ITEM, NO_NAME, is_every_item};
use crate::rules::Life;
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::key;

/// By what a name means an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum By {
    /// It is its id.
    Id,
    /// It is one of its kits, by its place among them.
    Kit(usize),
    /// It is its model, its kind or a broader one, or means every item.
    Group,
    /// It is none: the entry says no item.
    NoName,
}

/// A name under which entries are filed that may be for an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Naming {
    pub stream: u32,
    pub by: By,
}

/// An item with the names that mean it and the dates that the inventory and the log give it.
#[derive(Debug, Clone)]
pub(crate) struct Member<'a> {
    pub record: &'a ItemRecord,
    /// Its id first.
    pub namings: Vec<Naming>,
    pub received: Option<NaiveDate>,
    pub in_service: Option<NaiveDate>,
}

/// What is not used of an entry that says no item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum NotUsed {
    /// All of it.
    Entry,
    /// Its reading and its findings.
    Values,
}

impl Member<'_> {
    /// From when on it is there; `None` if it always was.
    pub fn there(&self) -> Option<NaiveDate> {
        self.received.into_iter().chain(self.in_service).min()
    }

    /// Whether entries under a name are for it on all dates on which it is there.
    pub fn is_always_in(&self, naming: Naming) -> bool {
        match naming.by {
            By::Kit(kit) => self.record.kits.get(kit).is_some_and(|kit| kit.dates.is_all()),
            By::Id | By::Group | By::NoName => true,
        }
    }

    /// The dates on which an entry under a name is for it.
    pub fn dates(&self, naming: Naming) -> Dates {
        match naming.by {
            By::Id => Dates::between(None, None),
            By::Kit(kit) => match self.record.kits.get(kit) {
                Some(kit) => kit.dates.since(self.there()),
                None => Dates::default(),
            },
            By::Group | By::NoName => Dates::between(self.there(), None),
        }
    }
}

impl Ledger {
    /// An item as entries are for it.
    pub fn member<'a>(&self, record: &'a ItemRecord) -> Member<'a> {
        self.member_by(record, self.namings_of(record))
    }

    /// An item with the names that mean it.
    pub fn member_by<'a>(&self, record: &'a ItemRecord, namings: Vec<Naming>) -> Member<'a> {
        let date = |of_item: Option<NaiveDate>, life| of_item.or_else(|| self.life_date(&namings, life));
        let received = date(record.item.received, Life::Received);
        let in_service = date(record.item.in_service, Life::InService);
        Member { record, namings, received, in_service }
    }

    /// The names under which entries are filed that may be for an item, its id first.
    pub fn namings_of(&self, record: &ItemRecord) -> Vec<Naming> {
        let mut namings = vec![Naming { stream: record.stream, by: By::Id }];
        if !self.groups.is_empty() {
            self.add_groups_of(record, &mut namings);
        }
        // Once, also where an inventory has that for a name of its own.
        let is_known = |stream: &u32| namings.iter().any(|naming| naming.stream == *stream);
        if let Some(stream) = self.find_stream(EVERY_ITEM).filter(|stream| !is_known(stream)) {
            namings.push(Naming { stream, by: By::Group });
        }
        if !self.store.lines(NO_NAME).is_empty() {
            namings.push(Naming { stream: NO_NAME, by: By::NoName });
        }
        namings
    }

    fn add_groups_of(&self, record: &ItemRecord, namings: &mut Vec<Naming>) {
        let no_id = |stream: &u32| self.store.stream(*stream).is_some_and(|stream| stream.item.is_none());
        for (kit, own) in record.kits.iter().enumerate() {
            let stream = self.find_stream(&own.kit).filter(no_id);
            namings.extend(stream.map(|stream| Naming { stream, by: By::Kit(kit) }));
        }
        let group = |stream| Naming { stream, by: By::Group };
        if let Some(model) = record.item.model.as_ref().filter(|model| !self.kits.contains(*model)) {
            namings.extend(self.find_stream(model).filter(no_id).map(group));
        }
        let keys = self.kinds.get(record.kind as usize).map_or(&[][..], |kind| &kind.keys);
        for stream in keys.iter().filter_map(|key| self.groups.get(key)).flatten() {
            let name = self.store.stream(*stream).map_or("", |stream| &stream.name);
            if no_id(stream) && !self.kits.contains(name) && !self.models.contains(name) {
                namings.push(group(*stream));
            }
        }
    }

    /// The number of what an entry says of its item, if it was met.
    pub fn find_item_stream(&self, name: &str) -> Option<u32> {
        self.find_stream(if is_every_item(name) { EVERY_ITEM } else { name })
    }

    /// Whether a name means some item of the inventory, or every item.
    pub fn names_items(&self, name: &str) -> bool {
        let name = name.trim();
        if name.is_empty() || is_every_item(name) || self.item_number(name).is_some() {
            return true;
        }
        let wanted = key(name);
        self.kits.contains(name)
            || self.models.contains(name)
            || self.kinds.iter().any(|kind| kind.keys.contains(&wanted))
    }

    /// Whether entries of an event must say for which item: completions, findings on their own, dates of an item's life.
    pub fn needs_item(&self, event: u32) -> bool {
        let info = self.program.inner().info(event);
        info.task.is_some() || info.life.is_some_and(|life| life != Life::Void)
    }

    /// What is not used of an entry that says no item.
    pub fn not_used_without_item(&self, fact: &Fact) -> Option<NotUsed> {
        if self.needs_item(fact.event) {
            return Some(NotUsed::Entry);
        }
        let values = fact.has(READING) || self.extra(fact).is_some_and(|extra| extra.found != 0);
        values.then_some(NotUsed::Values)
    }

    /// The date of the earliest event of a sort, wherever `at` is. It holds for every member, whatever the dates.
    fn life_date(&self, namings: &[Naming], life: Life) -> Option<NaiveDate> {
        let program = self.program.inner();
        let named = namings.iter().filter(|naming| naming.by != By::NoName).map(|naming| naming.stream);
        named
            .filter(|stream| self.store.stream(*stream).is_some_and(|stream| stream.lives > 0))
            .filter_map(|stream| {
                let is_it =
                    |line: &&Line| !line.is(VOIDED) && program.info(self.fact(line).event).life == Some(life);
                let line = self.store.lines(stream).iter().find(is_it)?;
                Some(self.fact(line).at(line))
            })
            .min()
            .map(|at| program.zone.date(at))
    }

    /// The items that an entry's `item` names, see [`crate::Book::members`].
    pub fn members(&self, name: &str) -> Vec<&ItemRecord> {
        let name = name.trim();
        if let Some(record) = self.item(name).filter(|_| !name.is_empty()) {
            return vec![record];
        }
        let wanted = key(name);
        let is_in_model = |item: &Item| item.model.as_deref() == Some(name);
        let named = |record: &&ItemRecord| match name {
            "" => true,
            _ if is_every_item(name) => true,
            _ if self.kits.contains(name) => record.is_in(name),
            _ if self.models.contains(name) => is_in_model(&record.item),
            _ => self.kinds.get(record.kind as usize).is_some_and(|kind| kind.keys.contains(&wanted)),
        };
        let mut items: Vec<&ItemRecord> = self.items.iter().filter(named).collect();
        items.sort_by_key(|record| &record.item.id);
        items
    }

    /// The items that an entry is for which names them and has these dates.
    pub fn members_between(&self, name: &str, from: NaiveDate, to: NaiveDate) -> Vec<&ItemRecord> {
        let stream = self.find_item_stream(name.trim());
        let is_for = |record: &&ItemRecord| {
            let member = self.member(record);
            let mut namings = member.namings.iter().filter(|naming| Some(naming.stream) == stream);
            namings.any(|naming| member.dates(*naming).meets(from, to))
        };
        self.members(name).into_iter().filter(is_for).collect()
    }

    /// When an entry begins, and when it is over.
    pub fn extents(&self, line: &Line, fact: &Fact) -> (Instant, Instant) {
        let at = fact.at(line);
        match self.span(line, fact) {
            Some(span) => (span.begin.at(), span.end.at()),
            None if fact.has(super::entries::DATED) => (at, self.zone().end(self.zone().date(at))),
            None => (at, at),
        }
    }

    /// The first and the last date of an entry.
    pub fn dates(&self, line: &Line) -> (NaiveDate, NaiveDate) {
        self.span_dates(line).unwrap_or_else(|| {
            let date = self.zone().date(self.fact(line).at(line));
            (date, date)
        })
    }

    /// The first and the last date of an entry that has an `until`.
    pub fn span_dates(&self, line: &Line) -> Option<(NaiveDate, NaiveDate)> {
        let span = self.span(line, self.fact(line))?;
        Some((span.begin.date(), span.end.date()))
    }
}
