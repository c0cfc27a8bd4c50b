//! What the rules that apply to an item ask of its entries: counters to keep and, for each event, what it does.
//!
//! Items of one kind that pass the same filters share one profile.

use crate::log::Counted;
use crate::names::{Map, Set};
use crate::rules::{Atom, CompiledRule, Inner, Life, WEIGHT_ONE};
use std::ops::Range;
use std::sync::Arc;

/// The counters and rows of a set of rules.
#[derive(Debug, Default)]
pub(crate) struct Profile {
    /// One per row, by task key.
    pub tasks: Vec<TaskSlot>,
    pub usages: Vec<UsageSlot>,
    pub delays: Vec<DelaySlot>,
    pub inspections: Vec<InspectionSlot>,
    pub spots: Vec<SpotSlot>,
    pub gauges: Vec<GaugeSlot>,
    /// Per event the range of its actions.
    starts: Vec<u32>,
    actions: Vec<Action>,
    /// What becomes of entries for several items.
    pub counted: Arc<Counted>,
    /// Some rule asks how long the item has been unused.
    pub asks_unused: bool,
    /// An item is grounded by having been unused, so that each use matters and not the last alone.
    pub grounds_unused: bool,
    /// Some rule asks under which conditions entries were.
    pub asks_conditions: bool,
}

/// One task: its rules and the counters that its completion sets back.
#[derive(Debug)]
pub(crate) struct TaskSlot {
    pub task: u32,
    pub rules: Vec<RuleSlot>,
    /// Rules that an `instead` rule silences.
    pub silenced: Vec<u32>,
    pub usages: Range<usize>,
    pub delays: Range<usize>,
    pub inspections: Range<usize>,
    pub spots: Range<usize>,
    pub gauges: Range<usize>,
}

/// One rule and, for each of its atoms, the number of its counter.
#[derive(Debug)]
pub(crate) struct RuleSlot {
    pub rule: u32,
    pub counters: Vec<usize>,
}

/// A sum of amounts.
#[derive(Debug)]
pub(crate) struct UsageSlot {
    pub task: usize,
    pub test: u32,
    pub threshold: i128,
    /// It counts completions.
    pub of_task: bool,
}

/// Occurrences that a delay counts from.
#[derive(Debug)]
pub(crate) struct DelaySlot {
    pub newer: bool,
    /// Without exceptions only the first occurrence matters.
    pub cancels: bool,
    /// It counts from what is no use, such as a recall: that is news also for items that come later.
    pub is_news: bool,
}

/// The latest completion of an inspection.
#[derive(Debug)]
pub(crate) struct InspectionSlot {
    pub findings: Vec<u32>,
    /// It grounds: what was found once stands until the task is done.
    pub stays: bool,
}

/// The first of some findings.
#[derive(Debug)]
pub(crate) struct SpotSlot {
    pub findings: Vec<u32>,
}

/// A run of readings.
#[derive(Debug)]
pub(crate) struct GaugeSlot {
    pub rule: u32,
    pub atom: usize,
    /// It grounds: what was read once stands until the task is done.
    pub stays: bool,
}

/// What an entry does to an item.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Action {
    Count(usize),
    Occur(usize),
    Cancel(usize),
    Inspect(usize),
    Gauge(usize),
    Complete(usize),
    Retire,
    /// A completion that counts for none of these items.
    Refuse,
}

impl Profile {
    /// The profile of the rules with these numbers, in order.
    pub fn new(program: &Inner, applicable: &[u32]) -> Self {
        let rules: Vec<(u32, &CompiledRule)> =
            applicable.iter().filter_map(|&id| Some((id, program.rules.get(id as usize)?))).collect();
        let mut profile = Profile::default();
        let mut actions: Vec<(u32, Action)> = Vec::new();
        let mut by_task = rules.clone();
        let key = |task: u32| program.task(task).map(|task| task.key.as_str());
        by_task.sort_by_key(|(_, rule)| key(rule.task));
        for own in by_task.chunk_by(|(_, one), (_, other)| one.task == other.task) {
            if let Some((_, first)) = own.first() {
                profile.add_task(program, first.task, own, &mut actions);
            }
        }
        let completions = profile.note_completions(program, &rules, &mut actions);
        let is_news = |action: &Action| match action {
            Action::Occur(slot) | Action::Cancel(slot) => {
                profile.delays.get(*slot).is_some_and(|delay| delay.is_news)
            }
            _ => false,
        };
        let news: Set<u32> =
            actions.iter().filter(|(_, action)| is_news(action)).map(|(event, _)| *event).collect();
        profile.counted = Arc::new(Counted { completions, news: news.into_iter().collect() });
        profile.index(program.events.len(), actions);
        profile
    }

    /// What an event does.
    pub fn actions(&self, event: u32) -> &[Action] {
        let at = event as usize;
        let (Some(&start), Some(&end)) = (self.starts.get(at), self.starts.get(at + 1)) else {
            return &[];
        };
        self.actions.get(start as usize..end as usize).unwrap_or(&[])
    }

    fn add_task(
        &mut self,
        program: &Inner,
        task: u32,
        rules: &[(u32, &CompiledRule)],
        actions: &mut Vec<(u32, Action)>,
    ) {
        let starts = self.counts();
        let instead = rules.iter().any(|(_, rule)| rule.instead);
        let mut slot = TaskSlot {
            task,
            rules: Vec::new(),
            silenced: Vec::new(),
            usages: 0..0,
            delays: 0..0,
            inspections: 0..0,
            spots: 0..0,
            gauges: 0..0,
        };
        for &(id, rule) in rules {
            if instead && !rule.instead {
                slot.silenced.push(id);
                continue;
            }
            let counters = rule
                .atoms
                .iter()
                .enumerate()
                .map(|(number, atom)| {
                    self.add_counter(program, (id, number), atom, rule.grounds(number), actions)
                })
                .collect();
            slot.rules.push(RuleSlot { rule: id, counters });
        }
        let ends = self.counts();
        let [u, d, i, s, g] = std::array::from_fn(|n| {
            let at = |counts: &[usize; 5]| counts.get(n).copied().unwrap_or(0);
            at(&starts)..at(&ends)
        });
        (slot.usages, slot.delays, slot.inspections, slot.spots, slot.gauges) = (u, d, i, s, g);
        self.tasks.push(slot);
    }

    fn counts(&self) -> [usize; 5] {
        [self.usages.len(), self.delays.len(), self.inspections.len(), self.spots.len(), self.gauges.len()]
    }

    /// Makes the counter of an atom and says its number; 0 for atoms that keep none. Whether it stays once it was
    /// reached.
    fn add_counter(
        &mut self,
        program: &Inner,
        (rule, number): (u32, usize),
        atom: &Atom,
        stays: bool,
        actions: &mut Vec<(u32, Action)>,
    ) -> usize {
        match atom {
            Atom::Usage { event, threshold, test } => {
                let slot = self.usages.len();
                self.asks_conditions |= *test != 0;
                self.usages.push(UsageSlot {
                    task: self.tasks.len(),
                    test: *test,
                    threshold: i128::from(threshold.micros()) * WEIGHT_ONE,
                    of_task: program.info(*event).task.is_some(),
                });
                actions.push((*event, Action::Count(slot)));
                slot
            }
            Atom::Delay { event, unless, newer, .. } => {
                let slot = self.delays.len();
                let info = program.info(*event);
                let is_news = info.task.is_none() && info.life.is_none() && info.meter.is_none();
                self.delays.push(DelaySlot { newer: *newer, cancels: !unless.is_empty(), is_news });
                actions.push((*event, Action::Occur(slot)));
                actions.extend(unless.iter().map(|event| (*event, Action::Cancel(slot))));
                slot
            }
            Atom::Finding { event, findings } => {
                let slot = self.inspections.len();
                self.inspections.push(InspectionSlot { findings: findings.clone(), stays });
                actions.push((*event, Action::Inspect(slot)));
                slot
            }
            Atom::Spotted { findings } => {
                self.spots.push(SpotSlot { findings: findings.clone() });
                self.spots.len() - 1
            }
            Atom::Reading { event, .. } => {
                let slot = self.gauges.len();
                self.gauges.push(GaugeSlot { rule, atom: number, stays });
                actions.push((*event, Action::Gauge(slot)));
                slot
            }
            Atom::Unused(_) => {
                self.asks_unused = true;
                self.grounds_unused |= stays;
                0
            }
            Atom::Before { test, .. } => {
                self.asks_conditions |= *test != 0;
                0
            }
            Atom::Calendar(_) | Atom::Age(_) | Atom::Interval(_) => 0,
        }
    }

    /// Notes which completions count for these items, gives that by event, and what they then complete. A completion
    /// comes after what its entry adds, so that it sets that back too: the entry is no part of the cycle it begins.
    fn note_completions(
        &mut self,
        program: &Inner,
        rules: &[(u32, &CompiledRule)],
        actions: &mut Vec<(u32, Action)>,
    ) -> Vec<bool> {
        let ruled: Set<u32> = rules.iter().map(|(_, rule)| rule.task).collect();
        let asked: Set<u32> = rules.iter().flat_map(|(_, rule)| &rule.asks).copied().collect();
        let slots: Map<u32, usize> =
            self.tasks.iter().zip(0..).map(|(slot, number)| (slot.task, number)).collect();
        let mut completions = vec![false; program.events.len()];
        for task in &program.tasks {
            if let Some(completes) = completions.get_mut(task.event as usize) {
                *completes =
                    asked.contains(&task.event) || task.closure.iter().any(|covered| ruled.contains(covered));
            }
        }
        // Of a completion that does not count only the reading is looked at.
        let counts = |event: u32| {
            program.info(event).task.is_none() || completions.get(event as usize).copied().unwrap_or(false)
        };
        actions.retain(|(event, action)| counts(*event) || matches!(action, Action::Gauge(_)));
        for task in &program.tasks {
            if !counts(task.event) {
                actions.push((task.event, Action::Refuse));
                continue;
            }
            let mut completed: Vec<usize> =
                task.closure.iter().filter_map(|task| slots.get(task).copied()).collect();
            completed.sort_unstable();
            actions.extend(completed.into_iter().map(|number| (task.event, Action::Complete(number))));
            let retires = |task: &u32| program.task(*task).is_some_and(|task| task.retires);
            if task.closure.iter().any(retires) {
                actions.push((task.event, Action::Retire));
            }
        }
        for (event, info) in program.event_info.iter().enumerate() {
            if info.life == Some(Life::Retired) {
                actions.push((u32::try_from(event).unwrap_or(u32::MAX), Action::Retire));
            }
        }
        completions
    }

    /// Whether a completion counts for these items.
    pub fn completes(&self, event: u32) -> bool {
        self.counted.completions.get(event as usize).copied().unwrap_or(false)
    }

    /// Sorts the actions by event; those of one event keep their order.
    fn index(&mut self, events: usize, mut actions: Vec<(u32, Action)>) {
        actions.sort_by_key(|(event, _)| *event);
        self.starts = Vec::with_capacity(events + 1);
        let mut at = 0;
        for event in 0..=events {
            while actions.get(at).is_some_and(|(of, _)| (*of as usize) < event) {
                at += 1;
            }
            self.starts.push(u32::try_from(at).unwrap_or(u32::MAX));
        }
        self.actions = actions.into_iter().map(|(_, action)| action).collect();
    }
}
