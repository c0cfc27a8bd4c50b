//! Whom entries are for: the names of an item, and the entries filed under them.

use super::entries::{DATED, FOR_GROUP, FOR_KIT, Fact, Line, VOIDED};
use super::input::Item;
use super::item::ItemRecord;
use super::ledger::Ledger;
use crate::rules::Life;
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::key;

/// The name under which entries for every item are filed.
const EVERY_ITEM: u32 = 0;

impl Ledger {
    /// The streams whose entries are for an item, and whether their name is its id or kit.
    pub fn streams_of(&self, record: &ItemRecord) -> Vec<(u32, bool)> {
        let mut streams = vec![(record.stream, true)];
        if !self.groups.is_empty() {
            self.add_groups_of(record, &mut streams);
        }
        if !self.store.lines(EVERY_ITEM).is_empty() {
            streams.push((EVERY_ITEM, false));
        }
        streams
    }

    fn add_groups_of(&self, record: &ItemRecord, streams: &mut Vec<(u32, bool)>) {
        let no_id = |stream: &u32| self.store.stream(*stream).is_some_and(|stream| stream.item.is_none());
        for kit in &record.item.kits {
            if let Some(stream) = self.find_stream(kit).filter(no_id)
                && !streams.contains(&(stream, true))
            {
                streams.push((stream, true));
            }
        }
        if let Some(model) = record.item.model.as_ref().filter(|model| !self.kits.contains(*model)) {
            streams.extend(self.find_stream(model).filter(no_id).map(|stream| (stream, false)));
        }
        let keys = self.kinds.get(record.kind as usize).map_or(&[][..], |kind| &kind.keys);
        for stream in keys.iter().filter_map(|key| self.groups.get(key)).flatten() {
            let name = self.store.stream(*stream).map_or("", |stream| &stream.name);
            if no_id(stream) && !self.kits.contains(name) && !self.models.contains(name) {
                streams.push((*stream, false));
            }
        }
    }

    /// The entries of some streams in order: borrowed if they are of one, else copied together.
    pub fn merge<'b>(&'b self, streams: &[(u32, bool)], buffer: &'b mut Vec<Line>) -> &'b [Line] {
        self.merge_from(streams, i64::MIN, buffer)
    }

    /// As [`Ledger::merge`], without what counts before a time, in ticks.
    pub fn merge_from<'b>(
        &'b self,
        streams: &[(u32, bool)],
        from: i64,
        buffer: &'b mut Vec<Line>,
    ) -> &'b [Line] {
        let lines = |stream: u32| {
            let lines = self.store.lines(stream);
            // Most ask for all of them.
            let first = if from == i64::MIN { 0 } else { lines.partition_point(|line| line.ticks < from) };
            lines.get(first..).unwrap_or(&[])
        };
        let full = |(stream, _): &&(u32, bool)| !lines(*stream).is_empty();
        let mut filled = streams.iter().filter(full);
        match (filled.next(), filled.next()) {
            (Some((stream, _)), None) if streams.first().is_some_and(|(own, _)| own == stream) => {
                lines(*stream)
            }
            _ => {
                buffer.clear();
                for (number, (stream, names_item)) in streams.iter().enumerate() {
                    let mark = match (number, names_item) {
                        (0, _) => 0,
                        (_, true) => FOR_KIT,
                        (_, false) => FOR_GROUP,
                    };
                    let first = buffer.len();
                    buffer.extend_from_slice(lines(*stream));
                    buffer.iter_mut().skip(first).for_each(|line| line.mark(mark));
                }
                buffer.sort_by_key(|line| self.store.facts.order(line));
                buffer
            }
        }
    }

    /// The date of the earliest event of a sort, wherever `at` is.
    pub fn life_date(&self, streams: &[(u32, bool)], life: Life) -> Option<NaiveDate> {
        let program = self.program.inner();
        streams
            .iter()
            .filter(|(stream, _)| self.store.stream(*stream).is_some_and(|stream| stream.lives > 0))
            .filter_map(|(stream, _)| {
                let is_it =
                    |line: &&Line| !line.is(VOIDED) && program.info(self.fact(line).event).life == Some(life);
                let line = self.store.lines(*stream).iter().find(is_it)?;
                Some(self.fact(line).at(line))
            })
            .min()
            .map(|at| program.zone.date(at))
    }
}

impl Ledger {
    /// The items that an entry's `item` names, see [`crate::Book::members`].
    pub fn members(&self, name: &str) -> Vec<&Item> {
        let name = name.trim();
        if let Some(record) = self.item(name).filter(|_| !name.is_empty()) {
            return vec![&record.item];
        }
        let wanted = key(name);
        let named = |record: &ItemRecord| match name {
            "" => true,
            _ if self.kits.contains(name) => record.item.kits.iter().any(|kit| kit == name),
            _ if self.models.contains(name) => record.item.model.as_deref() == Some(name),
            _ => self.kinds.get(record.kind as usize).is_some_and(|kind| kind.keys.contains(&wanted)),
        };
        let mut items: Vec<&Item> =
            self.items.iter().filter(|record| named(record)).map(|record| &record.item).collect();
        items.sort_by_key(|item| &item.id);
        items
    }

    /// When an entry begins, and when it is over.
    pub fn extents(&self, line: &Line, fact: &Fact) -> (Instant, Instant) {
        let at = fact.at(line);
        match self.span(line, fact) {
            Some(span) => (span.begin.at(), span.end.at()),
            None if fact.has(DATED) => (at, self.zone().end(self.zone().date(at))),
            None => (at, at),
        }
    }
}
