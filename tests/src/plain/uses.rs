//! What an entry is for an item: completion, amount, use; conditions; the cycle (contract, sections 4 and 5).

use super::clock::Instant;
use super::items::{Item, NamedBy};
use super::records::Entry;
use super::rules::{RESERVED, all_atoms};
use super::world::World;
use chrono::NaiveDate;
use kitlore_syntax::tree::{AtomKind, Conditions, Rule, Unless};
use kitlore_syntax::{Amount, When};
use std::collections::BTreeSet;

impl World<'_> {
    /// A task and all that it covers, transitively.
    pub fn covered(&self, task: &str) -> BTreeSet<String> {
        let mut all = BTreeSet::from([task.to_owned()]);
        loop {
            let size = all.len();
            for covers in &self.house.covers {
                if all.contains(&covers.task.key) {
                    all.extend(covers.covered.iter().map(|t| t.key.clone()));
                }
            }
            if all.len() == size {
                return all;
            }
        }
    }

    /// Whether a rule asks about a task (section 4, completion).
    fn asks_about(&self, rule: &Rule, task: &str) -> bool {
        all_atoms(rule).any(|atom| match atom {
            AtomKind::Finding { task: inspected, .. } => inspected.key == task,
            AtomKind::Usage { name, .. } => name.key == task,
            AtomKind::Delay { event, unless, .. } => {
                let cancels = |u: &Unless| matches!(u, Unless::Event(name) if name.key == task);
                event.key == task || unless.iter().any(cancels)
            }
            _ => false,
        })
    }

    /// The tasks of which an entry is a completion for an item (section 4, completion).
    pub fn completes(&self, entry: &Entry, item: &Item) -> BTreeSet<String> {
        let covered = self.covered(&entry.event);
        let concerns = |rule: &Rule| covered.contains(&rule.task.key) || self.asks_about(rule, &entry.event);
        let applies = |rule: &Rule| self.applies(rule, item) || self.applied(rule, item, self.dates(entry));
        let mut applying = self.house.rules.iter().filter(|r| applies(r));
        if self.tasks.contains(&entry.event) && applying.any(concerns) { covered } else { BTreeSet::new() }
    }

    /// The entries of an item that are not plans, in time order.
    pub fn past(&self, item: &Item) -> Vec<&Entry> {
        self.entries_of(item).into_iter().filter(|e| e.counts <= self.at).collect()
    }

    /// Last done (section 5).
    pub fn last_done(&self, item: &Item, task: &str) -> Option<&Entry> {
        self.past(item).into_iter().rev().find(|e| self.completes(e, item).contains(task))
    }

    /// The date of last done.
    pub fn last_done_on(&self, item: &Item, task: &str) -> Option<NaiveDate> {
        self.last_done(item, task).map(|e| self.clock.date(e.counts))
    }

    /// The entries of the cycle (section 5, cycle start).
    pub fn cycle(&self, item: &Item, task: &str) -> Vec<&Entry> {
        let after = self.last_done(item, task).map(|e| (e.counts, e.order));
        self.past(item).into_iter().filter(|e| Some((e.counts, e.order)) > after).collect()
    }

    /// Whether a time as written lies within a span (section 4, conditions).
    fn lies_within(&self, when: When, span: &Entry) -> bool {
        let Some(until) = span.until else { return false };
        match when {
            When::Date(date) => self.clock.date_of(span.when) <= date && date <= self.clock.date_of(until),
            other => (span.start..=span.ends).contains(&self.clock.starts(other)),
        }
    }

    /// The conditions of an entry for an item, its own and those of spans (section 4, conditions).
    pub fn conditions(&self, entry: &Entry, item: &Item) -> BTreeSet<String> {
        let mut all = entry.conditions.clone();
        for span in self.entries_of(item) {
            let end = entry.until.unwrap_or(entry.when);
            if self.lies_within(entry.when, span) && self.lies_within(end, span) {
                all.extend(span.conditions.iter().cloned());
            }
        }
        all
    }

    /// Whether an entry has the conditions that an atom asks for.
    pub fn fits(&self, conditions: &Conditions, entry: &Entry, item: &Item) -> bool {
        let has = self.conditions(entry, item);
        match conditions {
            Conditions::Whatever => true,
            Conditions::Any(names) => names.iter().any(|n| has.contains(&n.key)),
            Conditions::All(names) => names.iter().all(|n| has.contains(&n.key)),
            Conditions::Neither(names) => !names.iter().any(|n| has.contains(&n.key)),
        }
    }

    /// Whether some usage atom counts a name (section 4, meter).
    pub fn is_counted(&self, name: &str) -> bool {
        let counts = |a: &AtomKind| matches!(a, AtomKind::Usage { name: n, .. } if n.key == name);
        self.house.rules.iter().flat_map(all_atoms).any(counts)
    }

    /// Whether an entry's unit forbids to count it (section 4, unit).
    pub fn unit_differs(&self, entry: &Entry) -> bool {
        !entry.unit.is_empty() && entry.unit != entry.event
    }

    /// Whether an entry is a reading of a meter (section 4, usage).
    pub fn reads_meter(&self, entry: &Entry) -> bool {
        entry.reading.is_some()
            && self.is_counted(&entry.event)
            && !self.tasks.contains(&entry.event)
            && !self.unit_differs(entry)
    }

    /// The reading of a meter before this one.
    pub fn reading_before(&self, entry: &Entry, item: &Item) -> Option<Amount> {
        let earlier = |e: &&&Entry| {
            e.event == entry.event && self.reads_meter(e) && (e.counts, e.order) < (entry.counts, entry.order)
        };
        self.entries_of(item).iter().rev().find(earlier)?.reading
    }

    /// What an entry adds to a usage of its own name, in millionths (section 4, usage and completion).
    pub fn adds(&self, entry: &Entry, item: &Item, task_was_done: bool) -> i64 {
        if self.tasks.contains(&entry.event) {
            return Amount::ONE.micros();
        }
        if self.unit_differs(entry) {
            return 0;
        }
        let Some(reading) = entry.reading else {
            return entry.amount.unwrap_or(Amount::ONE).micros();
        };
        match self.reading_before(entry, item) {
            Some(before) if reading < before => reading.micros(),
            Some(before) => reading.micros() - before.micros(),
            None if task_was_done => 0,
            None => reading.micros(),
        }
    }

    /// Whether an entry is a use of an item (section 5, unused).
    fn is_use(&self, entry: &Entry, item: &Item) -> bool {
        let named = matches!(self.named(entry, item), Some(NamedBy::Id | NamedBy::Kit));
        let moved = || {
            let before = self.reading_before(entry, item);
            self.reads_meter(entry) && before.is_some() && before != entry.reading
        };
        named
            && !self.tasks.contains(&entry.event)
            && !RESERVED.contains(&entry.event.as_str())
            && (entry.reading.is_none() || moved())
    }

    /// The date of the last use, asked at an instant (section 5, unused).
    pub fn last_use_on(&self, item: &Item, at: Instant) -> Option<NaiveDate> {
        let today = self.clock.date(at);
        let uses = self.entries_of(item).into_iter().filter(|e| self.is_use(e, item));
        let dates = uses.filter_map(|e| {
            // The date it ended on, as people write it: where clocks go back over midnight, an `until` dated alone
            // may count on the date before, and an instant of that date may come later than it.
            let over = self.clock.date(e.ends).min(today);
            let ended = (e.counts <= at).then(|| self.clock.date(e.counts).max(over));
            ended.max((e.start <= at && over == today).then_some(today))
        });
        dates.max()
    }
}
