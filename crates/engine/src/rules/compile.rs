//! From the checked tree to compiled rules.

use super::compiled::{Atom, CompiledRule, EventInfo, Inner, Life, Node, Task, WEIGHT_ONE};
use super::conditions::ConditionTest;
use crate::names::{Map, Names, Set, index};
use crate::time::Zone;
use kitlore_syntax::Name;
use kitlore_syntax::tree::{
    AtomKind, Conditions, Details, Duration, House, Notice, Rule, Trigger, Unit, Unless, Weight,
};
use std::hash::Hash;

const LIVES: [(&str, Life); 5] = [
    ("received", Life::Received),
    ("in service", Life::InService),
    ("retired", Life::Retired),
    ("finding", Life::Finding),
    ("void", Life::Void),
];

const NO_DAYS: Duration = Duration { count: 0, unit: Unit::Day };
const ONE_WEEK: Duration = Duration { count: 7, unit: Unit::Day };

/// Compiles a checked tree.
pub(crate) fn compile(house: House) -> Inner {
    Compiler::new(&house).finish(house)
}

/// Gathers names and atoms while the rules are read.
struct Compiler {
    events: Names,
    event_info: Vec<EventInfo>,
    conditions: Names,
    findings: Names,
    units: Names,
    tasks: Vec<Task>,
    tests: Vec<ConditionTest>,
    test_numbers: Map<ConditionTest, u32>,
    kinds: Map<String, Vec<String>>,
}

impl Compiler {
    fn new(house: &House) -> Self {
        let mut new = Self {
            events: Names::default(),
            event_info: Vec::new(),
            conditions: Names::default(),
            findings: Names::default(),
            units: Names::default(),
            tasks: Vec::new(),
            tests: vec![ConditionTest::default()],
            test_numbers: Map::from_iter([(ConditionTest::default(), 0)]),
            kinds: broader_kinds(house),
        };
        for (name, life) in LIVES {
            new.event(&Name::new(name)).life = Some(life);
        }
        new.name_tasks(house);
        new.cover(house);
        for name in house.events.iter().flatten() {
            new.event_id(name);
        }
        new.declare(house);
        new
    }

    fn declare(&mut self, house: &House) {
        for name in house.conditions.iter().flatten() {
            self.conditions.add(&name.text);
        }
        for name in house.findings.iter().flatten() {
            self.findings.add(&name.text);
        }
    }

    /// The id and record of an event's name.
    fn event_id(&mut self, name: &Name) -> u32 {
        let id = self.events.add(&name.text);
        if self.event_info.len() <= id as usize {
            self.event_info.resize(id as usize + 1, EventInfo::default());
        }
        id
    }

    #[expect(clippy::indexing_slicing, reason = "event_id makes room for every id it gives")]
    fn event(&mut self, name: &Name) -> &mut EventInfo {
        let id = self.event_id(name);
        &mut self.event_info[id as usize]
    }

    /// Gives every task of the house its number, in reading order, so that people see it as first spelled.
    fn name_tasks(&mut self, house: &House) {
        let mut named: Vec<&Name> = Vec::new();
        for rule in &house.rules {
            let triggers = [Some(&rule.trigger), rule.details.no_later_than.as_ref()];
            named.extend(triggers.into_iter().flatten().flat_map(asked_tasks));
            named.push(&rule.task);
        }
        for covers in &house.covers {
            named.push(&covers.task);
            named.extend(&covers.covered);
        }
        named.sort_by_cached_key(|name| house.sources.reading_place(name.span));
        for name in named {
            let event = self.event_id(name);
            let next = u32::try_from(self.tasks.len()).unwrap_or(u32::MAX);
            let info = self.event(name);
            if info.task.is_some() {
                continue;
            }
            info.task = Some(next);
            info.occurs = true;
            self.tasks.push(Task {
                name: name.text.clone(),
                key: name.key.clone(),
                event,
                closure: vec![next],
                retires: name.key.split(' ').next() == Some("retire"),
            });
        }
    }

    /// Fills in what each task covers, transitively.
    fn cover(&mut self, house: &House) {
        let mut direct: Map<u32, Vec<u32>> = Map::default();
        for covers in &house.covers {
            let Some(task) = self.event(&covers.task).task else {
                continue;
            };
            for covered in &covers.covered {
                direct.entry(task).or_default().extend(self.event(covered).task);
            }
        }
        for (task, number) in self.tasks.iter_mut().zip(0..) {
            task.closure = reachable(number, &direct);
        }
    }

    fn finish(mut self, house: House) -> Inner {
        let rules = house.rules.iter().map(|rule| self.rule(rule)).collect();
        let mut meters = 0;
        for info in self.event_info.iter_mut().filter(|info| info.meter.is_some()) {
            // A task is counted by its completions; its readings move no meter.
            info.meter = if info.task.is_some() { None } else { Some(meters) };
            meters += u32::from(info.task.is_none());
        }
        Inner {
            zone: Zone(house.zone),
            events: self.events,
            event_info: self.event_info,
            conditions: self.conditions,
            findings: self.findings,
            units: self.units,
            tasks: self.tasks,
            rules,
            tests: self.tests,
            meters: meters as usize,
            kinds: self.kinds,
            house,
        }
    }

    fn rule(&mut self, rule: &Rule) -> CompiledRule {
        let mut atoms = Vec::new();
        let mut asks = Vec::new();
        let trigger = self.node(&rule.trigger, &mut atoms, &mut asks);
        let trigger_atoms = atoms.len();
        let details: &Details = &rule.details;
        let limit = details.no_later_than.as_ref().map(|limit| self.node(limit, &mut atoms, &mut asks));
        let (ahead, uses) = match &details.notice {
            None => (None, None),
            Some(Notice::Ahead(duration)) => (Some(*duration), None),
            Some(Notice::Uses(count, name)) => {
                let event = self.event_id(name);
                (None, Some((i128::from(count.micros()) * WEIGHT_ONE, event)))
            }
        };
        let kinds = rule.section.kinds.as_ref();
        CompiledRule {
            task: self.event(&rule.task).task.unwrap_or(u32::MAX),
            instead: rule.instead,
            section: rule.section.clone(),
            kinds: kinds.map(|kinds| kinds.iter().map(|kind| kind.key.clone()).collect()),
            trigger,
            limit,
            atoms,
            trigger_atoms,
            within: details.within.unwrap_or(ONE_WEEK),
            allow: details.allow.unwrap_or(NO_DAYS),
            ahead,
            uses,
            at_most_every: details.at_most_every,
            do_not_use: details.do_not_use,
            asks,
        }
    }

    fn node(&mut self, trigger: &Trigger, atoms: &mut Vec<Atom>, asks: &mut Vec<u32>) -> Node {
        match trigger {
            Trigger::Or(parts) => Node::Or(parts.iter().map(|part| self.node(part, atoms, asks)).collect()),
            Trigger::And(parts) => Node::And(parts.iter().map(|part| self.node(part, atoms, asks)).collect()),
            Trigger::Atom(atom) => {
                let atom = self.atom(&atom.kind, asks);
                atoms.push(atom);
                Node::Atom(atoms.len() - 1)
            }
        }
    }

    fn atom(&mut self, kind: &AtomKind, asks: &mut Vec<u32>) -> Atom {
        match kind {
            AtomKind::Before { event, conditions } => {
                self.event(event).occurs = true;
                Atom::Before { event: self.event_id(event), test: self.test(conditions, &[]) }
            }
            AtomKind::Finding { task, findings } => {
                let event = self.event_id(task);
                asks.push(event);
                Atom::Finding { event, findings: self.findings(findings) }
            }
            AtomKind::Spotted { findings } => Atom::Spotted { findings: self.findings(findings) },
            AtomKind::Reading { name, comparison, bound, unit } => {
                self.event(name).gauge = true;
                Atom::Reading {
                    event: self.event_id(name),
                    comparison: *comparison,
                    bound: *bound,
                    unit: unit.as_ref().map(|unit| self.units.add(&unit.text)),
                }
            }
            AtomKind::Unused(duration) => Atom::Unused(*duration),
            AtomKind::Calendar(calendar) => Atom::Calendar(*calendar),
            AtomKind::Delay { duration, event, unless } => {
                self.event(event).occurs = true;
                let event = self.event_id(event);
                asks.push(event);
                let mut others = Vec::new();
                for name in unless {
                    if let Unless::Event(name) = name {
                        self.event(name).occurs = true;
                        others.push(self.event_id(name));
                    }
                }
                asks.extend(&others);
                let newer = unless.iter().any(|name| matches!(name, Unless::Newer(_)));
                Atom::Delay { duration: *duration, event, unless: others, newer }
            }
            AtomKind::Age(duration) => Atom::Age(*duration),
            AtomKind::Interval(duration) => Atom::Interval(*duration),
            AtomKind::Usage { threshold, name, conditions, weights, .. } => {
                let info = self.event(name);
                info.occurs = true;
                info.meter = Some(0);
                let event = self.event_id(name);
                asks.push(event);
                Atom::Usage { event, threshold: *threshold, test: self.test(conditions, weights) }
            }
        }
    }

    fn findings(&mut self, names: &[Name]) -> Vec<u32> {
        names.iter().map(|name| self.findings.add(&name.text)).collect()
    }

    /// The number of a condition test; equal tests share one.
    fn test(&mut self, conditions: &Conditions, weights: &[Weight]) -> u32 {
        let test = ConditionTest::new(conditions, weights, &mut self.conditions);
        let next = index(self.tests.len());
        let id = *self.test_numbers.entry(test.clone()).or_insert(next);
        if id == next {
            self.tests.push(test);
        }
        id
    }
}

/// The inspections that a trigger's `finds` and `leaves` name.
fn asked_tasks(trigger: &Trigger) -> impl Iterator<Item = &Name> {
    trigger.atoms().into_iter().filter_map(|atom| match &atom.kind {
        AtomKind::Finding { task, .. } => Some(task),
        _ => None,
    })
}

/// For every kind the statements name: its key and those of all broader kinds.
fn broader_kinds(house: &House) -> Map<String, Vec<String>> {
    let mut direct: Map<&str, Vec<&str>> = Map::default();
    for kind in &house.kinds {
        direct.entry(&kind.narrower.key).or_default().push(&kind.broader.key);
    }
    let named = |kinds: Vec<&str>| kinds.into_iter().map(str::to_owned).collect();
    direct.keys().map(|kind| ((*kind).to_owned(), named(reachable(*kind, &direct)))).collect()
}

/// What can be reached through any number of steps, the start first.
fn reachable<T: Copy + Eq + Hash>(start: T, direct: &Map<T, Vec<T>>) -> Vec<T> {
    let mut seen = Set::default();
    seen.insert(start);
    let mut reached = vec![start];
    let mut next = 0;
    while let Some(at) = reached.get(next) {
        let further = direct.get(at).into_iter().flatten().copied();
        reached.extend(further.filter(|step| seen.insert(*step)));
        next += 1;
    }
    reached
}
