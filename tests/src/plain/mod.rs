//! The plain evaluator: the contract's meaning, slow and obvious.
//!
//! It shares no code with the engine and rescans the whole log for every question.

pub mod atoms;
pub mod clock;
pub mod items;
pub mod problems;
pub mod records;
pub mod uses;

use atoms::{Asked, notice_ahead};
use clock::{Clock, Instant, minus, next_day, plus};
use items::Item;
use kitlore_syntax::tree::{AtomKind, House, Notice, Rule, Standing};
use kitlore_syntax::{Amount, When};
use records::Entry;
use std::collections::BTreeSet;

/// One row of an inventory, every column as text; an empty one is absent.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct ItemRow {
    /// Its line in the table, for problems; the heading is line 1.
    pub row: u32,
    /// The columns.
    pub id: String,
    /// See `id`.
    pub kind: String,
    /// See `id`.
    pub received: String,
    /// See `id`.
    pub in_service: String,
    /// See `id`.
    pub retired: String,
    /// See `id`.
    pub kit: String,
    /// See `id`.
    pub model: String,
    /// Heading and value of every other column.
    pub attributes: Vec<(String, String)>,
}

/// One row of a log, every column as text; an empty one is absent.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct LogRow {
    /// Its line in the table, for problems; the heading is line 1.
    pub row: u32,
    /// The columns.
    pub when: String,
    /// See `when`.
    pub until: String,
    /// See `when`.
    pub item: String,
    /// See `when`.
    pub event: String,
    /// See `when`.
    pub amount: String,
    /// See `when`.
    pub reading: String,
    /// See `when`.
    pub unit: String,
    /// The column `in`.
    pub conditions: String,
    /// See `when`.
    pub found: String,
    /// The column `ref`.
    pub reference: String,
    /// See `when`.
    pub id: String,
    /// See `when`.
    pub by: String,
    /// See `when`.
    pub note: String,
    /// See `when`.
    pub expect: String,
}

/// What could not be used, or is doubtful.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Problem {
    /// The code.
    pub code: String,
    /// `log 3`, `items 2`, or `-` for what is in neither.
    pub place: String,
}

impl Problem {
    /// A problem of a row of the log.
    pub fn log(code: &str, row: u32) -> Self {
        Self { code: code.to_owned(), place: format!("log {row}") }
    }

    /// A problem of a row of the inventory.
    pub fn item(code: &str, row: u32) -> Self {
        Self { code: code.to_owned(), place: format!("items {row}") }
    }
}

/// How an item stands with a task.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Row {
    /// Id of the item.
    pub item: String,
    /// Its kind as in the inventory.
    pub kind: String,
    /// The task as first spelled.
    pub task: String,
    /// The standing.
    pub standing: Standing,
    /// When it falls or fell due.
    pub due_at: Option<Instant>,
    /// From when the item must not be used.
    pub limit_at: Option<Instant>,
    /// When it was last done.
    pub last_done: Option<Instant>,
    /// What each rule says.
    pub rules: Vec<RuleRow>,
}

/// What one rule says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RuleRow {
    /// Index of the rule in the house.
    pub rule: usize,
    /// The standing.
    pub standing: Standing,
    /// See [`Row`].
    pub due_at: Option<Instant>,
    /// See [`Row`].
    pub limit_at: Option<Instant>,
    /// When it is late.
    pub late_at: Option<Instant>,
    /// When each atom was reached, trigger before limit.
    pub reached: Vec<Option<Instant>>,
    /// The count of each usage atom, in the same order, as a decimal.
    pub counts: Vec<String>,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Report {
    /// By item id, then key of the task.
    pub rows: Vec<Row>,
    /// What could not be used, and every doubt, as far as this evaluator tells.
    pub problems: BTreeSet<Problem>,
    /// The doubts among them that no row is touched by: an evaluator need not meet them.
    pub idle: BTreeSet<Problem>,
}

/// Everything a question is about.
pub struct World<'a> {
    /// The rules.
    pub house: &'a House,
    /// Keys of the tasks.
    pub tasks: BTreeSet<String>,
    /// The zone.
    pub clock: Clock,
    /// The inventory.
    pub items: Vec<Item>,
    /// The log in time order, without what is unreadable, doubled or voided.
    pub entries: Vec<Entry>,
    /// The instant asked about.
    pub at: Instant,
}

/// Answers for an instant; an `at` that is a date alone is its end.
pub fn evaluate(house: &House, items: &[ItemRow], log: &[LogRow], at: When) -> Report {
    let clock = Clock(house.zone);
    let mut problems = BTreeSet::new();
    let items = items::read_all(items, &mut problems);
    let entries = records::read_all(clock, log, &mut problems);
    let mut world = World { house, tasks: uses::tasks(house), clock, items, entries, at: clock.is_over(at) };
    // What is unusable holds no id.
    world.drop_negative_meters(&mut problems);
    let entries = records::one_per_id(std::mem::take(&mut world.entries), &mut problems);
    world.entries = records::corrected(entries, &mut problems);
    let idle = world.doubt(&mut problems);
    Report { rows: world.rows(), problems, idle }
}

impl World<'_> {
    /// All rows in their order (interfaces, `due --as json`).
    fn rows(&self) -> Vec<Row> {
        let mut items: Vec<&Item> = self.items.iter().filter(|i| !self.is_absent(i)).collect();
        items.sort_by(|a, b| a.id.cmp(&b.id));
        let tasks: BTreeSet<&String> = self.house.rules.iter().map(|r| &r.task.key).collect();
        let row = |item: &Item| tasks.iter().filter_map(|t| self.row(item, t)).collect::<Vec<_>>();
        items.into_iter().flat_map(row).collect()
    }

    /// The row of an item and a task (section 5, last paragraphs).
    fn row(&self, item: &Item, task: &str) -> Option<Row> {
        let rules = self.rules_for(item, task).into_iter();
        let rules: Vec<RuleRow> = rules.map(|(i, rule)| self.rule_row(i, rule, item)).collect();
        Some(Row {
            item: item.id.clone(),
            kind: item.kind.clone(),
            task: self.spelled(task),
            standing: rules.iter().map(|r| r.standing).max()?,
            due_at: rules.iter().filter_map(|r| r.due_at).min(),
            limit_at: rules.iter().filter_map(|r| r.limit_at).min(),
            last_done: self.last_done(item, task).map(|e| e.counts),
            rules,
        })
    }

    /// A task as first spelled in the rules (section 2).
    fn spelled(&self, task: &str) -> String {
        let covers = self.house.covers.iter().flat_map(|c| std::iter::once(&c.task).chain(&c.covered));
        let in_rules = self.house.rules.iter().flat_map(|rule| {
            let inspected = uses::all_atoms(rule).filter_map(|atom| match atom {
                AtomKind::Finding { task, .. } => Some(task),
                _ => None,
            });
            inspected.chain(std::iter::once(&rule.task))
        });
        let spellings = covers.chain(in_rules).filter(|name| name.key == task);
        let first = spellings.min_by_key(|name| (name.span.source, name.span.start));
        first.map(|name| name.text.clone()).unwrap_or_default()
    }

    /// No earlier than the floor of `at most every` (section 5).
    fn floored(&self, time: Option<Instant>, floor: Option<Instant>) -> Option<Instant> {
        time.map(|t| floor.map_or(t, |floor| t.max(floor)))
    }

    /// What one rule says about an item (section 5, due_at to standing).
    fn rule_row(&self, index: usize, rule: &Rule, item: &Item) -> RuleRow {
        let details = &rule.details;
        let trigger = |asked| self.trigger(&rule.trigger, rule, item, asked);
        let last_done = self.last_done_on(item, &rule.task.key);
        let floor =
            details.at_most_every.and_then(|every| plus(last_done?, every)).map(|d| self.clock.start_of(d));
        let late_floor = floor.and_then(|e| {
            let date = self.clock.date(e);
            let date = details.allow.map_or(Some(date), |allow| plus(date, allow));
            date.and_then(next_day).map(|d| self.clock.start_of(d))
        });
        let due = self.floored(trigger(Asked::Due), floor);
        let late = self.floored(trigger(Asked::Late), late_floor);
        let grounds = self.floored(trigger(Asked::Grounds), floor).filter(|_| details.do_not_use);
        let no_later = details.no_later_than.as_ref().and_then(|t| self.trigger(t, rule, item, Asked::Due));
        let limit = grounds.into_iter().chain(no_later).min();
        let due = due.into_iter().chain(limit).min();
        let reached = |time: Option<Instant>| time.is_some_and(|t| t <= self.at);
        let lacks = |atom: &AtomKind| self.lacks_date(atom, &rule.task.key, item);
        let standing = if reached(limit) {
            Standing::Grounded
        } else if reached(late) && reached(due) {
            Standing::Overdue
        } else if reached(due) {
            Standing::Due
        } else if self.announced(rule, item, due) {
            Standing::Soon
        } else if uses::all_atoms(rule).any(lacks) {
            Standing::Unknown
        } else {
            Standing::Clear
        };
        RuleRow {
            rule: index,
            standing,
            due_at: due,
            limit_at: limit,
            late_at: late,
            reached: uses::all_atoms(rule).map(|a| self.reached(a, rule, item, Asked::Due)).collect(),
            counts: self.counts(rule, item),
        }
    }

    /// Whether a notice is reached (section 5, standing `soon`).
    fn announced(&self, rule: &Rule, item: &Item, due: Option<Instant>) -> bool {
        if let Some(notice) = notice_ahead(rule) {
            let from = |due| self.clock.start_of(minus(self.clock.date(due), notice));
            return due.is_some_and(|due| self.at >= from(due));
        }
        let Some(Notice::Uses(early, of)) = &rule.details.notice else { return false };
        let near = |atom: &AtomKind| {
            let AtomKind::Usage { threshold, name, .. } = atom else { return false };
            let enough = i128::from(threshold.micros() - early.micros()) * 1000;
            name.key == of.key && self.count(atom, rule, item) >= enough
        };
        uses::all_atoms(rule).any(near)
    }

    /// How far a usage atom stands.
    fn count(&self, atom: &AtomKind, rule: &Rule, item: &Item) -> i128 {
        let AtomKind::Usage { name, conditions, weights, .. } = atom else { return 0 };
        let tally = self.tally(name, conditions, weights, &rule.task.key, item);
        tally.last().map_or(0, |(_, sum)| *sum)
    }

    fn counts(&self, rule: &Rule, item: &Item) -> Vec<String> {
        let usages = uses::all_atoms(rule).filter(|a| matches!(a, AtomKind::Usage { .. }));
        usages.map(|a| decimal(self.count(a, rule, item))).collect()
    }

    /// A meter does not read below nothing (section 4, usage: only other readings may be negative).
    fn drop_negative_meters(&mut self, problems: &mut BTreeSet<Problem>) {
        let negative = |e: &Entry| e.reading.is_some_and(|r| r < Amount::ZERO) && self.reads_meter(e);
        let (bad, good) = self.entries.iter().cloned().partition::<Vec<Entry>, _>(negative);
        problems.extend(bad.iter().map(|e| Problem::log("negative-amount", e.row)));
        self.entries = good;
    }
}

/// Thousandths of millionths as a decimal.
fn decimal(count: i128) -> String {
    let text = format!("{}.{:09}", count / 1_000_000_000, count % 1_000_000_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
