//! What happens next by a rule: when it becomes due, overdue or grounded, or what that still takes.

use super::dates::Days;
use super::numbers::{billionths, grouped};
use super::part::{any_of, usage_name, without_when};
use kitlore_engine::{Account, Clause, Instant, Part, Standing};
use kitlore_syntax::tree::AtomKind;

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
        let trigger = account.trigger();
        let announced = missing(&trigger, days).unwrap_or_else(|| "nothing more".to_owned());
        let is_one = matches!(trigger, Clause::Part(_));
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
    } else if let Some(limit) = account.limit() {
        steps.extend(missing(&limit, days).map(|missing| format!("grounded after: {missing}")));
    }
    if steps.is_empty() {
        steps.push("it stays so until done".to_owned());
    }
    Steps { first_is_date, words: steps }
}

fn date_of(days: &Days<'_>, at: Instant) -> String {
    days.date(at).to_string()
}

/// What a trigger still waits for; `None` where nothing is missing.
fn missing(clause: &Clause<'_>, days: &Days<'_>) -> Option<String> {
    match clause {
        Clause::Part(part) => missing_part(part, days),
        Clause::And(all) => {
            let words: Vec<String> = all.iter().filter_map(|one| missing(one, days)).collect();
            (!words.is_empty()).then(|| words.join(" and "))
        }
        Clause::Or(any) => {
            let words: Option<Vec<String>> = any.iter().map(|one| missing(one, days)).collect();
            words.map(|words| words.join(", or "))
        }
    }
}

fn missing_part(part: &Part<'_>, days: &Days<'_>) -> Option<String> {
    if let Some(at) = part.reached_at {
        return (!days.is_past(at)).then(|| date_of(days, at));
    }
    if part.is_undated() {
        return Some(format!("a date to count `{}` from", part.text));
    }
    Some(match &part.written.kind {
        AtomKind::Usage { .. } => {
            let (count, of) = (part.count?.to_string(), part.of?.to_string());
            let left = billionths(&of)?.checked_sub(billionths(&count)?)?;
            let words = usage_name(part.written, part.text);
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
        AtomKind::Finding { task, findings } => format!("{} finding {}", task.text, any_of(findings)),
        AtomKind::Age(_) => "nothing: this age is dealt with".to_owned(),
        _ => without_when(part.written, part.text),
    })
}

fn decimal(billionths: i128) -> String {
    const BILLION: i128 = 1_000_000_000;
    let fraction = format!("{:09}", billionths % BILLION);
    let fraction = fraction.trim_end_matches('0');
    let whole = billionths / BILLION;
    if fraction.is_empty() { whole.to_string() } else { format!("{whole}.{fraction}") }
}
