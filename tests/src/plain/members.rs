//! Whom entries hold for: those that were there and in the kit then; dates of an item's life (contract, section 4).

use super::items::{Item, NamedBy};
use super::records::{EVERY_ITEM, Entry};
use super::rules::{RESERVED, all_atoms};
use super::world::World;
use chrono::NaiveDate;
use kitlore_syntax::Name;
use kitlore_syntax::tree::{AtomKind, Unless};

/// Whether an entry is for every item.
pub fn is_for_all(entry: &Entry) -> bool {
    entry.item.is_empty() || entry.item == EVERY_ITEM
}

impl World<'_> {
    /// The first and the last date of an entry.
    pub fn dates(&self, entry: &Entry) -> (NaiveDate, NaiveDate) {
        let (first, last) =
            (self.clock.date_of(entry.when), self.clock.date_of(entry.until.unwrap_or(entry.when)));
        (first.min(last), first.max(last))
    }

    /// From when on an item is there; always, if absent.
    pub fn there_from(&self, item: &Item) -> Option<NaiveDate> {
        self.received(item).into_iter().chain(self.in_service(item)).min()
    }

    /// Whether an entry holds for an item that is there from a date on.
    fn holds(&self, entry: &Entry, item: &Item, there_from: Option<NaiveDate>) -> bool {
        let Some(named) = self.named(entry, item) else { return false };
        let (first, last) = self.dates(entry);
        let first = there_from.map_or(first, |there| first.max(there));
        match named {
            NamedBy::Id => true,
            _ if ["received", "in service"].contains(&entry.event.as_str()) => true,
            NamedBy::Kit => item.kits.iter().any(|stay| stay.kit == entry.item && stay.meets(first, last)),
            NamedBy::Model | NamedBy::Kind | NamedBy::Nothing => first <= last,
        }
    }

    /// The entries that hold for an item, in time order.
    pub fn entries_of(&self, item: &Item) -> Vec<&Entry> {
        let there_from = self.there_from(item);
        self.entries.iter().filter(|e| self.holds(e, item, there_from)).collect()
    }

    /// The same, with those from before the item was there that name more than a kit: news.
    pub fn entries_and_news_of(&self, item: &Item) -> Vec<&Entry> {
        let there_from = self.there_from(item);
        let is_news = |e: &Entry| self.named(e, item).is_some_and(|by| by != NamedBy::Kit);
        self.entries.iter().filter(|e| self.holds(e, item, there_from) || is_news(e)).collect()
    }

    /// Whether a delay after a name, and its `unless`, look at news from before an item was there.
    pub fn takes_news(&self, name: &Name) -> bool {
        let key = &name.key;
        !self.tasks.contains(key) && !RESERVED.contains(&key.as_str()) && !self.is_counted(key)
    }

    /// Whether a delay of some rule for an item looks at an entry as news.
    fn is_news_of(&self, entry: &Entry, item: &Item) -> bool {
        let looks = |atom: &AtomKind| {
            let AtomKind::Delay { event, unless, .. } = atom else { return false };
            let cancels = |u: &Unless| matches!(u, Unless::Event(name) if name.key == entry.event);
            self.takes_news(event) && (event.key == entry.event || unless.iter().any(cancels))
        };
        let named = self.named(entry, item).is_some_and(|by| by != NamedBy::Kit);
        named && self.rules_of(item).into_iter().flat_map(all_atoms).any(looks)
    }

    /// Whether an entry holds for nothing, though it names something there is.
    pub fn has_no_member(&self, entry: &Entry) -> bool {
        let known = is_for_all(entry) || self.items.iter().any(|i| self.named(entry, i).is_some());
        let holds = |i: &Item| self.holds(entry, i, self.there_from(i)) || self.is_news_of(entry, i);
        known && !self.items.iter().any(holds)
    }

    /// The items that an entry holds for.
    pub fn members(&self, entry: &Entry) -> Vec<&Item> {
        self.items.iter().filter(|i| self.holds(entry, i, self.there_from(i))).collect()
    }

    /// The date of the earliest entry of a life event.
    fn event_date(&self, item: &Item, event: &str) -> Option<NaiveDate> {
        let entry = self.entries.iter().find(|e| e.event == event && self.named(e, item).is_some())?;
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

    /// Whether an item is retired by `at` (section 4, item).
    pub fn is_retired(&self, item: &Item) -> bool {
        let by_date = item.retired.map(|d| self.clock.start_of(d));
        let by_entry = self.entries_of(item).into_iter().filter(|e| {
            let retires = |task: &String| task.split(' ').next() == Some("retire");
            e.event == "retired" || self.completes(e, item).iter().any(retires)
        });
        by_date.into_iter().chain(by_entry.map(|e| e.counts)).any(|t| t <= self.at)
    }

    /// Whether an item is not there yet at `at` (section 5, first paragraph).
    pub fn is_to_come(&self, item: &Item) -> bool {
        self.there_from(item).is_some_and(|d| self.clock.start_of(d) > self.at)
    }

    /// Whether an item has no rows.
    pub fn is_absent(&self, item: &Item) -> bool {
        self.is_retired(item) || self.is_to_come(item)
    }
}
