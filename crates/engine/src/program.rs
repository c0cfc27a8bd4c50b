//! Compiled rules: names are small integers, every rule knows its atoms.

use crate::conditions::ConditionTest;
use crate::names::Map;
use crate::names::Names;
use crate::time::{Instant, Zone};
use kitlore_syntax::tree::{
    AtomKind, Calendar, Comparison, Conditions, Details, Duration, House, Notice, Rule, Section, Trigger,
    Unit, Unless,
};
use kitlore_syntax::{Amount, Diagnostics, Loader, Name, NoIncludes, When};
use std::sync::Arc;

/// Compiled rules: immutable, cheap to clone, shared by any number of threads.
///
/// ```
/// use kitlore_engine::Program;
/// let rules = Program::parse("for cameras\n after 20 lens changes in dust or 90 days, inspect sensor").unwrap();
/// assert_eq!(rules.house().rules.len(), 1);
/// ```
#[derive(Clone)]
pub struct Program(Arc<Inner>);

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
    kinds: Map<String, Vec<String>>,
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

const LIVES: [(&str, Life); 5] = [
    ("received", Life::Received),
    ("in service", Life::InService),
    ("retired", Life::Retired),
    ("finding", Life::Finding),
    ("void", Life::Void),
];

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

const NO_DAYS: Duration = Duration { count: 0, unit: Unit::Day };
const ONE_WEEK: Duration = Duration { count: 7, unit: Unit::Day };

impl Program {
    /// Parses and compiles a rule text that includes nothing.
    ///
    /// # Errors
    /// All mistakes of the text.
    pub fn parse(text: &str) -> Result<Self, Diagnostics> {
        Self::parse_with("rules", text, &NoIncludes)
    }

    /// Parses and compiles a rule text under the name people know it by, with a loader for what it includes.
    ///
    /// # Errors
    /// All mistakes of the text and of what it includes.
    pub fn parse_with(name: &str, text: &str, loader: &dyn Loader) -> Result<Self, Diagnostics> {
        kitlore_syntax::parse(name, text, loader).map(Self::compile)
    }

    /// Compiles a checked tree.
    pub fn compile(house: House) -> Self {
        Self(Arc::new(Compiler::new(&house).finish(house)))
    }

    /// What the rule text says.
    pub fn house(&self) -> &House {
        &self.0.house
    }

    /// The instant at which a written time is over: for a date alone the end of that date in the house's
    /// zone. This is what `at` means to people.
    ///
    /// ```
    /// use kitlore_engine::{Program, When};
    /// let rules = Program::parse("").unwrap();
    /// let at = rules.when_is_over(When::parse("2026-02-08").unwrap());
    /// assert_eq!(at.utc().to_rfc3339(), "2026-02-08T23:59:59.999999999+00:00");
    /// ```
    pub fn when_is_over(&self, when: When) -> Instant {
        self.0.zone.over(when)
    }

    /// An instant in the house's time zone.
    pub fn local(&self, at: Instant) -> chrono::DateTime<chrono::FixedOffset> {
        self.0.zone.show(at)
    }

    /// Whether the rules know an event's name: as a usage, a task, a gauge, a plan, a reserved or a declared event.
    pub fn knows_event(&self, name: &str) -> bool {
        self.0.events.find(&kitlore_syntax::key(name)).is_some()
    }

    pub(crate) fn inner(&self) -> &Inner {
        &self.0
    }
}

impl std::fmt::Debug for Program {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Program")
            .field("house", &self.0.house.name)
            .field("rules", &self.0.rules.len())
            .finish()
    }
}

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

/// Gathers names and atoms while the rules are read.
struct Compiler {
    events: Names,
    event_info: Vec<EventInfo>,
    conditions: Names,
    findings: Names,
    units: Names,
    tasks: Vec<Task>,
    tests: Vec<ConditionTest>,
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
        named.sort_by_key(|name| (name.span.source, name.span.start));
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
        for task in &mut self.tasks {
            let mut reached = 0;
            while let Some(&next) = task.closure.get(reached) {
                reached += 1;
                for &covered in direct.get(&next).into_iter().flatten() {
                    if !task.closure.contains(&covered) {
                        task.closure.push(covered);
                    }
                }
            }
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
            AtomKind::Usage { threshold, name, conditions, weights } => {
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
    fn test(&mut self, conditions: &Conditions, weights: &[kitlore_syntax::tree::Weight]) -> u32 {
        let test = ConditionTest::new(conditions, weights, &mut self.conditions);
        let known = self.tests.iter().position(|other| *other == test);
        let id = known.unwrap_or_else(|| {
            self.tests.push(test);
            self.tests.len() - 1
        });
        u32::try_from(id).unwrap_or(u32::MAX)
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
    let mut all = Map::default();
    for &kind in direct.keys() {
        let mut reached = vec![kind];
        let mut next = 0;
        while let Some(&at) = reached.get(next) {
            next += 1;
            for &broader in direct.get(at).into_iter().flatten() {
                if !reached.contains(&broader) {
                    reached.push(broader);
                }
            }
        }
        all.insert(kind.to_owned(), reached.into_iter().map(str::to_owned).collect());
    }
    all
}
