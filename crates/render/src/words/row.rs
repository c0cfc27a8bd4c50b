//! How a row stands in time.

use super::dates::Days;
use super::numbers::{counted, minutes};
use super::plain::plain;
use kitlore_engine::{Amount, Instant, Row, Standing, Standings};
use std::collections::{BTreeMap, HashSet};

/// Since when it stands so, or by when it is to be done.
pub fn when(row: &Row<'_>, days: &Days<'_>) -> String {
    let date = |at| days.date(at);
    match row.standing {
        Standing::Grounded => row.limit_at.map(|at| days.since(date(at))).unwrap_or_default(),
        Standing::Overdue => row.due_at.map(|at| days.since(date(at))).unwrap_or_default(),
        Standing::Due => match last_time(row) {
            Some(late) => days.ahead("by", days.last_before(late).max(days.today)),
            None => row.due_at.map(|at| days.since(date(at))).unwrap_or_default(),
        },
        Standing::Soon | Standing::Clear | Standing::Unknown => match row.due_at {
            Some(due) => days.ahead("due", date(due)),
            None => match row.standing {
                Standing::Unknown => "no date".to_owned(),
                Standing::Soon => "with more use".to_owned(),
                _ => String::new(),
            },
        },
    }
}

/// When a row that is due becomes overdue.
pub fn last_time(row: &Row<'_>) -> Option<Instant> {
    let due = row.rules().filter(|account| account.standing == Standing::Due);
    due.filter_map(|account| account.late_at).min()
}

/// How many rows stand how, how much work is to be done now, and what no rule looks after.
///
/// ```
/// use kitlore_engine::{Book, Entry, Item, Program, When};
/// use kitlore_render::words::totals;
/// let rules = Program::parse("for cameras\n after 2 lens changes, inspect sensor")?;
/// let mut book = Book::new(&rules);
/// book.add_item(Item::new("C1", "camera"))?;
/// let at = rules.when_is_over(When::parse("2026-02-08")?);
/// assert_eq!(totals(&book.standings(at)), "1 clear; nothing to do");
/// // A slip must not pass for a house in order.
/// book.record(Entry::new("2026-02-07", "lens chagne").item("C1").amount(2))?;
/// assert_eq!(totals(&book.standings(at)), "1 clear; nothing found to do, but see 2 problems in the data");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn totals(standings: &Standings) -> String {
    let count = |standing| standings.rows().filter(|row| row.standing == standing).count();
    let counts: Vec<String> = Standing::ALL
        .into_iter()
        .map(|standing| (standing, count(standing)))
        .filter(|(_, count)| *count > 0)
        .map(|(standing, count)| format!("{count} {standing}"))
        .collect();
    if counts.is_empty() && standings.items().next().is_none() && standings.awaited().len() > 0 {
        return "no item is there yet".to_owned();
    }
    if counts.is_empty() {
        return "no rule applies to any item".to_owned();
    }
    let now: Vec<Option<Amount>> =
        standings.rows().filter(|row| row.standing >= Standing::Due).map(|row| row.takes_minutes()).collect();
    let micros = now.iter().flatten().map(|takes| takes.micros()).fold(0_i64, i64::saturating_add);
    let untimed = now.iter().filter(|takes| takes.is_none()).count();
    let work = match (Amount::from_micros(micros), untimed) {
        _ if now.is_empty() => match standings.problems().len() {
            0 => "; nothing to do".to_owned(),
            // What was not understood may be the very entry that makes something due.
            problems => {
                format!("; nothing found to do, but see {} in the data", counted(problems, "problem"))
            }
        },
        (work, 0) => format!("; {} of work", minutes(work)),
        (Amount::ZERO, untimed) => format!("; {} to do, with no time given", counted(untimed, "task")),
        (work, untimed) => {
            format!("; {} of work, and {} with no time given", minutes(work), counted(untimed, "task"))
        }
    };
    let rest = without_rule(standings).map_or_else(String::new, |items| format!("; {items}"));
    counts.join(", ") + &work + &rest
}

/// Which items no rule applies to, by kind, if there are any: a kind may have another name in the rules.
pub fn without_rule(standings: &Standings) -> Option<String> {
    const SHOWN: usize = 5;
    let ruled: HashSet<&str> = standings.rows().map(|row| row.item).collect();
    let mut kinds: BTreeMap<String, usize> = BTreeMap::new();
    for (_, kind) in standings.items().filter(|(id, _)| !ruled.contains(id)) {
        *kinds.entry(plain(kind)).or_default() += 1;
    }
    if kinds.is_empty() {
        return None;
    }
    let mut names: Vec<String> = kinds
        .iter()
        .take(SHOWN)
        .map(|(kind, count)| if *count == 1 { kind.clone() } else { format!("{kind} ({count})") })
        .collect();
    if kinds.len() > SHOWN {
        names.push(format!("{} more", counted(kinds.len() - SHOWN, "kind")));
    }
    Some(format!("no rule applies to {}: {}", counted(kinds.values().sum(), "item"), names.join(", ")))
}
