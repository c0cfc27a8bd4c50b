//! Compiled rules: names are small integers, every rule knows its atoms.

use super::conditions::ConditionTest;
use crate::names::{Map, Names};
use crate::time::Zone;
use kitlore_syntax::Amount;
use kitlore_syntax::tree::{Calendar, Comparison, Duration, House, Section};
use std::sync::Arc;

/// What a rule text comes to.
pub(crate) struct Inner {
    pub house: House,
    pub zone: Zone,
    pub events: Names,
    pub event_info: Vec<EventInfo>,
    pub conditions: Names,
    pub findings: Names,
    pub units: Names,
    pub tasks: Vec<Task>,
    pub rules: Vec<CompiledRule>,
    pub tests: Vec<ConditionTest>,
    /// Number of usages that can come as meter readings.
    pub meters: usize,
    /// Broader kinds by key, transitively, the kind itself first.
    pub kinds: Map<String, Vec<String>>,
}

/// What the rules know of an event's name.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct EventInfo {
    /// The task whose completion it is.
    pub task: Option<u32>,
    /// The meter it moves: some usage atom counts it, and it is no task.
    pub meter: Option<u32>,
    /// Its readings are asked for.
    pub gauge: bool,
    /// A reserved event.
    pub life: Option<Life>,
    /// Asked for as a task, a plan, a usage, a delay or an exception: more than a gauge.
    pub occurs: bool,
}

/// The reserved events.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Life {
    Received,
    InService,
    Retired,
    Finding,
    Void,
}

/// A task that rules ask for, ask about, or cover.
pub(crate) struct Task {
    /// As first spelled.
    pub name: String,
    pub key: String,
    pub event: u32,
    /// Itself and what it covers, transitively.
    pub closure: Vec<u32>,
    /// Completing it retires the item.
    pub retires: bool,
}

/// One rule, ready to be followed.
#[derive(Debug)]
pub(crate) struct CompiledRule {
    pub task: u32,
    pub instead: bool,
    pub section: Arc<Section>,
    /// Keys of the section's kinds; `None` for every item.
    pub kinds: Option<Vec<String>>,
    pub trigger: Node,
    pub limit: Option<Node>,
    /// The trigger's atoms, then the limit's.
    pub atoms: Vec<Atom>,
    /// How many of the atoms are the trigger's.
    pub trigger_atoms: usize,
    pub within: Duration,
    pub allow: Duration,
    /// A notice as a duration.
    pub ahead: Option<Duration>,
    /// A notice in uses: how many, of which event.
    pub uses: Option<(i128, u32)>,
    pub at_most_every: Option<Duration>,
    pub do_not_use: bool,
    /// Events whose completions count for an item because this rule asks about them.
    pub asks: Vec<u32>,
}

impl CompiledRule {
    /// Whether an atom, by its number, can ground an item. A finding, a reading or disuse then counts from the first
    /// time in the cycle it was reached: another look does not lift it.
    pub fn grounds(&self, atom: usize) -> bool {
        self.do_not_use || atom >= self.trigger_atoms
    }
}

/// The shape of a trigger over its atoms.
#[derive(Debug, Clone)]
pub(crate) enum Node {
    Or(Vec<Node>),
    And(Vec<Node>),
    Atom(usize),
}

/// One atom, names resolved.
#[derive(Debug, Clone)]
pub(crate) enum Atom {
    Before { event: u32, test: u32 },
    Finding { event: u32, findings: Vec<u32> },
    Spotted { findings: Vec<u32> },
    Reading { event: u32, comparison: Comparison, bound: Amount, unit: Option<u32> },
    Unused(Duration),
    Calendar(Calendar),
    Delay { duration: Duration, event: u32, unless: Vec<u32>, newer: bool },
    Age(Duration),
    Interval(Duration),
    Usage { event: u32, threshold: Amount, test: u32 },
}

/// Sums are kept in billionths: an amount has 6 fraction digits, a weight 3.
pub(crate) const WEIGHT_ONE: i128 = 1_000;

impl Inner {
    /// The kind's own key and those of all broader kinds.
    pub fn broader(&self, kind: &str) -> Vec<String> {
        self.kinds.get(kind).cloned().unwrap_or_else(|| vec![kind.to_owned()])
    }

    pub fn info(&self, event: u32) -> EventInfo {
        self.event_info.get(event as usize).copied().unwrap_or_default()
    }

    pub fn task(&self, id: u32) -> Option<&Task> {
        self.tasks.get(id as usize)
    }

    /// The rules' names of one sort and all sorts, for suggestions: people's spelling.
    pub fn all_names(&self) -> impl Iterator<Item = &str> {
        self.events.texts().chain(self.conditions.texts()).chain(self.findings.texts())
    }
}
