//! Parts of a trigger.

use super::counting::words_for_number;
use super::when::{before, calendar, weekday_of, when};
use super::{Pieces, RESERVED, STARTS, closest};
use crate::diagnostic::Diagnostic;
use crate::lower::{File, bad_number, unit_of};
use crate::parse::{Node, Part};
use std::ops::Range;

/// What a trigger part can look like.
const FORMS: &str = "write for example `after 20 trips`, `after 90 days`, `every year on 1 March`, `before every trip` or \
                     `when inspect strap finds fraying`";

/// What to say of a trigger part that has none of the forms.
pub(crate) fn atom(file: &File<'_>, node: &Node) -> Diagnostic {
    let p = Pieces::of(file, node);
    general(&p).unwrap_or_else(|| match p.low(0) {
        "when" => when(&p),
        "before" => before(&p),
        "on" => calendar(&p, 0),
        _ => counted(&p),
    })
}

/// Slips that can stand in any part.
fn general(p: &Pieces<'_>) -> Option<Diagnostic> {
    if let Some(at) = p.find("whichever").filter(|i| *i > 0) {
        let message = "`or` already means whichever comes first";
        let help = format!("leave it out: `{}`", p.text(0, at));
        return Some(Diagnostic::error("needless-words", p.span(at, p.len())?, message).help(help));
    }
    if let Some(at) =
        p.list.iter().position(|piece| matches!(piece.text, ":" | "-")).filter(|i| *i > 1 && p.is_bit(i + 1))
    {
        let message = format!("a comma, not `{}`, stands between trigger and task", p.raw(at));
        let help = format!("write `{}, {}`", p.text(0, at), p.rest(at + 1));
        return Some(Diagnostic::error("missing-comma", p.at(at), message).help(help));
    }
    if let Some(at) = p.find("and/or") {
        let message = "`and/or` leaves open which of the two is meant";
        let help = format!(
            "write `{} or {}` for whichever comes first, `and` for when both are reached",
            p.text(0, at),
            p.rest(at + 1)
        );
        return Some(Diagnostic::error("and-or", p.at(at), message).help(help));
    }
    if let Some(at) = p.find("then").filter(|i| *i > 0) {
        let message = "a comma, not `then`, stands between trigger and task";
        let help = format!("write `{}, {}`", p.text(0, at), p.rest(at + 1));
        return Some(Diagnostic::error("missing-comma", p.at(at), message).help(help));
    }
    None
}

/// `after …`, `every …`, `at …`, `age …`, and parts with no word of the language before them.
fn counted(p: &Pieces<'_>) -> Diagnostic {
    let leads = matches!(p.low(0), "after" | "every" | "each" | "at");
    let mut start = usize::from(leads);
    if leads && matches!(p.low(1), "every" | "each") {
        if p.is_figure(2) {
            let message = format!("`{}` says it twice", p.text(0, 2));
            let help = format!("write `after {}`", p.rest(2));
            return Diagnostic::error("unknown-trigger", p.span(0, 2).unwrap_or(p.whole()), message)
                .help(help);
        }
        start = 2;
    }
    if p.low(0) == "at" && p.low(1) == "age" || p.low(start) == "age" {
        return age(p, start);
    }
    if p.len() == start {
        let message = format!("nothing follows `{}`", p.text(0, start));
        return Diagnostic::error("unknown-trigger", p.whole(), message).help(FORMS);
    }
    if let Some(diagnostic) = comparison_words(p, start) {
        return diagnostic;
    }
    if p.is_figure(start) {
        return after_figure(p, start);
    }
    if matches!(p.low(0), "every" | "each") && (unit_of(p.low(1)).is_some() || p.low(2) == "on") {
        return calendar(p, 1);
    }
    if let Some(diagnostic) = words_for_number(p, start) {
        return diagnostic;
    }
    if p.raw(start) == "-" {
        let message = "a count or a length of time cannot be negative";
        return Diagnostic::error("bad-number", p.at(start), message).help(format!(
            "write `{} {}`",
            p.text(0, start),
            p.rest(start + 1)
        ));
    }
    if start == 0 {
        return no_start(p);
    }
    if matches!(p.low(0), "every" | "each") || start == 2 {
        return in_name(p, start);
    }
    let message = format!("a number is missing after `{}`", p.text(0, start));
    let help = format!(
        "write how many, as in `{} 20 trips`, or `every {}` for each single time",
        p.text(0, start),
        p.rest(start)
    );
    Diagnostic::error("number-missing", p.span(0, start).unwrap_or(p.whole()), message).help(help)
}

/// A part of a trigger in brackets, or after `no later than`, that begins with no word of a trigger.
fn no_start(p: &Pieces<'_>) -> Diagnostic {
    let message = format!("`{}` says neither how often nor when", p.rest(0));
    let diagnostic = Diagnostic::error("unknown-trigger", p.whole(), message);
    match closest(p.low(0), STARTS) {
        Some(meant) => diagnostic.help(format!("did you mean `{meant} {}`?", p.rest(1))),
        None => diagnostic.help(FORMS),
    }
}

/// `more than 20 trips`, `at least 90 days`, `over 20 trips`, `about 20 trips`.
fn comparison_words(p: &Pieces<'_>, start: usize) -> Option<Diagnostic> {
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
    ];
    let words_only = (start..figure).all(|i| words.contains(&p.low(i)));
    words_only.then(|| {
        let from = if p.low(0) == "at" { 0 } else { start };
        let text = p.text(from, figure);
        let message = format!("`{text}` is not needed: a rule is reached when the count is reached");
        let help = format!("write `after {}`", p.rest(figure));
        Diagnostic::error("needless-words", p.span(from, figure).unwrap_or(p.whole()), message).help(help)
    })
}

/// `at age 12`, `after age 12 months`, `at age of 12 months`.
fn age(p: &Pieces<'_>, at: usize) -> Diagnostic {
    let figure = (at + 1..p.len()).find(|i| p.is_figure(*i));
    let Some(figure) = figure.filter(|f| *f <= at + 2) else {
        let message = "an age needs a length of time";
        return Diagnostic::error("unknown-trigger", p.whole(), message)
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
    Diagnostic::error("unknown-trigger", p.whole(), message)
        .help(format!("write `at age {}`", p.text(figure, unit + 1)))
}

/// A number where a length of time should follow, and what follows is none.
pub(super) fn unknown_unit(p: &Pieces<'_>, figure: usize, lead: &str) -> Diagnostic {
    let Some(piece) = p.get(figure + 1) else {
        let message = format!("`{}` of what? a unit of time is missing", p.raw(figure));
        return Diagnostic::error("unknown-unit", p.at(figure), message)
            .help(format!("write for example `{lead} days` or `{lead} months`"));
    };
    let meant = meant_unit(&piece.low);
    let message = format!("`{}` is not a unit of time", piece.text);
    let help = match meant {
        Some(unit) => format!("write `{lead} {unit}`"),
        None => "write `days`, `weeks`, `months` or `years`".to_owned(),
    };
    Diagnostic::error("unknown-unit", piece.span, message).help(help)
}

/// The unit of time that a word was probably meant to be.
pub(crate) fn meant_unit(word: &str) -> Option<&'static str> {
    match word {
        "d" | "dy" => Some("days"),
        "w" | "wk" | "wks" => Some("weeks"),
        "mo" | "mos" | "mth" | "mths" | "mnth" | "mnths" => Some("months"),
        "y" | "yr" | "yrs" => Some("years"),
        _ => closest(word, ["days", "weeks", "months", "years", "day", "week", "month", "year"]),
    }
}

/// A number, and then something that does not fit.
fn after_figure(p: &Pieces<'_>, figure: usize) -> Diagnostic {
    let next = figure + 1;
    if p.raw(figure).ends_with('.') && STARTS.contains(&p.low(next)) {
        let message = "a rule has no number before it";
        return Diagnostic::error("unknown-statement", p.at(figure), message)
            .help(format!("write `{}`", p.rest(next)));
    }
    if p.is_figure(next) && p.raw(next).len() == 3 {
        let message = format!("`{}` are two numbers", p.text(figure, next + 1));
        let help = format!("write `{},{}`", p.raw(figure), p.raw(next));
        return Diagnostic::error("bad-number", p.span(figure, next + 1).unwrap_or(p.whole()), message)
            .help(help);
    }
    if let Err(error) = p.raw(figure).parse::<crate::Amount>() {
        return bad_number(p.raw(figure), p.at(figure), error);
    }
    if p.len() == next {
        let message = format!("`{}` of what?", p.raw(figure));
        let help = format!("write for example `after {0} trips` or `after {0} days`", p.raw(figure));
        return Diagnostic::error("unknown-trigger", p.at(figure), message).help(help);
    }
    if let Some(unit) = unit_of(p.low(next)).map(|_| p.text(figure, next + 1)) {
        return after_duration(p, &unit, next + 1);
    }
    in_name(p, next)
}

/// A length of time, and then something that does not fit.
fn after_duration(p: &Pieces<'_>, duration: &str, at: usize) -> Diagnostic {
    let span = p.span(at, p.len()).unwrap_or(p.whole());
    match p.low(at) {
        "in" | "not" | "(" => {
            let message = format!("`{duration}` is a length of time and takes no conditions");
            let help = format!("leave `{}` out, or count uses: `after 20 trips {}`", p.rest(at), p.rest(at));
            Diagnostic::error("duration-with-condition", span, message).help(help)
        }
        "after" if p.find("unless").is_some_and(|unless| p.find("and").is_some_and(|and| and > unless)) => {
            let and = p.find("and").unwrap_or(at);
            let message = "what stands after `unless` is joined by `or`";
            let help = format!("write `{} or {}`: any of them cancels", p.text(0, and), p.rest(and + 1));
            Diagnostic::error("mixed-list", p.at(and), message).help(help)
        }
        "after" => {
            let from = if matches!(p.low(at + 1), "each" | "every" | "a" | "an" | "any" | "the") {
                at + 2
            } else {
                at + 1
            };
            let rest = p.rest(from);
            let rest = if rest.is_empty() { "firmware release" } else { &rest };
            let message = format!("`{}` is not how a delay is written", p.rest(0));
            Diagnostic::error("unknown-trigger", p.whole(), message)
                .help(format!("write `{duration} after each {rest}`"))
        }
        "before" => {
            let message = "how long before something planned is said by the detail `within`";
            let help = format!("write `{}, …; within {duration}`", p.rest(at));
            Diagnostic::error("unknown-trigger", p.whole(), message).help(help)
        }
        "of" => {
            let message = format!("`{duration}` is a length of time: it takes no `of`");
            Diagnostic::error("unknown-trigger", span, message).help(format!("write `after {duration}`"))
        }
        "on" => {
            let message = "only `every year`, `every month` and `every week` can have a day";
            let help = "write `every year on 1 March`, `every month on day 15` or `every week on Monday`";
            Diagnostic::error("unknown-trigger", span, message).help(help)
        }
        "or" | "and" => listed(p, at),
        _ if p.get(at).is_some_and(|piece| piece.part == Part::bracket) => {
            let message = format!("`{duration}` is a length of time and takes no weights");
            Diagnostic::error("duration-with-condition", span, message)
                .help(format!("leave `{}` out", p.rest(at)))
        }
        _ if p.is_bit(at) => missing_comma_after(p, at),
        _ => {
            let message = format!("`{}` cannot follow `{duration}`", p.rest(at));
            Diagnostic::error("unknown-trigger", span, message).help(FORMS)
        }
    }
}

/// `or dust` where no list of names goes on.
fn listed(p: &Pieces<'_>, at: usize) -> Diagnostic {
    let word = p.low(at);
    if !p.is_bit(at + 1) {
        let message = format!("nothing that can follow `{word}` stands after it");
        return Diagnostic::error("unknown-trigger", p.at(at), message).help(FORMS);
    }
    if let (Some(first), Some(second)) = (weekday_of(p.low(at.saturating_sub(1))), weekday_of(p.low(at + 1)))
    {
        let message = format!("`{}` begins no new part of the trigger", p.rest(at + 1));
        let help = format!("write `every week on {first} or every week on {second}`");
        return Diagnostic::error("part-without-number", p.at(at + 1), message).help(help);
    }
    let message = format!(
        "`{}` begins no new part of the trigger: a number or a word such as `after` is missing",
        p.rest(at + 1)
    );
    let help = format!("write for example `{} {word} after 5 {}`", p.text(0, at), p.rest(at + 1));
    let span = p.span(at, p.len()).unwrap_or(p.whole());
    Diagnostic::error("part-without-number", span, message).help(help)
}

/// A comma between trigger and task that was left out.
fn missing_comma_after(p: &Pieces<'_>, task: usize) -> Diagnostic {
    let message = "a comma is missing between trigger and task";
    let help = format!("write `{}, {}`", p.text(0, task), p.rest(task));
    Diagnostic::error("missing-comma", p.at(task), message).help(help)
}

/// A use's name, its conditions and weights, with something in them that does not fit.
fn in_name(p: &Pieces<'_>, name: usize) -> Diagnostic {
    let bracket = p.list.iter().position(|piece| piece.part == Part::bracket);
    let stop = bracket.unwrap_or(p.len());
    let joins: Vec<usize> = (name..stop).filter(|i| matches!(p.low(*i), "or" | "and")).collect();
    let condition = (name..stop).find(|i| p.low(*i) == "in");
    if let Some(at) = condition {
        let both = joins.iter().filter(|i| **i > at).map(|i| p.low(*i).to_owned());
        let both: std::collections::HashSet<_> = both.collect();
        if both.len() > 1 {
            let message = "a list of conditions is joined by `or` alone or by `and` alone";
            let help = "write two parts, as in `after 20 trips in dust or 20 trips in sand and cold`";
            return Diagnostic::error("mixed-list", p.span(at, stop).unwrap_or(p.whole()), message)
                .help(help);
        }
        if p.low(at.saturating_sub(1)) == "not" && both.contains("and") {
            let message = "conditions after `not in` are joined by `or`";
            let help = "write `or`: the use counts where none of them holds";
            return Diagnostic::error("mixed-list", p.span(at, stop).unwrap_or(p.whole()), message)
                .help(help);
        }
        if stop == at + 1 {
            let message = "a condition is missing after `in`";
            return Diagnostic::error("unknown-trigger", p.at(at), message)
                .help("write for example `in dust`");
        }
    }
    if let Some(at) = bracket {
        let message = "weights are written `(in sand count 3)`, several with commas between";
        let help = format!("write `{} (in sand count 3, in dust count 2)`", p.text(0, at));
        return Diagnostic::error("bad-weight", p.at(at), message).help(help);
    }
    if let Some(at) = joins.first().filter(|at| condition.is_none() || condition > Some(**at)) {
        return listed(p, *at);
    }
    if let Some(at) = joins.iter().find(|at| !p.is_bit(**at + 1)) {
        let message = format!("nothing that can follow `{}` stands after it", p.low(*at));
        return Diagnostic::error("unknown-trigger", p.at(*at), message).help(FORMS);
    }
    let odd = (name..stop)
        .find(|i| !(p.is_bit(*i) || p.low(*i) == "in" || p.low(*i) == "not" && p.low(i + 1) == "in"));
    let odd = odd.or_else(|| (name..stop).filter(|i| p.low(*i) == "in").nth(1));
    reserved_in_name(p, name, odd.unwrap_or(name))
}

/// A word that only a quoted name may hold, in a name that goes on to the end.
pub(super) fn reserved_in_name(p: &Pieces<'_>, name: usize, odd: usize) -> Diagnostic {
    reserved_in(p, name..p.len(), odd)
}

/// A word that only a quoted name may hold.
pub(super) fn reserved_in(p: &Pieces<'_>, name: Range<usize>, odd: usize) -> Diagnostic {
    let name = p.text(name.start, name.end).replace('"', "");
    let what = p.raw(odd);
    let span = p.at(odd);
    if p.is_figure(odd) {
        let message = format!("the number `{what}` cannot stand in a name without quotes");
        let help = format!("put the name in quotes: `\"{name}\"`; or is a comma or `or` missing?");
        return Diagnostic::error("reserved-word", span, message).help(help);
    }
    if p.low(odd) == "unless" {
        let message = "only a delay has `unless`";
        return Diagnostic::error("reserved-word", span, message)
            .help("write for example `7 days after each firmware release unless firmware recall`");
    }
    if matches!(p.low(odd), "the" | "a" | "an") && p.is_bit(odd + 1) {
        let message = format!("`{what}` is a word of the language and cannot stand in a name without quotes");
        let before = p.text(0, odd);
        let gap = if before.is_empty() { "" } else { " " };
        return Diagnostic::error("reserved-word", span, message)
            .help(format!("leave it out: `{before}{gap}{}`", p.rest(odd + 1)));
    }
    if RESERVED.contains(&p.low(odd)) {
        let message = format!("`{what}` is a word of the language and cannot stand in a name without quotes");
        let help = format!("put the whole name in quotes, as in `\"{name}\"`");
        return Diagnostic::error("reserved-word", span, message).help(help);
    }
    let message = format!("`{what}` cannot stand in a name without quotes");
    let help = format!("put the whole name in quotes, as in `\"{name}\"`");
    Diagnostic::error("reserved-word", span, message).help(help)
}
