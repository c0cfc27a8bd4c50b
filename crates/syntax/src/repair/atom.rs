//! Parts of a trigger.

use super::calendar::calendar;
use super::counting::words_for_number;
use super::lengths::ahead;
use super::lengths::times_a;
use super::spoken::within;
use super::tokens::Tokens;
use super::units::{later, listed, unknown_unit};
use super::uses::in_name;
use super::when::before;
use super::when::when;
use super::words::STARTS;
use super::words::TRIGGER_FORMS as FORMS;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{month_named, season, unit_of, weekday_of};
use crate::lower::{File, bad_number};
use crate::nearness::closest;
use crate::parse::{Node, Part};
use crate::tree::Unit;

/// Explains a part of a trigger that has none of the forms.
pub(super) fn atom(file: &File<'_>, node: &Node) -> Diagnostic {
    let p = Tokens::of(file, node);
    general(&p).unwrap_or_else(|| match p.low(0) {
        "when" => when(&p),
        "before" => before(&p),
        "on" => calendar(&p, 0, 0),
        _ => counted(&p),
    })
}

/// Slips that can occur in any part.
fn general(p: &Tokens<'_>) -> Option<Diagnostic> {
    if p.raw(1) == ":" {
        let message = format!("no colon is needed after `{}`", p.raw(0));
        let help = format!("leave it out: `{} {}`", p.raw(0), p.rest(2));
        return Some(Diagnostic::error(Code::NeedlessWords, p.at(1), message).help(help));
    }
    if let Some(at) = p.find_from(1, &["whichever"]).filter(|at| !later(p, *at)) {
        let message = "`or` already means whichever comes first";
        let help = format!("leave it out: `{}`", p.text(0, at));
        return Some(Diagnostic::error(Code::NeedlessWords, p.span(at, p.len())?, message).help(help));
    }
    if let Some(at) = p.find_from(1, &["whichever"]) {
        let message = "`and` means whichever is later";
        let help = "join the parts by `and` in place of `or`, and leave this out";
        return Some(Diagnostic::error(Code::NeedlessWords, p.span(at, p.len())?, message).help(help));
    }
    if let Some(at) = (2..p.len()).find(|i| matches!(p.raw(*i), ":" | "-") && p.is_bit(i + 1)) {
        let message = format!("a comma, not `{}`, separates trigger and task", p.raw(at));
        let help = format!("write `{}, {}`", p.text(0, at), p.rest(at + 1));
        return Some(Diagnostic::error(Code::MissingComma, p.at(at), message).help(help));
    }
    if let Some(at) = p.find("and/or") {
        let message = "`and/or` leaves open which of the two is meant";
        let help = format!(
            "write `{} or {}` for whichever comes first, `and` for when both are reached",
            p.text(0, at),
            p.rest(at + 1)
        );
        return Some(Diagnostic::error(Code::AndOr, p.at(at), message).help(help));
    }
    if let Some(at) = p.find_from(1, &["then"]) {
        let message = "a comma, not `then`, separates trigger and task";
        let help = format!("write `{}, {}`", p.text(0, at), p.rest(at + 1));
        return Some(Diagnostic::error(Code::MissingComma, p.at(at), message).help(help));
    }
    None
}

/// `after …`, `every …`, `at …`, `age …`, and parts with no word of the language before them.
fn counted(p: &Tokens<'_>) -> Diagnostic {
    let leads = matches!(p.low(0), "after" | "every" | "each" | "at");
    let mut start = usize::from(leads);
    if leads && matches!(p.low(1), "every" | "each") {
        if p.is_figure(2) {
            let message = format!("`{}` says it twice", p.text(0, 2));
            let help = format!("write `after {}`", p.rest(2));
            return Diagnostic::error(Code::UnknownTrigger, p.span(0, 2).unwrap_or(p.whole()), message)
                .help(help);
        }
        start = 2;
    }
    let aged = start + usize::from(matches!(p.low(start), "a" | "an" | "the"));
    if p.low(aged) == "age" {
        return age(p, aged);
    }
    if p.len() == start {
        let message = format!("nothing follows `{}`", p.text(0, start));
        return Diagnostic::error(Code::UnknownTrigger, p.whole(), message).help(FORMS);
    }
    let least = usize::from(p.stand(0, &["at", "least"])) * 2;
    if let Some((trigger, end)) = times_a(p, least.max(start)) {
        let message = format!("`{}` is not how a trigger is written", p.text(0, end));
        let help = format!("write `{}`", [&trigger, p.rest(end).as_str()].join(" ").trim());
        return Diagnostic::error(Code::UnknownTrigger, p.span(0, end).unwrap_or(p.whole()), message)
            .help(help);
    }
    if let Some(diagnostic) = comparison_words(p, start) {
        return diagnostic;
    }
    if let Some(found) = ahead(p) {
        return Diagnostic { code: Code::UnknownTrigger, ..within(p, found) };
    }
    if p.is_figure(start) {
        return after_figure(p, start);
    }
    if start > 0 && matches!(p.low(start - 1), "every" | "each") {
        let first = p.low(start);
        let unit = unit_of(first).is_some();
        if let Some(on) = p.find("on")
            && (unit || weekday_of(first).is_some() || month_named(first).is_some())
        {
            return calendar(p, start, on);
        }
        if unit {
            return after_duration(p, &format!("1 {}", p.raw(start)), start + 1);
        }
    }
    if let Some(diagnostic) = words_for_number(p, start) {
        return diagnostic;
    }
    if p.raw(start) == "-" {
        let message = "a count or a length of time cannot be negative";
        return Diagnostic::error(Code::BadNumber, p.at(start), message).help(format!(
            "write `{} {}`",
            p.text(0, start),
            p.rest(start + 1)
        ));
    }
    if start == 0 {
        return no_start(p);
    }
    if matches!(p.low(start - 1), "every" | "each") {
        return in_name(p, start);
    }
    if p.low(0) == "at"
        && let Some(every) = (start..p.len()).find(|i| matches!(p.low(*i), "every" | "each"))
    {
        if let Some(diagnostic) = end_of(p, every) {
            return diagnostic;
        }
        let message = format!("`{}` before `{}` says nothing more", p.text(0, every), p.raw(every));
        let help = format!("leave it out: `{}`", p.rest(every));
        return Diagnostic::error(Code::UnknownTrigger, p.whole(), message).help(help);
    }
    let message = format!("a number is missing after `{}`", p.text(0, start));
    let article = ["the", "all", "any", "my", "our", "your", "a", "an"].contains(&p.low(start));
    let name = p.rest(start + usize::from(article && start + 1 < p.len()));
    let help = format!(
        "write how many, as in `{} 20 trips`, or `every {name}` for each single time",
        p.text(0, start)
    );
    Diagnostic::error(Code::NumberMissing, p.span(0, start).unwrap_or(p.whole()), message).help(help)
}

/// `at the end of every month`, `at the start of each trip`.
fn end_of(p: &Tokens<'_>, every: usize) -> Option<Diagnostic> {
    let first = p.find_any(&["start", "beginning"]).is_some();
    if !first && p.find("end").is_none() {
        return None;
    }
    let (start, end) = match unit_of(p.low(every + 1)) {
        Some(Unit::Month) => ("every month on day 1".to_owned(), "every month on day 31".to_owned()),
        Some(Unit::Year) => ("every year on 1 January".to_owned(), "every year on 31 December".to_owned()),
        Some(Unit::Week) => ("every week on Monday".to_owned(), "every week on Sunday".to_owned()),
        Some(Unit::Day) => return None,
        // What has a span counts at its end.
        None => (format!("before every {}", p.rest(every + 1)), format!("after every {}", p.rest(every + 1))),
    };
    let message = format!("`{}` is not how this is written", p.rest(0));
    let help = format!("write `{}`", if first { start } else { end });
    Some(Diagnostic::error(Code::UnknownTrigger, p.whole(), message).help(help))
}

/// A part of a trigger in brackets, or after `no later than`, that begins with no word of a trigger.
fn no_start(p: &Tokens<'_>) -> Diagnostic {
    let message = format!("`{}` says neither how often nor when", p.rest(0));
    let diagnostic = Diagnostic::error(Code::UnknownTrigger, p.whole(), message);
    let begins = p.is_figure(1) || STARTS.contains(&p.low(1));
    // `then 20 trips` is no `when 20 trips`.
    match closest(p.low(0), STARTS).filter(|meant| !begins || *meant != "when") {
        Some(meant) => diagnostic.help(format!("did you mean `{meant} {}`?", p.rest(1))),
        None if begins => diagnostic.help(format!("leave `{}` out: `{}`", p.raw(0), p.rest(1))),
        None => diagnostic.help(FORMS),
    }
}

/// `more than 20 trips`, `at least 90 days`, `over 20 trips`, `about 20 trips`.
fn comparison_words(p: &Tokens<'_>, start: usize) -> Option<Diagnostic> {
    let figure = (start..p.len().min(start + 4)).find(|i| p.is_figure(*i)).filter(|i| *i > start)?;
    let words = [
        "more",
        "than",
        "over",
        "least",
        "at",
        "most",
        "about",
        "around",
        "some",
        "approximately",
        "roughly",
        "exactly",
        "up",
        "to",
        "max",
        "maximum",
        "no",
        "not",
        "only",
        "just",
    ];
    let words_only = (start..figure).all(|i| words.contains(&p.low(i)));
    words_only.then(|| {
        let from = if p.low(0) == "at" { 0 } else { start };
        let text = p.text(from, figure);
        let message = format!("`{text}` is not needed: a rule is reached when the count is reached");
        let help = format!("write `after {}`", p.rest(figure));
        Diagnostic::error(Code::NeedlessWords, p.span(from, figure).unwrap_or(p.whole()), message).help(help)
    })
}

/// `at age 12`, `after age 12 months`, `at age of 12 months`.
fn age(p: &Tokens<'_>, at: usize) -> Diagnostic {
    let figure = (at..p.len()).find(|i| p.is_figure(*i));
    let Some(figure) = figure.filter(|f| *f <= at + 2) else {
        let message = "an age needs a length of time";
        return Diagnostic::error(Code::UnknownTrigger, p.whole(), message)
            .help("write for example `at age 12 months`");
    };
    let unit = figure + 1;
    if unit_of(p.low(unit)).is_none() {
        return unknown_unit(p, figure, &format!("at age {}", p.raw(figure)));
    }
    if p.is_bit(unit + 1) {
        return missing_comma_after(p, unit + 1);
    }
    let message = format!("`{}` is not how an age is written", p.rest(0));
    Diagnostic::error(Code::UnknownTrigger, p.whole(), message)
        .help(format!("write `at age {}`", p.text(figure, unit + 1)))
}

/// A number, and then something that does not fit.
fn after_figure(p: &Tokens<'_>, figure: usize) -> Diagnostic {
    let next = figure + 1;
    if p.raw(figure).ends_with('.') && STARTS.contains(&p.low(next)) {
        let message = "a rule has no number before it";
        return Diagnostic::error(Code::UnknownStatement, p.at(figure), message)
            .help(format!("write `{}`", p.rest(next)));
    }
    if matches!(p.low(next), "to" | "or") && p.is_figure(next + 1) {
        let message = format!("`{}` are two numbers", p.text(figure, next + 2));
        let help = format!("write one: `{} {}` for the earlier time", p.text(0, next), p.rest(next + 2));
        return Diagnostic::error(Code::BadNumber, p.span(figure, next + 2).unwrap_or(p.whole()), message)
            .help(help);
    }
    if p.is_figure(next) && p.raw(next).len() == 3 {
        let message = format!("`{}` are two numbers", p.text(figure, next + 1));
        let help = format!("write `{},{}`", p.raw(figure), p.raw(next));
        return Diagnostic::error(Code::BadNumber, p.span(figure, next + 1).unwrap_or(p.whole()), message)
            .help(help);
    }
    if let Err(error) = p.raw(figure).parse::<crate::Amount>() {
        return bad_number(p.raw(figure), p.at(figure), error);
    }
    if p.len() == next {
        let message = format!("`{}` of what?", p.raw(figure));
        let help = format!("write for example `after {0} trips` or `after {0} days`", p.raw(figure));
        return Diagnostic::error(Code::UnknownTrigger, p.at(figure), message).help(help);
    }
    if let Some(unit) = unit_of(p.low(next)).map(|_| p.text(figure, next + 1)) {
        return after_duration(p, &unit, next + 1);
    }
    in_name(p, next)
}

/// A length of time, and then something that does not fit.
fn after_duration(p: &Tokens<'_>, duration: &str, at: usize) -> Diagnostic {
    let span = p.span(at, p.len()).unwrap_or(p.whole());
    match p.low(at) {
        "in" if p.low(at - 1) == "year" && month_of_time(p.low(at + 1)).is_some() => {
            let message = format!("`{}` is not how a date is written", p.rest(0));
            let month = month_of_time(p.low(at + 1)).unwrap_or_default();
            Diagnostic::error(Code::BadDate, p.whole(), message)
                .help(format!("write `every year on 1 {month}`"))
        }
        "in" | "not" | "(" => {
            let message = format!("`{duration}` is a length of time and takes no conditions");
            let help = format!("leave `{}` out, or count uses: `after 20 trips {}`", p.rest(at), p.rest(at));
            Diagnostic::error(Code::DurationWithCondition, span, message).help(help)
        }
        "after" => {
            if let Some(and) = p.find("unless").and_then(|unless| p.find_from(unless, &["and"])) {
                let message = "the names after `unless` are joined by `or`";
                let help = format!("write `{} or {}`: any of them cancels", p.text(0, and), p.rest(and + 1));
                return Diagnostic::error(Code::MixedList, p.at(and), message).help(help);
            }
            let from = if matches!(p.low(at + 1), "each" | "every" | "a" | "an" | "any" | "the") {
                at + 2
            } else {
                at + 1
            };
            let rest = p.rest(from);
            let rest = if rest.is_empty() { "firmware release" } else { &rest };
            let message = format!("`{}` is not how a delay is written", p.rest(0));
            Diagnostic::error(Code::UnknownTrigger, p.whole(), message)
                .help(format!("write `{duration} after each {rest}`"))
        }
        "of" => {
            let message = format!("`{duration}` is a length of time: it takes no `of`");
            Diagnostic::error(Code::UnknownTrigger, span, message).help(format!("write `after {duration}`"))
        }
        "on" => {
            let message = "only `every year`, `every month` and `every week` can have a day";
            let help = "write `every year on 1 March`, `every month on day 15` or `every week on Monday`";
            Diagnostic::error(Code::UnknownTrigger, span, message).help(help)
        }
        "or" | "and" => listed(p, at),
        _ if p.get(at).is_some_and(|token| token.part == Part::bracket) => {
            let message = format!("`{duration}` is a length of time and takes no weights");
            Diagnostic::error(Code::DurationWithCondition, span, message)
                .help(format!("leave `{}` out", p.rest(at)))
        }
        _ if p.is_bit(at) => missing_comma_after(p, at),
        _ => {
            let message = format!("`{}` cannot follow `{duration}`", p.rest(at));
            Diagnostic::error(Code::UnknownTrigger, span, message).help(FORMS)
        }
    }
}

/// The month that a word names, or in which a season may begin.
fn month_of_time(word: &str) -> Option<&'static str> {
    month_named(word).or_else(|| season(word))
}

/// A comma between trigger and task that was left out.
fn missing_comma_after(p: &Tokens<'_>, task: usize) -> Diagnostic {
    let message = "a comma is missing between trigger and task";
    let help = format!("write `{}, {}`", p.text(0, task), p.rest(task));
    Diagnostic::error(Code::MissingComma, p.at(task), message).help(help)
}
