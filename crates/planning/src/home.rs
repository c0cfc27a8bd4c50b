//! Which items of a trip must stay at home, and which could go instead.

use crate::journey::Found;
use crate::rows::{Snapshot, TaskKey, is_of, task};
use crate::trip_answer::{BeforeTask, HeldBy, LeftAtHome, TripItem};
use chrono::NaiveDate;
use kitlore_engine::{Instant, Row, Standing};
use kitlore_syntax::key;

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
    why: &dyn Fn(&Row<'_>) -> String,
) -> Vec<LeftAtHome> {
    let date = |at: Instant, row: &Row<'_>| row.program().local(at).date_naive();
    let mut held: Vec<LeftAtHome> = Vec::new();
    for row in begin.undone.rows() {
        let key = TaskKey::of(&row);
        let retires =
            !begin.done.has(row.item) && key.retires() && before.iter().any(|one| is_of(&one.task, &key));
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
    for left in &mut held {
        left.for_good = !begin.done.has(&left.item);
    }
    held.sort_by(|one, other| one.item.cmp(&other.item));
    held
}

fn hold(held: &mut Vec<LeftAtHome>, row: &Row<'_>, since: NaiveDate, why: String) {
    let by = HeldBy { task: task(row), why };
    let Some(known) = held.iter_mut().find(|left| left.item == row.item) else {
        held.push(LeftAtHome {
            item: row.item.to_owned(),
            kind: row.kind.to_owned(),
            since,
            tasks: vec![by],
            for_good: false,
            instead: Vec::new(),
        });
        return;
    };
    known.since = known.since.min(since);
    if !known.tasks.iter().any(|other| other.task.task == by.task.task) {
        known.tasks.push(by);
    }
}

/// Names, for each item left at home, those that could go instead: of its kind, not on the trip, and clear to
/// its end; those of its model first.
pub(crate) fn offer(found: &mut Found, left: &mut [LeftAtHome], begin: Instant) {
    for left in left {
        let kind = key(&left.kind);
        let own = found.book.items().find(|item| item.id == left.item).and_then(|item| item.model.clone());
        let of_kind = found.book.items().filter(|other| key(&other.kind) == kind);
        let mut others: Vec<TripItem> =
            of_kind.filter(|other| !found.items.contains(&other.id)).map(TripItem::of).collect();
        others.sort_by_cached_key(|other| (other.model != own, other.item.clone()));
        for other in others {
            if left.instead.len() >= OFFERED {
                break;
            }
            if is_clear(found, &other.item, begin) {
                left.instead.push(other);
            }
        }
    }
}

/// Whether an item is in hand and has nothing due to the end of the trip.
fn is_clear(found: &mut Found, item: &str, begin: Instant) -> bool {
    let rows = Snapshot::of(&mut found.book, &[item.to_owned()], begin);
    let clear = |row: Row<'_>| {
        matches!(row.standing, Standing::Clear | Standing::Soon)
            && row.due_at.is_none_or(|due| due > found.end)
    };
    rows.has(item) && rows.rows().all(clear)
}
