//! Doubts about entries that could be read (contract, section 4).

use super::items::Item;
use super::members::is_for_all;
use super::records::Entry;
use super::rows::Problem;
use super::rules::{RESERVED, all_atoms};
use super::world::World;
use kitlore_syntax::tree::{AtomKind, House, Rule, Unless};
use kitlore_syntax::{Amount, When};
use std::collections::BTreeSet;

/// Whether something is doubtful for an item.
type Doubt<'a> = Box<dyn Fn(&Item) -> bool + 'a>;

/// The codes that this evaluator can report.
const REPORTED: [&str; 28] = [
    "unknown-item",
    "unknown-event",
    "unknown-task-for-item",
    "negative-amount",
    "until-before-when",
    "bad-time",
    "bad-number",
    "duplicate-id",
    "duplicate-item",
    "void-unknown",
    "void-loop",
    "unit-differs",
    "meter-fell",
    "no-base-reading",
    "reading-over-amount",
    "same-day-order",
    "missing-event",
    "missing-id",
    "missing-kind",
    "no-item",
    "no-member",
    "unknown-finding",
    "unknown-condition",
    "before-received",
    "not-yet-done",
    "no-effect",
    "same-twice",
    "no-such-kind",
];

/// Whether this evaluator can report a code under these rules: it does not know what is close to what.
pub fn reports(house: &House, code: &str) -> bool {
    REPORTED.contains(&code) && (code != "unknown-condition" || house.conditions.is_some())
}

impl World<'_> {
    /// Adds all that this evaluator can report, and gives the doubts that touch no row.
    pub fn doubt(&self, problems: &mut BTreeSet<Problem>) -> BTreeSet<Problem> {
        let mut idle = BTreeSet::new();
        for entry in &self.entries {
            let members: Vec<&Item> = self.members(entry);
            for code in self.mistakes_of(entry, &members) {
                problems.insert(Problem::log(code, entry.row));
                if code == "unknown-task-for-item" && members.iter().all(|i| self.is_absent(i)) {
                    idle.insert(Problem::log(code, entry.row));
                }
            }
            for (code, doubtful) in self.doubts_about(entry) {
                let items: Vec<&&Item> = members.iter().filter(|i| doubtful(i)).collect();
                if !items.is_empty() {
                    problems.insert(Problem::log(code, entry.row));
                }
                let matters = |i: &Item| match code {
                    "same-day-order" => self.has_timed_uses(entry, i, true),
                    "no-base-reading" => self.is_baseless(entry, i, true),
                    _ => true,
                };
                if !items.iter().any(|i| self.touches_a_row(entry, i) && matters(i)) {
                    idle.insert(Problem::log(code, entry.row));
                }
            }
        }
        idle
    }

    /// What is wrong with an entry, whatever asks about it.
    fn mistakes_of(&self, entry: &Entry, members: &[&Item]) -> Vec<&'static str> {
        let completion = self.tasks.contains(&entry.event);
        let mut codes = Vec::new();
        if self.has_no_member(entry) {
            codes.push("no-member");
        } else if !is_for_all(entry) && !self.items.iter().any(|i| self.named(entry, i).is_some()) {
            codes.push("unknown-item");
        }
        if !self.known_events().contains(&entry.event) {
            codes.push("unknown-event");
        }
        if completion && !members.is_empty() && members.iter().all(|i| self.completes(entry, i).is_empty()) {
            codes.push("unknown-task-for-item");
        }
        if self.is_counted(&entry.event) && !completion && self.unit_differs(entry) {
            codes.push("unit-differs");
        }
        if !completion && entry.reading.is_some() && entry.amount.is_some() {
            codes.push("reading-over-amount");
        }
        codes
    }

    /// The doubts an entry can raise, each with the items for which it does.
    fn doubts_about<'a>(&'a self, entry: &'a Entry) -> [(&'static str, Doubt<'a>); 4] {
        [
            ("unit-differs", Box::new(|i| self.gauge_unit_differs(entry, i))),
            (
                "meter-fell",
                Box::new(|i| self.reads_meter(entry) && self.reading_before(entry, i) > entry.reading),
            ),
            ("same-day-order", Box::new(|i| self.has_timed_uses(entry, i, false))),
            ("no-base-reading", Box::new(|i| self.is_baseless(entry, i, false))),
        ]
    }

    /// The rules that make the rows of an item.
    pub fn rules_of(&self, item: &Item) -> Vec<&Rule> {
        let tasks: BTreeSet<&String> = self.house.rules.iter().map(|r| &r.task.key).collect();
        tasks.iter().flat_map(|t| self.rules_for(item, t)).map(|(_, rule)| rule).collect()
    }

    /// Whether an entry's name stands in a rule that makes a row of an item, or is the rule's task.
    fn touches_a_row(&self, entry: &Entry, item: &Item) -> bool {
        let looks = |a: &AtomKind| match a {
            AtomKind::Usage { name, .. } | AtomKind::Reading { name, .. } => name.key == entry.event,
            _ => false,
        };
        let done = self.completes(entry, item);
        let touched = |r: &&Rule| all_atoms(r).any(looks) || done.contains(&r.task.key);
        !self.is_absent(item) && self.rules_of(item).iter().any(touched)
    }

    /// Every name of an event in the rules.
    fn known_events(&self) -> BTreeSet<String> {
        let mut known = self.tasks.clone();
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
    fn gauge_unit_differs(&self, entry: &Entry, item: &Item) -> bool {
        let differs = |atom: &AtomKind| match atom {
            AtomKind::Reading { name, unit: Some(unit), .. } => {
                name.key == entry.event && unit.key != entry.unit
            }
            _ => false,
        };
        let looked_at = entry.reading.is_some() && !entry.unit.is_empty();
        looked_at && self.rules_of(item).iter().any(|r| all_atoms(r).any(differs))
    }

    /// Whether it is a completion dated without time on a day that has timed uses (section 4, order).
    fn has_timed_uses(&self, entry: &Entry, item: &Item, only_counted: bool) -> bool {
        let When::Date(_) = entry.when else { return false };
        let done = self.completes(entry, item);
        let counted = |e: &Entry| {
            let counts = |a: &AtomKind| matches!(a, AtomKind::Usage { name, .. } if name.key == e.event);
            self.rules_of(item).iter().any(|r| done.contains(&r.task.key) && all_atoms(r).any(counts))
        };
        let is_use = |e: &Entry| self.is_counted(&e.event) || !self.tasks.contains(&e.event);
        // Where clocks go back over midnight a date's instants are not in one piece.
        let on_its_date = |e: &Entry| self.clock.date(e.counts) == self.clock.date(entry.counts);
        let by_its_end = |e: &Entry| (entry.start..=entry.ends).contains(&e.counts);
        let timed_use = |e: &&Entry| {
            let timed = !matches!(e.until.unwrap_or(e.when), When::Date(_)) && e.counts > entry.counts;
            let surely =
                counted(e) && e.amount != Some(Amount::ZERO) && entry.until.is_none() && on_its_date(e);
            timed && (surely || !only_counted && is_use(e) && (on_its_date(e) || by_its_end(e)))
        };
        !done.is_empty() && self.entries_of(item).iter().any(timed_use)
    }

    /// Whether it is the first reading of a meter and adds nothing to a rule's count (section 4, usage).
    fn is_baseless(&self, entry: &Entry, item: &Item, in_cycle: bool) -> bool {
        let counts = |a: &AtomKind| matches!(a, AtomKind::Usage { name, .. } if name.key == entry.event);
        let tasks: BTreeSet<&String> =
            self.house.rules.iter().filter(|r| all_atoms(r).any(counts)).map(|r| &r.task.key).collect();
        let baseless = |task: &&String| {
            let rules = self.rules_for(item, task);
            let before = |e: &&Entry| (e.counts, e.order) < (entry.counts, entry.order);
            let mut done_before = self
                .past(item)
                .into_iter()
                .filter(before)
                .filter(|e| self.completes(e, item).contains(*task));
            rules.iter().any(|(_, r)| all_atoms(r).any(counts))
                && done_before.next().is_some()
                && (!in_cycle || self.cycle(item, task).iter().any(|e| e.row == entry.row))
        };
        self.reads_meter(entry) && self.reading_before(entry, item).is_none() && tasks.iter().any(baseless)
    }
}
