//! What to take: the needs of everything that may come due on the way, and of what a finding there calls for.

use crate::rows::{Snapshot, TaskKey, task};
use crate::trip_answer::{FollowUp, Packed, Reason, WayTask};
use chrono::NaiveDate;
use kitlore_engine::{Account, Amount, Instant, Part, Row};
use kitlore_syntax::tree::{Atom, AtomKind, Duration, Trigger, Unit, Weight};
use kitlore_syntax::{Name, key};
use std::collections::BTreeSet;

/// The days of a trip, for what takes its time to follow.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stay {
    pub from: NaiveDate,
    pub to: NaiveDate,
    /// Its last instant.
    pub end: Instant,
}

/// What the tasks that may be done on the way can call for, transitively: by a finding, by having been done,
/// and, whatever is done, by what anybody may find at any moment.
///
/// What others must do is told, and calls for nothing more on the way.
pub(crate) fn follow_ups(
    rows: &Snapshot,
    going: &dyn Fn(&str) -> bool,
    on_the_way: &[WayTask],
    stay: Stay,
) -> Vec<FollowUp> {
    let mut doable: BTreeSet<TaskKey> = on_the_way
        .iter()
        .filter(|way| way.task.by.is_none())
        .map(|way| TaskKey { item: way.task.item.clone(), task: key(&way.task.task) })
        .collect();
    let mut told: Vec<(TaskKey, FollowUp)> = Vec::new();
    loop {
        let mut found = Vec::new();
        for row in rows.rows().filter(|row| going(row.item)) {
            let of = TaskKey::of(&row);
            if told.iter().any(|(known, _)| *known == of) {
                continue;
            }
            // A finding outside any task may be recorded at any moment.
            let done = |name: &Name| {
                name.key == "finding"
                    || doable.contains(&TaskKey { item: row.item.to_owned(), task: name.key.clone() })
            };
            if let Some(when) = called_for(&row, &done, stay) {
                found.push((of, FollowUp { task: task(&row), when }));
            }
        }
        if found.is_empty() {
            break;
        }
        doable.extend(found.iter().filter(|(_, follow)| follow.task.by.is_none()).map(|(of, _)| of.clone()));
        told.append(&mut found);
    }
    let mut follow_ups: Vec<FollowUp> = told.into_iter().map(|(_, follow)| follow).collect();
    follow_ups
        .sort_by(|one, other| (&one.task.item, &one.task.task).cmp(&(&other.task.item, &other.task.task)));
    follow_ups
}

/// What would call for a row, if something may.
fn called_for(row: &Row<'_>, done: &dyn Fn(&Name) -> bool, stay: Stay) -> Option<String> {
    row.rules().find_map(|account: Account<'_>| {
        let rule = account.rule.rule;
        let limit = rule.details.no_later_than.as_ref();
        let mut parts = account.parts().into_iter();
        let mut limit_parts = account.limit_parts().into_iter();
        let call = call(&rule.trigger, &mut parts, done, stay);
        let limit = limit.map(|limit| self::call(limit, &mut limit_parts, done, stay));
        [Some(call), limit].into_iter().flatten().find_map(|call| match call {
            Call::By(when) => Some(when),
            Call::Never | Call::Open => None,
        })
    })
}

/// Whether a trigger can come about on the way by something that is done or found there.
enum Call {
    /// It cannot be reached before the end.
    Never,
    /// It may be reached, but not by what is done or found.
    Open,
    /// It may be, by this.
    By(String),
}

fn call<'a>(
    trigger: &Trigger,
    parts: &mut impl Iterator<Item = Part<'a>>,
    done: &dyn Fn(&Name) -> bool,
    stay: Stay,
) -> Call {
    match trigger {
        Trigger::Atom(atom) => match parts.next() {
            Some(part) => call_of(atom, &part, done, stay),
            None => Call::Never,
        },
        Trigger::Or(any) => {
            let calls: Vec<Call> = any.iter().map(|one| call(one, parts, done, stay)).collect();
            first_cause(calls, |calls| calls.iter().all(|call| matches!(call, Call::Never)))
        }
        Trigger::And(all) => {
            let calls: Vec<Call> = all.iter().map(|one| call(one, parts, done, stay)).collect();
            if calls.iter().any(|call| matches!(call, Call::Never)) {
                return Call::Never;
            }
            first_cause(calls, |_| false)
        }
    }
}

fn first_cause(calls: Vec<Call>, never: impl Fn(&[Call]) -> bool) -> Call {
    if never(&calls) {
        return Call::Never;
    }
    calls.into_iter().find(|call| matches!(call, Call::By(_))).unwrap_or(Call::Open)
}

fn call_of(atom: &Atom, part: &Part<'_>, done: &dyn Fn(&Name) -> bool, stay: Stay) -> Call {
    let text = || part.text.split_whitespace().collect::<Vec<_>>().join(" ");
    let by = |cause: bool| {
        if cause { Call::By(text().trim_start_matches("when ").to_owned()) } else { Call::Never }
    };
    let reached = part.reached_at.is_some_and(|at| at <= stay.end);
    match &atom.kind {
        AtomKind::Spotted { .. } => by(true),
        AtomKind::Finding { task, .. } if done(task) => by(true),
        // One more completion is enough.
        AtomKind::Usage { name, weights, .. } if done(name) && reaches(part, weights) => by(true),
        AtomKind::Delay { duration, event, .. } if done(event) && fits(*duration, stay) => by(true),
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
fn fits(duration: Duration, stay: Stay) -> bool {
    let days = match duration.unit {
        Unit::Day => i64::from(duration.count),
        Unit::Week => i64::from(duration.count) * 7,
        // A month has 28 days or more.
        Unit::Month => i64::from(duration.count) * 28,
        Unit::Year => i64::from(duration.count) * 365,
    };
    days <= (stay.to - stay.from).num_days()
}

/// The needs of all tasks that are done on the way by one's own hands, each once, with its reasons.
pub(crate) fn pack(on_the_way: &[WayTask], follow_ups: &[FollowUp]) -> Vec<Packed> {
    let way = on_the_way.iter().map(|way| (&way.task, &way.why));
    let all = way.chain(follow_ups.iter().map(|follow| (&follow.task, &follow.when)));
    let mut packed: Vec<(String, Packed)> = Vec::new();
    for (task, why) in all.filter(|(task, _)| task.by.is_none()) {
        for need in &task.needs {
            let need_key = key(need);
            let number = packed.iter().position(|(known, _)| *known == need_key).unwrap_or_else(|| {
                let empty = Packed {
                    need: need.clone(),
                    uses: 0,
                    at_hand: Vec::new(),
                    stock: None,
                    short: false,
                    reasons: Vec::new(),
                };
                packed.push((need_key, empty));
                packed.len() - 1
            });
            let Some((_, entry)) = packed.get_mut(number) else { continue };
            let is = |reason: &Reason| reason.item == task.item && reason.task == task.task;
            if !entry.reasons.iter().any(is) {
                entry.uses += 1;
                entry.reasons.push(Reason {
                    item: task.item.clone(),
                    task: task.task.clone(),
                    why: why.clone(),
                });
            }
        }
    }
    packed.sort_by(|(one, _), (other, _)| one.cmp(other));
    packed.into_iter().map(|(_, packed)| packed).collect()
}
