//! The rows of some items at an instant, and what is taken from one.

use super::answer::Task;
use kitlore_engine::{Book, Entry, Instant, Row, Standings};
use kitlore_syntax::key;
use std::collections::HashMap;

/// One task of one item.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct TaskKey {
    pub item: String,
    /// The task's key.
    pub task: String,
}

impl TaskKey {
    pub fn of(row: &Row<'_>) -> Self {
        Self { item: row.item.to_owned(), task: key(row.task) }
    }

    /// That of a task of an answer.
    pub fn of_task(task: &Task) -> Self {
        Self { item: task.item.clone(), task: key(&task.task) }
    }

    /// Doing it takes the item out of service for good.
    pub fn retires(&self) -> bool {
        self.task.split(' ').next() == Some("retire")
    }
}

/// Some items' standings at an instant.
pub(crate) struct Snapshot {
    /// One item each.
    standings: Vec<Standings>,
    /// Where the standings of each item in hand are.
    numbers: HashMap<String, usize>,
}

impl Snapshot {
    pub fn of<'i>(book: &mut Book, items: impl IntoIterator<Item = &'i String>, at: Instant) -> Self {
        let standings: Vec<Standings> = items.into_iter().map(|item| book.standing(item, at)).collect();
        let in_hand = |(number, standings): (usize, &Standings)| {
            standings.items().map(|(id, _)| (id.to_owned(), number)).collect::<Vec<_>>()
        };
        let numbers = standings.iter().enumerate().flat_map(in_hand).collect();
        Self { standings, numbers }
    }

    /// The rows by item, then task.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.standings.iter().flat_map(Standings::rows)
    }

    /// Whether an item is in hand.
    pub fn has(&self, item: &str) -> bool {
        self.numbers.contains_key(item)
    }

    pub fn row(&self, of: &TaskKey) -> Option<Row<'_>> {
        let own = self.standings.get(*self.numbers.get(&of.item)?)?;
        own.rows().find(|row| key(row.task) == of.task)
    }
}

/// A row's task with everything its rules say about doing it.
pub(crate) fn task(row: &Row<'_>) -> Task {
    // The rule that is due first speaks for the row, else the one that stands worst.
    let first = row.rules().min_by_key(|account| {
        (account.due_at.is_none(), account.due_at, std::cmp::Reverse(account.standing))
    });
    let rule = first.map(|account| account.rule);
    Task {
        item: row.item.to_owned(),
        kind: row.kind.to_owned(),
        task: row.task.to_owned(),
        needs: row.needs().into_iter().map(str::to_owned).collect(),
        takes_minutes: row.takes_minutes(),
        by: row.by().map(str::to_owned),
        because: row.because().map(str::to_owned),
        cautions: row.cautions().into_iter().map(str::to_owned).collect(),
        file: rule.map_or_else(String::new, |rule| rule.file.to_owned()),
        line: rule.map_or(0, |rule| rule.line),
    }
}

/// Records in a copy of a book that a task was done at an instant and found nothing.
pub(crate) fn complete(book: &mut Book, task: &str, item: &str, at: Instant) {
    let when = book.program().local(at).to_rfc3339();
    // An entry with no more than a time that we wrote, a task and an item is never refused.
    let _ = book.record(Entry::new(when, task).item(item));
}
