//! Which items of a trip must not come along, and which could go instead.

use super::answer::{BeforeTask, HeldBy, LeftAtHome, TripItem};
use super::cause::Cause;
use super::find::Found;
use super::snapshot::{Snapshot, TaskKey, task};
use chrono::NaiveDate;
use kitlore_engine::{Book, Instant, Item, Row, Standing};
use kitlore_syntax::key;
use std::collections::{HashMap, HashSet};

/// How many items are offered instead of one.
const OFFERED: usize = 5;

/// The rows of a trip's items when it begins.
pub(crate) struct Begin<'a> {
    pub at: Instant,
    /// As they are.
    pub undone: &'a Snapshot,
    /// Once all is done that is to be done before.
    pub done: &'a Snapshot,
}

/// The items that must not come along, with what holds them: grounded before the trip, grounded on it
/// whatever is done before, or out of service once that is done.
pub(crate) fn held(
    begin: &Begin<'_>,
    before: &[BeforeTask],
    end: Instant,
    why: &dyn Fn(&Row<'_>) -> Cause,
) -> Vec<LeftAtHome> {
    let date = |at: Instant, row: &Row<'_>| row.program().local(at).date_naive();
    let before: HashSet<TaskKey> = before.iter().map(|one| TaskKey::of_task(&one.task)).collect();
    let mut held: HashMap<String, LeftAtHome> = HashMap::new();
    for row in begin.undone.rows() {
        let key = TaskKey::of(&row);
        let retires = !begin.done.has(row.item) && key.retires() && before.contains(&key);
        let since = match row.standing {
            Standing::Grounded => row.limit_at,
            _ if retires => row.due_at,
            _ => continue,
        };
        hold(&mut held, &row, date(since.unwrap_or(begin.at), &row), why(&row));
    }
    for row in begin.done.rows() {
        if let Some(limit) = row.limit_at.filter(|limit| *limit <= end) {
            hold(&mut held, &row, date(limit, &row), why(&row));
        }
    }
    let mut held: Vec<LeftAtHome> = held.into_values().collect();
    for left in &mut held {
        left.for_good = !begin.done.has(&left.item);
    }
    held.sort_by(|one, other| one.item.cmp(&other.item));
    held
}

fn hold(held: &mut HashMap<String, LeftAtHome>, row: &Row<'_>, since: NaiveDate, why: Cause) {
    let left = held.entry(row.item.to_owned()).or_insert_with(|| LeftAtHome {
        item: row.item.to_owned(),
        kind: row.kind.to_owned(),
        since,
        tasks: Vec::new(),
        for_good: false,
        instead: Vec::new(),
    });
    left.since = left.since.min(since);
    if !left.tasks.iter().any(|other| other.task.task == row.task) {
        left.tasks.push(HeldBy { task: task(row), why });
    }
}

/// Names, for each item left at home, those that could go instead: of its kind, not on the trip, and clear to
/// its end; those of its model first.
pub(crate) fn offer(found: &mut Found, left: &mut [LeftAtHome], begin: Instant) {
    if left.is_empty() {
        return;
    }
    let on_trip: HashSet<&String> = found.items.iter().collect();
    let mut models: HashMap<String, Option<String>> = HashMap::new();
    let mut spares = Spares::new(begin, found.end);
    for item in found.book.items() {
        if on_trip.contains(&item.id) {
            models.insert(item.id.clone(), item.model.clone());
        } else {
            spares.add(item);
        }
    }
    spares.in_order();
    for left in left {
        let model = models.remove(&left.item).flatten();
        left.instead = spares.instead_of(&mut found.book, &key(&left.kind), &model);
    }
}

/// The items that do not go on a trip, by kind and model, and what is known of them.
struct Spares {
    begin: Instant,
    end: Instant,
    of_kind: HashMap<String, Candidates>,
    of_model: HashMap<(String, Option<String>), Candidates>,
    clear: HashMap<String, bool>,
}

/// Items by id; those before `seen` have been looked at, and `clear` are the clear ones among them.
#[derive(Default)]
struct Candidates {
    all: Vec<TripItem>,
    seen: usize,
    clear: Vec<TripItem>,
}

impl Spares {
    fn new(begin: Instant, end: Instant) -> Self {
        Self { begin, end, of_kind: HashMap::new(), of_model: HashMap::new(), clear: HashMap::new() }
    }

    fn add(&mut self, item: &Item) {
        let (kind, spare) = (key(&item.kind), TripItem::of(item));
        self.of_kind.entry(kind.clone()).or_default().all.push(spare.clone());
        self.of_model.entry((kind, item.model.clone())).or_default().all.push(spare);
    }

    fn in_order(&mut self) {
        for candidates in self.of_kind.values_mut().chain(self.of_model.values_mut()) {
            candidates.all.sort_by(|one, other| one.item.cmp(&other.item));
        }
    }

    fn instead_of(&mut self, book: &mut Book, kind: &str, model: &Option<String>) -> Vec<TripItem> {
        let Self { begin, end, of_kind, of_model, clear } = self;
        let mut is_clear = |item: &str| match clear.get(item) {
            Some(known) => *known,
            None => {
                let found = self::is_clear(book, item, *begin, *end);
                clear.insert(item.to_owned(), found);
                found
            }
        };
        let mut instead = match of_model.get_mut(&(kind.to_owned(), model.clone())) {
            Some(candidates) => candidates.first_clear(OFFERED, &mut is_clear).to_vec(),
            None => Vec::new(),
        };
        let missing = OFFERED - instead.len();
        if missing > 0
            && let Some(candidates) = of_kind.get_mut(kind)
        {
            // Fewer than are offered are of its model: among twice as many of its kind there are enough others.
            let of_kind = candidates.first_clear(2 * OFFERED, &mut is_clear);
            instead.extend(of_kind.iter().filter(|other| other.model != *model).take(missing).cloned());
        }
        instead
    }
}

impl Candidates {
    /// So many clear ones, the first by id.
    fn first_clear(&mut self, count: usize, is_clear: &mut dyn FnMut(&str) -> bool) -> &[TripItem] {
        while self.clear.len() < count
            && let Some(next) = self.all.get(self.seen)
        {
            self.seen += 1;
            if is_clear(&next.item) {
                self.clear.push(next.clone());
            }
        }
        self.clear.get(..count).unwrap_or(&self.clear)
    }
}

/// Whether an item is in hand and has nothing due to the end of the trip.
fn is_clear(book: &mut Book, item: &str, begin: Instant, end: Instant) -> bool {
    let rows = Snapshot::of(book, [&item.to_owned()], begin);
    let clear = |row: Row<'_>| {
        matches!(row.standing, Standing::Clear | Standing::Soon) && row.due_at.is_none_or(|due| due > end)
    };
    rows.has(item) && rows.rows().all(clear)
}
