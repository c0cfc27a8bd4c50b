//! What happens next by a rule: when it becomes due, overdue or grounded, or what that still takes.

use crate::reasons::{Told, is_undated, told_limit_parts, told_parts};
use crate::say::{Days, billionths, grouped, listed};
use kitlore_engine::{Account, Standing};
use kitlore_syntax::tree::{AtomKind, Trigger};

/// The next steps of a rule, in words.
pub fn next(account: &Account<'_>, days: &Days<'_>) -> String {
    steps(account, days).words.join("; ")
}

/// The next steps of a rule, one by one.
pub(crate) struct Steps {
    /// The first is that it is due on a date, and nothing else.
    pub first_is_date: bool,
    pub words: Vec<String>,
}

/// As [`next`], step by step.
pub(crate) fn steps(account: &Account<'_>, days: &Days<'_>) -> Steps {
    let mut steps = Vec::new();
    let mut first_is_date = false;
    let on = |at| {
        let date = days.date(at);
        format!("on {date}, {}", days.distance(date))
    };
    if account.standing < Standing::Due {
        let missing = missing(&account.rule.rule.trigger, &mut told_parts(account).into_iter(), days);
        let announced = missing.unwrap_or_else(|| "nothing more".to_owned());
        let is_one = account.rule.rule.trigger.atoms().len() == 1;
        match account.due_at.filter(|due| is_one || announced == date_of(days, *due)) {
            Some(due) => {
                first_is_date = true;
                steps.push(format!("due {}", on(due)));
            }
            None => steps.push(format!("due after: {announced}")),
        }
    }
    if let Some(late) = account.late_at.filter(|_| account.standing == Standing::Due) {
        steps.push(format!("overdue {}", on(late)));
    }
    if account.standing == Standing::Grounded {
        steps.push("not to be used until done".to_owned());
    } else if let Some(limit) = account.limit_at {
        steps.push(format!("grounded {}", on(limit)));
    } else if let Some(limit) = &account.rule.rule.details.no_later_than {
        let missing = missing(limit, &mut told_limit_parts(account).into_iter(), days);
        steps.extend(missing.map(|missing| format!("grounded after: {missing}")));
    }
    if steps.is_empty() {
        steps.push("it stays so until done".to_owned());
    }
    Steps { first_is_date, words: steps }
}

fn date_of(days: &Days<'_>, at: kitlore_engine::Instant) -> String {
    days.date(at).to_string()
}

/// What a trigger still waits for; `None` where nothing is missing.
fn missing<'a>(
    trigger: &Trigger,
    parts: &mut impl Iterator<Item = Told<'a>>,
    days: &Days<'_>,
) -> Option<String> {
    match trigger {
        Trigger::Atom(_) => parts.next().and_then(|told| missing_part(&told, days)),
        Trigger::And(all) => {
            let all: Vec<Option<String>> = all.iter().map(|one| missing(one, parts, days)).collect();
            let words: Vec<String> = all.into_iter().flatten().collect();
            (!words.is_empty()).then(|| words.join(" and "))
        }
        Trigger::Or(any) => {
            let any: Vec<Option<String>> = any.iter().map(|one| missing(one, parts, days)).collect();
            if any.iter().any(Option::is_none) {
                return None;
            }
            let words: Vec<String> = any.into_iter().flatten().collect();
            Some(words.join(", or "))
        }
    }
}

fn missing_part(told: &Told<'_>, days: &Days<'_>) -> Option<String> {
    let part = &told.part;
    if let Some(at) = part.reached_at {
        return (!days.is_past(at)).then(|| date_of(days, at));
    }
    if is_undated(told) {
        return Some(format!("a date to count `{}` from", part.text));
    }
    let without_when = part.text.strip_prefix("when ").unwrap_or(part.text);
    Some(match &told.written.kind {
        AtomKind::Usage { .. } => {
            let (count, of) = (part.count?.to_string(), part.of?.to_string());
            let left = billionths(&of)?.checked_sub(billionths(&count)?)?;
            let words = crate::reasons::usage_name(told);
            if left == 1_000_000_000 && of == "1" {
                format!("the next {words}")
            } else if left == 1_000_000_000 {
                format!("1 more {words}")
            } else {
                format!("{} more {words}", grouped(&decimal(left)))
            }
        }
        AtomKind::Before { event, .. } => format!("a planned {}", event.text),
        AtomKind::Delay { duration, event, .. } => format!("{duration} after the next {}", event.text),
        AtomKind::Finding { task, findings } => {
            format!("{} finding {}", task.text, listed(findings.iter().map(|name| name.text.as_str()), "or"))
        }
        AtomKind::Age(_) => "nothing: this age is dealt with".to_owned(),
        _ => without_when.to_owned(),
    })
}

fn decimal(billionths: i128) -> String {
    const BILLION: i128 = 1_000_000_000;
    let fraction = format!("{:09}", billionths % BILLION);
    let fraction = fraction.trim_end_matches('0');
    let whole = billionths / BILLION;
    if fraction.is_empty() { whole.to_string() } else { format!("{whole}.{fraction}") }
}
