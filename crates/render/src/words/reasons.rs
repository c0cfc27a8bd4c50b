//! Why a row stands as it does, in words: the part of the rule that tipped it.

use super::dates::Days;
use super::next::steps;
use super::part::{PartFacts, usage};
use kitlore_engine::{Account, Clause, Part, Row, Standing};
use kitlore_syntax::tree::{AtomKind, Notice};

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

fn of_account(account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> Vec<String> {
    match account.standing {
        Standing::Unknown => missing(account),
        Standing::Grounded if is_stopped_by_limit(account) => {
            vec![no_later_than(account, row, days)]
        }
        Standing::Soon => {
            let mut reasons = near_in_uses(account);
            let trigger = account.trigger();
            if reasons.is_empty() && trigger.reached_at().is_some() {
                reasons.push(joined(&trigger, account, row, days));
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
        _ => vec![match account.limit() {
            Some(limit) if !account.is_due_by_trigger() => joined(&limit, account, row, days),
            _ => joined(&account.trigger(), account, row, days),
        }],
    }
}

/// What makes a rule due on its date.
fn of_date(account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> String {
    match account.limit() {
        Some(_) if !account.is_due_by_trigger() => no_later_than(account, row, days),
        _ => joined(&account.trigger(), account, row, days),
    }
}

fn no_later_than(account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> String {
    let words = account.limit().map(|limit| joined(&limit, account, row, days));
    format!("no later than {}", words.unwrap_or_default())
}

/// The parts that decide, in words.
fn joined(clause: &Clause<'_>, account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> String {
    let parts = clause.deciding().into_iter();
    let phrases: Vec<String> = parts.map(|part| PartFacts::of(part, account, row, days).phrase()).collect();
    phrases.join(" and ")
}

/// Whether `no later than` stopped the item, and not the trigger through `do not use until done`.
fn is_stopped_by_limit(account: &Account<'_>) -> bool {
    let reached = account.limit().and_then(|limit| limit.reached_at());
    reached.is_some() && reached == account.limit_at
}

/// The usages that a notice in uses announces.
fn near_in_uses(account: &Account<'_>) -> Vec<String> {
    let Some(Notice::Uses(_, of)) = &account.rule.rule.details.notice else {
        return Vec::new();
    };
    let is_of =
        |part: &Part<'_>| matches!(&part.written.kind, AtomKind::Usage { name, .. } if name.key == of.key);
    let near: Vec<Part<'_>> = account.parts().into_iter().filter(is_of).collect();
    let near = if near.is_empty() { account.limit_parts().into_iter().filter(is_of).collect() } else { near };
    near.iter().map(usage).collect()
}

/// The parts that have no date to count from.
fn missing(account: &Account<'_>) -> Vec<String> {
    let all = account.parts().into_iter().chain(account.limit_parts());
    let undated = all.filter(Part::is_undated).map(|part| part.text);
    undated
        .map(|text| {
            format!("no date to count `{text}` from: give the item a date `received` or `in_service`")
        })
        .collect()
}
