//! What goes in and what comes out: rows of tables, rows of the answer, problems.

use super::clock::Instant;
use chrono::NaiveDate;
use kitlore_syntax::tree::Standing;
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

    /// A problem of the rules.
    pub fn rules(code: &str) -> Self {
        Self { code: code.to_owned(), place: "-".to_owned() }
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
    /// Items that come after the instant, with their dates.
    pub to_come: BTreeSet<(String, NaiveDate)>,
    /// What could not be used, and every doubt, as far as this evaluator reports it.
    pub problems: BTreeSet<Problem>,
    /// The doubts among them that no row is touched by: an evaluator need not meet them.
    pub idle: BTreeSet<Problem>,
}
