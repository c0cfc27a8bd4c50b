//! Why a row stands as it does, in words: the part of the rule that tipped it.

use crate::next::steps;
use crate::say::{Days, grouped, listed};
use kitlore_engine::{Account, Instant, Part, Row, Standing};
use kitlore_syntax::tree::{Atom, AtomKind, Conditions, Notice, Trigger};

/// One part of a trigger as written and as counted.
pub struct Told<'a> {
    /// As the rule has it.
    pub written: &'a Atom,
    /// As the log has it.
    pub part: Part<'a>,
}

/// The parts of a trigger or limit that decide it, and when they do.
struct Deciding<'a> {
    at: Option<Instant>,
    parts: Vec<Told<'a>>,
}

/// What tipped a row, what will, or what is missing; each once.
pub fn reasons(row: &Row<'_>, days: &Days<'_>) -> Vec<String> {
    let mut accounts: Vec<Account<'_>> =
        row.rules().filter(|account| account.standing == row.standing).collect();
    accounts.sort_by_key(|account| (account.due_at.is_none(), account.due_at));
    // The rules that are reached all say why; of those that lie ahead the first one does.
    let shown =
        if row.standing >= Standing::Due || row.standing == Standing::Unknown { accounts.len() } else { 1 };
    let mut all: Vec<String> = Vec::new();
    for account in accounts.iter().take(shown) {
        for reason in of_account(account, row, days) {
            if !all.contains(&reason) {
                all.push(reason);
            }
        }
    }
    all
}

/// What brought a row due, or is certain to, as it stands now; where nothing certain does, the use that has
/// counted the greatest share of what a rule asks for.
pub fn cause(row: &Row<'_>, days: &Days<'_>) -> String {
    let first = row.rules().min_by_key(|account| (account.due_at.is_none(), account.due_at));
    let Some(account) = first else { return String::new() };
    if account.due_at.is_some() { of_date(&account, row, days) } else { counting(row) }
}

/// What makes a rule due on its date.
fn of_date(account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> String {
    let trigger = trigger(account);
    let reached =
        trigger.at.is_some() && (trigger.at == account.due_at || account.limit_at != account.due_at);
    match reached {
        true => joined(&trigger.parts, account, row, days),
        false => format!("no later than {}", joined(&limit(account).parts, account, row, days)),
    }
}

/// The use that has counted the greatest share of what a rule of the row asks for; empty if none counts use.
pub fn counting(row: &Row<'_>) -> String {
    let usages =
        row.rules().flat_map(|account| told_parts(&account)).filter(|told| told.part.count.is_some());
    usages.min_by_key(|told| std::cmp::Reverse(share(told))).map_or_else(String::new, |told| {
        match is_each(told.part.text) {
            true => told.part.text.to_owned(),
            false => usage(&told),
        }
    })
}

/// How much of what it asks for a usage has counted, in thousandths.
fn share(told: &Told<'_>) -> i128 {
    let of = told.part.of.map_or(1, |of| i128::from(of.micros())).max(1);
    let count = told.part.count.map_or(0, |count| count.billionths());
    count.checked_div(of).unwrap_or(0)
}

fn of_account(account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> Vec<String> {
    match account.standing {
        Standing::Unknown => missing(account),
        Standing::Grounded if is_stopped_by_limit(account) => {
            vec![format!("no later than {}", joined(&limit(account).parts, account, row, days))]
        }
        Standing::Soon => {
            let mut reasons = near_in_uses(account);
            let trigger = trigger(account);
            if reasons.is_empty() && trigger.at.is_some() {
                reasons.push(joined(&trigger.parts, account, row, days));
            }
            reasons
        }
        Standing::Clear => {
            let mut next = steps(account, days);
            // The date stands beside the reasons; what makes it that date does not.
            if let Some(first) = next.words.first_mut().filter(|_| next.first_is_date) {
                *first = of_date(account, row, days);
            }
            vec![next.words.join("; ")]
        }
        _ => {
            let trigger = trigger(account);
            let reached =
                trigger.at.is_some_and(|at| Some(at) == account.due_at || account.limit_at != account.due_at);
            let deciding = if reached { trigger } else { limit(account) };
            vec![joined(&deciding.parts, account, row, days)]
        }
    }
}

fn joined(parts: &[Told<'_>], account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> String {
    let phrases: Vec<String> = parts.iter().map(|told| phrase(told, account, row, days)).collect();
    phrases.join(" and ")
}

/// The trigger's parts as written and counted.
pub fn told_parts<'a>(account: &Account<'a>) -> Vec<Told<'a>> {
    zip(account.rule.rule.trigger.atoms(), account.parts())
}

/// The same of the limit.
pub fn told_limit_parts<'a>(account: &Account<'a>) -> Vec<Told<'a>> {
    let limit = account.rule.rule.details.no_later_than.as_ref();
    zip(limit.map(Trigger::atoms).unwrap_or_default(), account.limit_parts())
}

fn zip<'a>(atoms: Vec<&'a Atom>, parts: Vec<Part<'a>>) -> Vec<Told<'a>> {
    atoms.into_iter().zip(parts).map(|(written, part)| Told { written, part }).collect()
}

fn trigger<'a>(account: &Account<'a>) -> Deciding<'a> {
    decide(&account.rule.rule.trigger, &mut told_parts(account).into_iter())
}

fn limit<'a>(account: &Account<'a>) -> Deciding<'a> {
    match &account.rule.rule.details.no_later_than {
        Some(limit) => decide(limit, &mut told_limit_parts(account).into_iter()),
        None => Deciding { at: None, parts: Vec::new() },
    }
}

/// Whether `no later than` stopped the item, and not the trigger through `do not use until done`.
fn is_stopped_by_limit(account: &Account<'_>) -> bool {
    limit(account).at.is_some_and(|at| Some(at) == account.limit_at)
}

/// `or` is decided by the earliest of what is known, `and` by all.
fn decide<'a>(trigger: &Trigger, parts: &mut impl Iterator<Item = Told<'a>>) -> Deciding<'a> {
    match trigger {
        Trigger::Atom(_) => {
            let parts: Vec<Told<'a>> = parts.next().into_iter().collect();
            Deciding { at: parts.first().and_then(|told| told.part.reached_at), parts }
        }
        Trigger::And(all) => {
            let all: Vec<Deciding<'a>> = all.iter().map(|one| decide(one, parts)).collect();
            let known = all.iter().all(|one| one.at.is_some());
            let at = all.iter().filter_map(|one| one.at).max().filter(|_| known);
            Deciding { at, parts: all.into_iter().flat_map(|one| one.parts).collect() }
        }
        Trigger::Or(any) => {
            let any: Vec<Deciding<'a>> = any.iter().map(|one| decide(one, parts)).collect();
            let first = any.iter().filter_map(|one| one.at).min();
            let parts = any.into_iter().filter(|one| first.is_none() || one.at == first);
            let parts: Vec<Deciding<'a>> =
                if first.is_some() { parts.take(1).collect() } else { parts.collect() };
            Deciding { at: first, parts: parts.into_iter().flat_map(|one| one.parts).collect() }
        }
    }
}

/// The usages that a notice in uses announces.
fn near_in_uses(account: &Account<'_>) -> Vec<String> {
    let Some(Notice::Uses(_, of)) = &account.rule.rule.details.notice else {
        return Vec::new();
    };
    let is_of =
        |told: &Told<'_>| matches!(&told.written.kind, AtomKind::Usage { name, .. } if name.key == of.key);
    let near: Vec<Told<'_>> = told_parts(account).into_iter().filter(is_of).collect();
    let near =
        if near.is_empty() { told_limit_parts(account).into_iter().filter(is_of).collect() } else { near };
    near.iter().map(usage).collect()
}

/// The parts that have no date to count from.
fn missing(account: &Account<'_>) -> Vec<String> {
    let all: Vec<Told<'_>> = told_parts(account).into_iter().chain(told_limit_parts(account)).collect();
    let undated = all.iter().filter(|told| is_undated(told));
    undated
        .map(|told| {
            format!(
                "no date to count `{}` from: give the item a date `received` or `in_service`",
                told.part.text
            )
        })
        .collect()
}

/// Whether it counts days and has no date to count them from.
pub fn is_undated(told: &Told<'_>) -> bool {
    let dated = matches!(told.part.kind, "interval" | "age" | "unused" | "calendar");
    let once = matches!(told.written.kind, AtomKind::Calendar(kitlore_syntax::tree::Calendar::On(_)));
    dated && !once && told.part.from.is_none()
}

/// One part in words, with what makes it true.
fn phrase(told: &Told<'_>, account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> String {
    let part = &told.part;
    let reached = part.reached_at.map(|at| days.date(at));
    let on = reached.map_or_else(String::new, |date| format!(" {date}"));
    match &told.written.kind {
        AtomKind::Usage { name, conditions, .. } if is_each(part.text) && reached.is_some() => {
            format!("{}{}{on}", name.text, in_words(conditions))
        }
        AtomKind::Usage { .. } => match reached {
            Some(date) => format!("{}, reached {date}", usage(told)),
            None => usage(told),
        },
        AtomKind::Interval(duration) => match (part.from, row.last_done.map(|done| days.date(done))) {
            (Some(from), Some(done)) if from == done => format!("{duration} since last done {from}"),
            (Some(from), _) => format!("{duration} since {from}, not done yet"),
            (None, _) => duration.to_string(),
        },
        AtomKind::Unused(duration) => match part.from {
            Some(from) if part.tipped_by.is_some() => format!("unused for {duration}, last used {from}"),
            Some(from) => format!("unused for {duration} since {from}"),
            None => format!("unused for {duration}"),
        },
        AtomKind::Age(duration) => {
            format!("age {duration}{}", reached.map_or_else(String::new, |date| format!(" on {date}")))
        }
        AtomKind::Delay { duration, event, .. } => match part.from {
            Some(from) => format!("{duration} after {} of {from}", event.text),
            None => format!("{duration} after {}", event.text),
        },
        AtomKind::Before { event, conditions } => {
            let start = account.late_at.filter(|_| account.rule.rule.trigger.atoms().len() == 1);
            let of = start.map_or_else(String::new, |start| format!(" of {}", days.date(start)));
            format!("before {}{}{of}", event.text, in_words(conditions))
        }
        AtomKind::Finding { task, findings } => {
            format!(
                "{} found {}{on}",
                task.text,
                listed(findings.iter().map(|name| name.text.as_str()), "or")
            )
        }
        AtomKind::Spotted { findings } => {
            format!("{} found{on}", listed(findings.iter().map(|name| name.text.as_str()), "or"))
        }
        AtomKind::Reading { .. } => {
            let text = part.text.strip_prefix("when ").unwrap_or(part.text);
            reached.map_or_else(|| text.to_owned(), |date| format!("{text} since {date}"))
        }
        AtomKind::Calendar(_) => part.text.to_owned(),
    }
}

/// `every trip`: one is enough, and no number stands there.
fn is_each(text: &str) -> bool {
    !text.starts_with(|c: char| c.is_ascii_digit()) && !text.contains(|c: char| c.is_ascii_digit())
}

/// `12 of 20 lens changes in dust`.
pub fn usage(told: &Told<'_>) -> String {
    let count = told.part.count.map_or_else(|| "0".to_owned(), |count| grouped(&count.to_string()));
    let of = told.part.of.map_or_else(String::new, |of| grouped(&of.to_string()));
    format!("{count} of {of} {}", usage_name(told))
}

/// `lens changes in dust`.
pub(crate) fn usage_name(told: &Told<'_>) -> String {
    match &told.written.kind {
        AtomKind::Usage { name, conditions, .. } => format!("{}{}", name.text, in_words(conditions)),
        _ => told.part.text.to_owned(),
    }
}

/// ` in dust or sand`, ` not in studio`, or nothing.
fn in_words(conditions: &Conditions) -> String {
    let names = || conditions.names().iter().map(|name| name.text.as_str());
    match conditions {
        Conditions::Whatever => String::new(),
        Conditions::Any(_) => format!(" in {}", listed(names(), "or")),
        Conditions::All(_) => format!(" in {}", listed(names(), "and")),
        Conditions::Neither(_) => format!(" not in {}", listed(names(), "or")),
    }
}
