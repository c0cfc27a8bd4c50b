//! Doubts about entries that could be read (contract, section 4).

use super::items::Item;
use super::records::Entry;
use super::uses::all_atoms;
use super::{Problem, World};
use kitlore_syntax::When;
use kitlore_syntax::tree::{AtomKind, Unless};
use std::collections::BTreeSet;

const RESERVED: [&str; 5] = ["received", "in service", "retired", "finding", "void"];

impl World<'_> {
    /// All that this evaluator can tell.
    pub fn doubt(&self, problems: &mut BTreeSet<Problem>) {
        for entry in &self.entries {
            for code in self.doubts_about(entry) {
                problems.insert(Problem::log(code, entry.row));
            }
        }
        for item in &self.items {
            for entry in self.baseless(item) {
                problems.insert(Problem::log("no-base-reading", entry.row));
            }
        }
    }

    fn doubts_about(&self, entry: &Entry) -> Vec<&'static str> {
        let members: Vec<&Item> = self.items.iter().filter(|i| self.named(entry, i).is_some()).collect();
        let completion = self.tasks().contains(&entry.event);
        let counted = self.is_counted(&entry.event) && !completion;
        let mut codes = Vec::new();
        if members.is_empty() && !entry.item.is_empty() {
            codes.push("unknown-item");
        }
        if !self.known_events().contains(&entry.event) {
            codes.push("unknown-event");
        }
        if completion && !members.is_empty() && members.iter().all(|i| self.completes(entry, i).is_empty()) {
            codes.push("unknown-task-for-item");
        }
        if counted && self.unit_differs(entry) || self.gauge_unit_differs(entry) {
            codes.push("unit-differs");
        }
        if counted && entry.reading.is_some() && entry.amount.is_some() {
            codes.push("reading-over-amount");
        }
        if self.reads_meter(entry) && members.iter().any(|i| self.reading_before(entry, i) > entry.reading) {
            codes.push("meter-fell");
        }
        if self.has_timed_uses(entry, &members) {
            codes.push("same-day-order");
        }
        codes
    }

    /// Every name of an event in the rules.
    fn known_events(&self) -> BTreeSet<String> {
        let mut known = self.tasks();
        known.extend(RESERVED.map(str::to_owned));
        known.extend(self.house.events.iter().flatten().map(|n| n.key.clone()));
        for atom in self.house.rules.iter().flat_map(all_atoms) {
            match atom {
                AtomKind::Before { event: name, .. }
                | AtomKind::Reading { name, .. }
                | AtomKind::Usage { name, .. } => drop(known.insert(name.key.clone())),
                AtomKind::Delay { event, unless, .. } => {
                    known.insert(event.key.clone());
                    known.extend(unless.iter().filter_map(|u| match u {
                        Unless::Event(name) => Some(name.key.clone()),
                        Unless::Newer(_) => None,
                    }));
                }
                _ => {}
            }
        }
        known
    }

    /// Whether a reading has another unit than a rule that looks at it (section 5, reading).
    fn gauge_unit_differs(&self, entry: &Entry) -> bool {
        let differs = |atom: &AtomKind| match atom {
            AtomKind::Reading { name, unit: Some(unit), .. } => name.key == entry.event && unit.key != entry.unit,
            _ => false,
        };
        let mut atoms = self.house.rules.iter().flat_map(all_atoms);
        entry.reading.is_some() && !entry.unit.is_empty() && atoms.any(differs)
    }

    /// Whether it is a completion dated without time on a day that has timed uses (section 4, order).
    fn has_timed_uses(&self, entry: &Entry, members: &[&Item]) -> bool {
        let When::Date(date) = entry.when else { return false };
        let timed_use = |e: &&Entry| {
            !matches!(e.when, When::Date(_))
                && self.clock.date(e.counts) == date
                && !self.tasks().contains(&e.event)
                && !RESERVED.contains(&e.event.as_str())
        };
        let with_uses = |item: &&Item| {
            !self.completes(entry, item).is_empty() && self.entries_of(item).iter().any(timed_use)
        };
        members.iter().any(with_uses)
    }

    /// First readings of a meter that add nothing (section 4, usage).
    fn baseless(&self, item: &Item) -> Vec<&Entry> {
        let mut found = Vec::new();
        let tasks: BTreeSet<&String> = self.house.rules.iter().map(|r| &r.task.key).collect();
        for task in tasks.into_iter().filter(|t| self.last_done(item, t).is_some()) {
            let rules = self.rules_for(item, task);
            let counts = |entry: &Entry| {
                let is_it = |a: &AtomKind| matches!(a, AtomKind::Usage { name, .. } if name.key == entry.event);
                rules.iter().any(|(_, r)| all_atoms(r).any(is_it))
            };
            let baseless = |e: &&Entry| counts(e) && self.reads_meter(e) && self.reading_before(e, item).is_none();
            found.extend(self.cycle(item, task).into_iter().filter(baseless));
        }
        found
    }
}
