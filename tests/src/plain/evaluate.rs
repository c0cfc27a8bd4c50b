//! From a question to its rows (sections 4 and 5).

use super::atoms::{Asked, Question, notice_ahead};
use super::clock::{Clock, Instant, minus, next_day, plus};
use super::items::{self, Item};
use super::reading;
use super::records::{self, Entry};
use super::rows::{ItemRow, LogRow, Problem, Report, Row, RuleRow};
use super::rules;
use super::world::World;
use chrono::NaiveDate;
use kitlore_syntax::tree::{AtomKind, House, Notice, Rule, Standing, Trigger};
use kitlore_syntax::{Amount, When};
use std::collections::BTreeSet;

/// Answers for an instant, which may be now; an `at` that is a date alone is its end.
pub fn evaluate(house: &House, items: &[ItemRow], log: &[LogRow], at: When, now: bool) -> Report {
    let clock = Clock(house.zone);
    let mut problems = BTreeSet::new();
    let items = items::read_all(items, &mut problems);
    let entries = records::read_all(clock, log, &mut problems);
    let mut world =
        World { house, tasks: rules::tasks(house), clock, items, entries, at: clock.is_over(at), now };
    // What is unusable holds no id.
    world.drop_negative_meters(&mut problems);
    let entries = records::one_per_id(std::mem::take(&mut world.entries), &mut problems);
    world.entries = records::corrected(entries, &mut problems);
    world.tell_recorded(&mut problems);
    world.drop_itemless(&mut problems);
    world.tell_used(&mut problems);
    let idle = world.doubt(&mut problems);
    Report { rows: world.rows(), to_come: world.to_come(), problems, idle }
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

    /// The items that are not there yet, with their dates (section 5, last paragraph).
    fn to_come(&self) -> BTreeSet<(String, NaiveDate)> {
        let come = self.items.iter().filter(|i| self.is_to_come(i));
        come.filter_map(|i| Some((i.id.clone(), self.there_from(i)?))).collect()
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
            let inspected = rules::all_atoms(rule).filter_map(|atom| match atom {
                AtomKind::Finding { task, .. } => Some(task),
                _ => None,
            });
            inspected.chain(std::iter::once(&rule.task))
        });
        let spellings = covers.chain(in_rules).filter(|name| name.key == task);
        let first = spellings.min_by_key(|name| reading::place(&self.house.sources, name.span));
        first.map(|name| name.text.clone()).unwrap_or_default()
    }

    /// No earlier than the floor of `at most every` (section 5).
    fn floored(&self, time: Option<Instant>, floor: Option<Instant>) -> Option<Instant> {
        time.map(|t| floor.map_or(t, |floor| t.max(floor)))
    }

    /// What one rule says about an item (section 5, due_at to standing).
    fn rule_row(&self, index: usize, rule: &Rule, item: &Item) -> RuleRow {
        let details = &rule.details;
        // What grounds stands until done.
        let question = |asked| Question { rule, item, asked, stands: details.do_not_use };
        let in_limit = Question { stands: true, ..question(Asked::Due) };
        let last_done = self.last_done_on(item, &rule.task.key);
        let floor =
            details.at_most_every.and_then(|every| plus(last_done?, every)).map(|d| self.clock.start_of(d));
        let reached_due = self.trigger(&rule.trigger, question(Asked::Due));
        let due = self.floored(reached_due, floor);
        let late = self.trigger(&rule.trigger, question(Asked::Late));
        let late = if due == reached_due { late } else { self.floored(late, self.late_after(rule, due)) };
        let grounds = self.trigger(&rule.trigger, question(Asked::Grounds));
        let grounds = self.floored(grounds, floor).filter(|_| details.do_not_use);
        let no_later = details.no_later_than.as_ref().and_then(|t| self.trigger(t, in_limit));
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
        } else if rules::all_atoms(rule).any(lacks) {
            Standing::Unknown
        } else {
            Standing::Clear
        };
        let atoms = |trigger: &Trigger, question| {
            trigger.atoms().into_iter().map(|a| self.reached(&a.kind, question)).collect::<Vec<_>>()
        };
        let of_trigger = atoms(&rule.trigger, question(Asked::Due)).into_iter();
        let of_limit = details.no_later_than.iter().flat_map(|t| atoms(t, in_limit));
        RuleRow {
            rule: index,
            standing,
            due_at: due,
            limit_at: limit,
            late_at: late,
            reached: of_trigger.chain(of_limit).collect(),
            counts: self.counts(rule, item),
        }
    }

    /// The earliest late time of a due time that was moved (section 5, not before).
    fn late_after(&self, rule: &Rule, due: Option<Instant>) -> Option<Instant> {
        let date = self.clock.date(due?);
        let date = rule.details.allow.map_or(Some(date), |allow| plus(date, allow));
        date.and_then(next_day).map(|d| self.clock.start_of(d))
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
        rules::all_atoms(rule).any(near)
    }

    /// How far a usage atom stands.
    fn count(&self, atom: &AtomKind, rule: &Rule, item: &Item) -> i128 {
        let AtomKind::Usage { name, conditions, weights, .. } = atom else { return 0 };
        let tally = self.tally(name, conditions, weights, &rule.task.key, item);
        tally.last().map_or(0, |(_, sum)| *sum)
    }

    fn counts(&self, rule: &Rule, item: &Item) -> Vec<String> {
        let usages = rules::all_atoms(rule).filter(|a| matches!(a, AtomKind::Usage { .. }));
        usages.map(|a| decimal(self.count(a, rule, item))).collect()
    }

    /// A meter does not read below nothing (section 4, usage: only other readings may be negative).
    fn drop_negative_meters(&mut self, problems: &mut BTreeSet<Problem>) {
        let negative = |e: &Entry| e.reading.is_some_and(|r| r < Amount::ZERO) && self.reads_meter(e);
        let (bad, good) = self.entries.iter().cloned().partition::<Vec<Entry>, _>(negative);
        problems.extend(bad.iter().map(|e| Problem::log("negative-amount", e.row)));
        self.entries = good;
    }

    /// What must say for which item and does not (section 4, the column `item`).
    fn drop_itemless(&mut self, problems: &mut BTreeSet<Problem>) {
        let lives = ["finding", "received", "in service", "retired", "away", "back", "put off"];
        for mut entry in std::mem::take(&mut self.entries) {
            let must = self.tasks.contains(&entry.event) || lives.contains(&entry.event.as_str());
            let itemless =
                entry.item.is_empty() && (must || entry.reading.is_some() || !entry.found.is_empty());
            if itemless {
                problems.insert(Problem::log("no-item", entry.row));
                entry.found.clear();
            }
            if itemless && entry.reading.take().is_some() {
                entry.amount = Some(Amount::ZERO);
            }
            if !(itemless && must) {
                self.entries.push(entry);
            }
        }
    }
}

/// Thousandths of millionths as a decimal.
fn decimal(count: i128) -> String {
    let text = format!("{}.{:09}", count / 1_000_000_000, count % 1_000_000_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
