//! Rules in another order of words, or with other words for how often: what the line begins with is no `after` or
//! `every`.

use super::lengths::times_a;
use super::tokens::Tokens;
use super::words::{FIRST, STARTS};
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{adverb, month_named, season, unit_of};
use crate::nearness::closest;

/// `inspect sensor every 90 days; notice 14 days`: the task first, and then when. Also words before the first word
/// of a rule that are no task: `either 20 trips or 90 days, wipe body`.
pub(super) fn task_first(p: &Tokens<'_>) -> Option<Diagnostic> {
    let starts =
        |i: &usize| (STARTS.contains(&p.low(*i)) && !matches!(p.low(*i), "on" | "age")) || p.low(*i) == "if";
    let either = (p.low(0) == "either" && p.is_figure(1)).then_some(1);
    let start = either.or_else(|| (1..p.len()).find(starts))?;
    if closest(p.low(0), STARTS).is_some() {
        return None;
    }
    // `rinse legs 1 day after each trip`
    let lasts = start >= 3 && p.is_figure(start - 2) && unit_of(p.low(start - 1)).is_some();
    let lasts = lasts && matches!(p.low(start), "after" | "before");
    let begin = if lasts { start - 2 } else { start };
    let end = if p.raw(begin - 1) == "," { begin - 1 } else { begin };
    if (0..end).any(|i| p.raw(i) == ",") {
        return None;
    }
    let stop = (begin..p.len()).find(|i| matches!(p.raw(*i), "," | ";")).unwrap_or(p.len());
    let behind = p.rest((stop + 1).min(p.len()));
    let detail = p.raw(stop) == ";" || FIRST.contains(&p.low(stop + 1));
    let trigger = match p.low(begin) {
        "if" => format!("when {}", p.text(begin + 1, stop)),
        _ if either.is_some() => format!("after {}", p.text(begin, stop)),
        _ => p.text(begin, stop),
    };
    let stray =
        ["max", "maximum", "no", "not", "more", "than", "at", "most", "least", "about", "roughly", "only"];
    let is_stray = end == 1 || (0..end).all(|i| stray.contains(&p.low(i)));
    if stop < p.len() && !detail && is_stray {
        let message = format!("`{}` is not the beginning of a rule", p.text(0, end));
        return Some(
            Diagnostic::error(Code::UnknownStatement, p.span(0, end)?, message)
                .help(format!("leave it out: `{trigger}, {behind}`")),
        );
    }
    let (trigger, within) = match lasts && p.low(start) == "before" {
        true => (p.text(start, stop), format!("; within {}", p.text(begin, start))),
        false => (trigger, String::new()),
    };
    let details = if detail && !behind.is_empty() { format!("; {behind}") } else { String::new() };
    let message = "a rule says first when, then what";
    let help = format!("write `{trigger}, {}{within}{details}`", p.text(0, end));
    Some(Diagnostic::error(Code::UnknownStatement, p.whole(), message).help(help))
}

/// `quarterly, clean sensor`, `twice a year, clean sensor`, `in spring, grease spigot`.
pub(super) fn how_often(p: &Tokens<'_>, comma: Option<usize>) -> Option<Diagnostic> {
    let task = |from: usize| p.rest(comma.unwrap_or(from - 1) + 1);
    let rule = |to: usize, trigger: &str, message: String| {
        let help = format!("write `{trigger}, {}`", task(to));
        Diagnostic::error(Code::UnknownStatement, p.span(0, to).unwrap_or(p.whole()), message).help(help)
    };
    if let Some(trigger) = adverb(p.low(0)) {
        let trigger = match (p.low(1), comma) {
            ("on", Some(comma)) => format!("{trigger} {}", p.text(1, comma)),
            _ => trigger,
        };
        return Some(rule(1, &trigger, format!("`{}` is not a word of the language", p.raw(0))));
    }
    if let Some((trigger, end)) = times_a(p, 0) {
        return Some(rule(end, &trigger, format!("`{}` is not how a rule begins", p.text(0, end))));
    }
    if p.low(0) == "in"
        && let Some(month) = season(p.low(1)).or_else(|| month_named(p.low(1)))
    {
        let trigger = format!("every year on 1 {month}");
        return Some(rule(2, &trigger, format!("`{}` is not how a date is written", p.text(0, 2))));
    }
    if matches!(p.low(0), "no" | "not") && matches!(p.low(1), "more" | "longer") && p.low(2) == "than" {
        let text = p.text(0, 3);
        let diagnostic = |end| {
            Diagnostic::error(
                Code::UnknownStatement,
                p.span(0, end).unwrap_or(p.whole()),
                format!("`{text}` does not begin a rule"),
            )
        };
        if let Some((trigger, end)) = times_a(p, 3) {
            let help = format!(
                "a rule says when; then how often at most: `after 20 trips, {}; at most {trigger}`",
                task(end)
            );
            return Some(diagnostic(end).help(help));
        }
        if p.is_figure(3) {
            let end = comma.unwrap_or(p.len());
            return Some(diagnostic(3).help(format!("write `after {}, {}`", p.text(3, end), task(end))));
        }
    }
    None
}

/// What is before the comma of a rule and after it, from a word on that an event follows.
fn event_and_task(p: &Tokens<'_>, word: usize, event: &str) -> (String, String) {
    let comma = (word..p.len()).find(|i| p.raw(*i) == ",").unwrap_or(p.len());
    let articles = ["each", "every", "a", "an", "any", "the"];
    let name = word + 1 + usize::from(articles.contains(&p.low(word + 1)));
    let event = if name < comma { p.text(name, comma) } else { event.to_owned() };
    (event, if comma + 1 < p.len() { p.rest(comma + 1) } else { "…".to_owned() })
}

/// `the day before a trip, charge battery`: a length of time and the place of `before`.
pub(super) fn within(p: &Tokens<'_>, (length, before): (String, usize)) -> Diagnostic {
    let (planned, task) = event_and_task(p, before, "trip");
    let message = "the detail `within` says how long before something planned";
    Diagnostic::error(Code::UnknownStatement, p.span(0, before + 1).unwrap_or(p.whole()), message)
        .help(format!("write `before every {planned}, {task}; within {length}`"))
}

/// `a year after purchase, service shutter`: a length of time and the place of `after`.
pub(super) fn delay(p: &Tokens<'_>, (length, after): (String, usize)) -> Diagnostic {
    let (event, task) = event_and_task(p, after, "firmware release");
    let message = format!("`{}` is not how a delay is written", p.text(0, after + 1));
    Diagnostic::error(Code::UnknownStatement, p.span(0, after + 1).unwrap_or(p.whole()), message)
        .help(format!("write `{length} after each {event}, {task}`"))
}
