//! The part of a rule that brings a task due, in words.

use chrono::NaiveDate;
use kitlore_engine::{Account, Instant, Part, Program, Row};
use kitlore_syntax::tree::Trigger;

/// The account of a row that speaks for it: the one due first, else the one that stands worst.
pub(crate) fn speaker<'a>(row: &Row<'a>) -> Option<Account<'a>> {
    row.rules()
        .min_by_key(|account| (account.due_at.is_none(), account.due_at, std::cmp::Reverse(account.standing)))
}

/// What brought or will bring a row due; where nothing certain does, what it is counting.
pub(crate) fn why(row: &Row<'_>, rules: &Program) -> String {
    let Some(account) = speaker(row) else { return String::new() };
    let date = |at: Instant| rules.local(at).date_naive();
    let trigger = decided(&account.rule.rule.trigger, &mut account.parts().into_iter());
    match &account.rule.rule.details.no_later_than {
        Some(limit) if account.due_at.is_some() && trigger.0 != account.due_at => {
            let limit = decided(limit, &mut account.limit_parts().into_iter());
            match limit.0 {
                Some(_) => format!("no later than {}", told(&limit.1, &date)),
                None => told(&trigger.1, &date),
            }
        }
        _ => told(&trigger.1, &date),
    }
}

/// When a trigger is reached, and the parts that decide that: of `or` the first reached, of `and` all.
fn decided<'a>(
    trigger: &Trigger,
    parts: &mut impl Iterator<Item = Part<'a>>,
) -> (Option<Instant>, Vec<Part<'a>>) {
    match trigger {
        Trigger::Atom(_) => {
            let part = parts.next();
            (part.as_ref().and_then(|part| part.reached_at), part.into_iter().collect())
        }
        Trigger::And(all) => {
            let all: Vec<_> = all.iter().map(|one| decided(one, parts)).collect();
            let known = all.iter().all(|(at, _)| at.is_some());
            let at = all.iter().filter_map(|(at, _)| *at).max().filter(|_| known);
            (at, all.into_iter().flat_map(|(_, parts)| parts).collect())
        }
        Trigger::Or(any) => {
            let any: Vec<_> = any.iter().map(|one| decided(one, parts)).collect();
            let first = any.iter().filter_map(|(at, _)| *at).min();
            let mut parts = any.into_iter().filter(|(at, _)| first.is_none() || *at == first);
            match first {
                Some(_) => parts.next().unwrap_or_default(),
                None => (None, nearest(parts.flat_map(|(_, parts)| parts)).into_iter().collect()),
            }
        }
    }
}

/// The usage that has counted the greatest share of what it asks for.
fn nearest<'a>(parts: impl Iterator<Item = Part<'a>>) -> Option<Part<'a>> {
    let share = |part: &Part<'_>| -> Option<i128> {
        let of = i128::from(part.of?.micros()).max(1);
        part.count?.billionths().checked_mul(1_000).map(|count| count / of)
    };
    parts.filter(|part| part.count.is_some()).max_by_key(share)
}

fn told(parts: &[Part<'_>], date: &dyn Fn(Instant) -> NaiveDate) -> String {
    let phrases: Vec<String> = parts.iter().map(|part| phrase(part, date)).collect();
    phrases.join(" and ")
}

fn phrase(part: &Part<'_>, date: &dyn Fn(Instant) -> NaiveDate) -> String {
    let text = part.text.split_whitespace().collect::<Vec<_>>().join(" ");
    match (part.kind, part.reached_at, part.count, part.of) {
        ("before", ..) => text,
        ("usage", Some(at), Some(count), Some(of)) if of.to_string() != "1" => {
            format!("{text}: {count} counted, reached {}", date(at))
        }
        ("usage", None, Some(count), Some(_)) => format!("{text}: {count} counted"),
        (_, Some(at), ..) => format!("{text}: {}", date(at)),
        _ => text,
    }
}
