//! What to take: the needs of everything that may come due on the way, and of what a finding there calls for.

use super::answer::{FollowUp, Packed, Reason, WayTask};
use super::cause::{Cause, RulePart};
use super::snapshot::{Snapshot, TaskKey, task};
use chrono::NaiveDate;
use kitlore_engine::{Amount, Clause, Instant, Part, Row};
use kitlore_syntax::tree::{AtomKind, Duration, Unit, Weight};
use kitlore_syntax::{Name, key};
use std::collections::{HashMap, HashSet};

/// The days of a trip, for what takes its time to follow.
#[derive(Debug, Clone, Copy)]
pub(crate) struct TripDays {
    pub from: NaiveDate,
    pub to: NaiveDate,
    /// Its last instant.
    pub end: Instant,
}

/// What the tasks that may be done on the way can call for, transitively: by a finding, by having been done,
/// and, whatever is done, by what anybody may find at any moment.
///
/// What others must do is listed, and calls for nothing more on the way.
pub(crate) fn follow_ups(
    rows: &Snapshot,
    going: &dyn Fn(&str) -> bool,
    on_the_way: &[WayTask],
    days: TripDays,
) -> Vec<FollowUp> {
    let own = on_the_way.iter().filter(|way| way.task.by.is_none());
    let mut doable: HashSet<TaskKey> = own.map(|way| TaskKey::of_task(&way.task)).collect();
    let mut called: HashMap<TaskKey, FollowUp> = HashMap::new();
    loop {
        let mut found = Vec::new();
        for row in rows.rows().filter(|row| going(row.item)) {
            let of = TaskKey::of(&row);
            if called.contains_key(&of) {
                continue;
            }
            // A finding outside any task may be recorded at any moment.
            let done = |name: &Name| {
                name.key == "finding"
                    || doable.contains(&TaskKey { item: row.item.to_owned(), task: name.key.clone() })
            };
            if let Some(when) = called_for(&row, &done, days) {
                found.push((of, FollowUp { task: task(&row), when }));
            }
        }
        if found.is_empty() {
            break;
        }
        doable.extend(found.iter().filter(|(_, follow)| follow.task.by.is_none()).map(|(of, _)| of.clone()));
        called.extend(found);
    }
    let mut follow_ups: Vec<FollowUp> = called.into_values().collect();
    follow_ups
        .sort_by(|one, other| (&one.task.item, &one.task.task).cmp(&(&other.task.item, &other.task.task)));
    follow_ups
}

/// What would call for a row, if something may.
fn called_for(row: &Row<'_>, done: &dyn Fn(&Name) -> bool, days: TripDays) -> Option<RulePart> {
    row.rules().find_map(|account| {
        let part = [Some(account.trigger()), account.limit()].into_iter().flatten().find_map(|clause| {
            match call(&clause, done, days) {
                Call::By(part) => Some(RulePart::of(part, &account, row)),
                Call::Never | Call::Open => None,
            }
        });
        part
    })
}

/// Whether a trigger can come about on the way by something that is done or found there.
enum Call<'c> {
    /// It cannot be reached before the end.
    Never,
    /// It may be reached, but not by what is done or found.
    Open,
    /// It may be, by this.
    By(&'c Part<'c>),
}

fn call<'c>(clause: &'c Clause<'c>, done: &dyn Fn(&Name) -> bool, days: TripDays) -> Call<'c> {
    let is_never = |call: &Call<'_>| matches!(call, Call::Never);
    let each = |list: &'c [Clause<'c>]| list.iter().map(|one| call(one, done, days)).collect::<Vec<_>>();
    match clause {
        Clause::Part(part) => call_of(part, done, days),
        Clause::Or(any) => {
            let calls = each(any);
            if calls.iter().all(is_never) { Call::Never } else { first_cause(calls) }
        }
        Clause::And(all) => {
            let calls = each(all);
            if calls.iter().any(is_never) { Call::Never } else { first_cause(calls) }
        }
    }
}

fn first_cause(calls: Vec<Call<'_>>) -> Call<'_> {
    calls.into_iter().find(|call| matches!(call, Call::By(_))).unwrap_or(Call::Open)
}

fn call_of<'c>(part: &'c Part<'c>, done: &dyn Fn(&Name) -> bool, days: TripDays) -> Call<'c> {
    let reached = part.reached_at.is_some_and(|at| at <= days.end);
    match &part.written.kind {
        AtomKind::Spotted { .. } => Call::By(part),
        AtomKind::Finding { task, .. } if done(task) => Call::By(part),
        // One more completion is enough.
        AtomKind::Usage { name, weights, .. } if done(name) && reaches(part, weights) => Call::By(part),
        AtomKind::Delay { duration, event, .. } if done(event) && fits(*duration, days) => Call::By(part),
        AtomKind::Usage { .. } | AtomKind::Reading { .. } => Call::Open,
        _ if reached => Call::Open,
        _ => Call::Never,
    }
}

/// Whether a usage is reached by one more, at the greatest weight it may have.
fn reaches(part: &Part<'_>, weights: &[Weight]) -> bool {
    let count = part.count.map_or(0, |count| count.billionths());
    let of = part.of.map_or(0, |of| i128::from(of.micros()) * 1_000);
    let weight = weights.iter().map(|weight| weight.factor).max().unwrap_or(Amount::ONE).max(Amount::ONE);
    count + i128::from(weight.micros()) * 1_000 >= of
}

/// Whether so long after the first day is still on the trip.
fn fits(duration: Duration, trip: TripDays) -> bool {
    let days = match duration.unit {
        Unit::Day => i64::from(duration.count),
        Unit::Week => i64::from(duration.count) * 7,
        // A month has 28 days or more.
        Unit::Month => i64::from(duration.count) * 28,
        Unit::Year => i64::from(duration.count) * 365,
    };
    days <= (trip.to - trip.from).num_days()
}

/// The needs of all tasks that are done on the way by one's own hands, each once, with its reasons.
pub(crate) fn pack(on_the_way: &[WayTask], follow_ups: &[FollowUp]) -> Vec<Packed> {
    let way = on_the_way.iter().map(|way| (&way.task, way.why.clone()));
    let all = way.chain(follow_ups.iter().map(|follow| (&follow.task, Cause::Called(follow.when.clone()))));
    let mut packed: HashMap<String, Packed> = HashMap::new();
    let mut seen: HashSet<(String, &String, &String)> = HashSet::new();
    for (task, why) in all.filter(|(task, _)| task.by.is_none()) {
        for need in &task.needs {
            let need_key = key(need);
            let entry = packed.entry(need_key.clone()).or_insert_with(|| Packed {
                need: need.clone(),
                uses: 0,
                at_hand: Vec::new(),
                stock: None,
                short: false,
                reasons: Vec::new(),
            });
            if seen.insert((need_key, &task.item, &task.task)) {
                entry.uses += 1;
                entry.reasons.push(Reason {
                    item: task.item.clone(),
                    task: task.task.clone(),
                    why: why.clone(),
                });
            }
        }
    }
    let mut packed: Vec<(String, Packed)> = packed.into_iter().collect();
    packed.sort_by(|(one, _), (other, _)| one.cmp(other));
    packed.into_iter().map(|(_, packed)| packed).collect()
}
