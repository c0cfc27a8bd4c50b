//! `when …` and `before …` that missed their form.

use super::tokens::Tokens;
use super::units::unknown_unit;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::unit_of;
use crate::nearness::closest;
use crate::parse::Part;
use crate::source::Span;

pub(super) const FORMS: &str = "write for example `when inspect strap finds fraying`, `when mould is found`, \
                     `when capacity is below 80 percent` or `when unused for 60 days`";

/// `when …`
pub(super) fn when(p: &Tokens<'_>) -> Diagnostic {
    if p.low(1) == "unused" {
        return unused(p);
    }
    if let Some(diagnostic) = once_new(p) {
        return diagnostic;
    }
    if let Some(is) = p.find("is").or_else(|| p.find("are")) {
        return when_is(p, is);
    }
    if let Some(at) = p.find_from(2, &["finds", "leaves"]) {
        let message = format!("a finding is missing after `{}`", p.raw(at));
        if p.len() == at + 1 {
            let help = format!("write what is found, as in `{} dust`", p.rest(0));
            return Diagnostic::error(Code::UnknownTrigger, p.at(at), message).help(help);
        }
        if let Some(and) = p.find_from(at, &["and"]) {
            return findings_joined(p, and);
        }
        if let Some(odd) = (1..at).find(|i| !p.is_bit(*i)) {
            return super::uses::reserved_in(p, 1..at, odd);
        }
        let odd = (at..p.len()).find(|i| !p.is_bit(*i) && p.low(*i) != "or").unwrap_or(at);
        return super::uses::reserved_in(p, p.around(odd, at + 1..p.len(), &["or"]), odd);
    }
    let verbs =
        ["find", "found", "shows", "show", "reveals", "detects", "has", "gives", "leave", "left", "sees"];
    if let Some(at) = p.find_from(2, &verbs) {
        let meant = if p.low(at).starts_with("le") { "leaves" } else { "finds" };
        let help = match p.len() == at + 1 {
            true => format!("write `when {} is found`", p.text(1, at)),
            false => format!("write `{} {meant} {}`", p.text(0, at), p.rest(at + 1)),
        };
        let message = format!("`{}` is not the word for a finding", p.raw(at));
        return Diagnostic::error(Code::UnknownTrigger, p.at(at), message).help(help);
    }
    let compares = |i: &usize| compares(p, *i) || base(p.low(*i)).is_some();
    if let Some(at) = (1..p.len()).find(compares) {
        let changes = ["drops", "falls", "goes", "gets", "rises", "sinks", "reads", "was", "has"];
        let end = if changes.contains(&p.low(at - 1)) { at - 1 } else { at };
        if end < 2 {
            let message = format!("what is read is missing before `{}`", p.raw(at));
            return Diagnostic::error(Code::UnknownTrigger, p.at(at), message)
                .help(format!("write for example `when capacity is {}`", p.rest(at)));
        }
        let message = format!("`is` is missing before `{}`", p.raw(at));
        let is_not = end > 2 && p.low(end - 1).ends_with("n't");
        let word = base(p.low(at)).or_else(|| base(p.low(at + 1))).unwrap_or("below");
        let (meant, end) = if is_not { (opposite(word), end - 1) } else { (word, end) };
        let figure = (at..p.len()).find(|i| p.is_figure(*i)).unwrap_or(at + 1);
        let help = format!("write `{} is {meant} {}`", p.text(0, end), p.rest(figure));
        return Diagnostic::error(Code::UnknownTrigger, p.at(at), message).help(help);
    }
    let message = format!("`{}` has none of the forms of `when`", p.rest(0));
    Diagnostic::error(Code::UnknownTrigger, p.whole(), message).help(FORMS)
}

/// The comparison that a word alone says.
fn base(word: &str) -> Option<&'static str> {
    Some(match word {
        "below" | "under" | "less" | "lower" | "fewer" | "smaller" | "beneath" => "below",
        "above" | "over" | "more" | "greater" | "higher" | "larger" | "beyond" | "exceeding" => "above",
        "least" | "minimum" | "min" => "at least",
        "most" | "maximum" | "max" | "up" => "at most",
        _ => return None,
    })
}

/// What holds where a comparison does not.
fn opposite(comparison: &str) -> &'static str {
    match comparison {
        "below" => "at least",
        "above" => "at most",
        "at least" => "below",
        _ => "above",
    }
}

/// The same comparison with the bound itself.
fn or_equal(comparison: &'static str) -> &'static str {
    match comparison {
        "below" => "at most",
        "above" => "at least",
        other => other,
    }
}

/// `is no more than 80 percent`, `is between 30 and 60`, `is 80 percent or less`: a comparison in other words than
/// the language's. `None` where there is none.
fn compared(p: &Tokens<'_>, is: usize, figure: usize) -> Option<Diagnostic> {
    let next = is + 1;
    let bound = if p.raw(figure - 1) == "-" { figure - 1 } else { figure };
    let says = |words: &[&str]| (next..bound).any(|i| words.contains(&p.low(i)));
    let (name, error) = (p.text(1, is), |end: usize, message: String, help: String| {
        Diagnostic::error(Code::UnknownComparison, p.span(next, end).unwrap_or(p.whole()), message).help(help)
    });
    let not = says(&["no", "not", "never"]);
    let end = (figure + 1..p.len()).find(|i| !p.is_bit(*i)).unwrap_or(p.len());
    if p.low(1) == "age" && is == 2 && unit_of(p.low(figure + 1)).is_some() {
        let help = format!("write `at age {}`", p.text(figure, figure + 2));
        return Some(error(figure + 2, "the age of an item is asked with `at age`".to_owned(), help));
    }
    if says(&["between", "from"]) {
        // What follows `and` may be read as the next part of the trigger.
        let second = (figure + 1..p.len()).find(|i| p.is_figure(*i));
        let unit = p.text(second.unwrap_or(figure) + 1, p.len());
        let upper = second.map_or("…", |second| p.raw(second));
        let (lower, upper) = (format!("{} {unit}", p.raw(figure)), format!("{upper} {unit}"));
        let (lower, upper) = (lower.trim(), upper.trim());
        let help = match not {
            true => format!("write `when {name} is below {lower} or when {name} is above {upper}`"),
            false => format!("write `when {name} is at least {lower} and when {name} is at most {upper}`"),
        };
        return Some(error(p.len(), "two bounds are two parts of a trigger".to_owned(), help));
    }
    let word = (next..figure).find_map(|i| base(p.low(i)));
    // `80 percent or less`
    let behind =
        (matches!(p.low(end), "or" | "and") && end + 2 == p.len()).then(|| base(p.low(end + 1))).flatten();
    if let (None, Some(behind)) = (word, behind) {
        let message = format!("`{}` is not how a comparison is written", p.rest(next));
        let help = format!("write `when {name} is {} {}`", or_equal(behind), p.text(figure, end));
        return Some(error(p.len(), message, help));
    }
    let Some(word) = word else {
        return (says(&["equal", "exactly", "equals", "just"])).then(|| {
            let message =
                "a reading is asked to be on one side of a number, not to be equal to it".to_owned();
            error(
                figure + 1,
                message,
                format!("write `when {name} is at most {}` or `at least`", p.rest(figure)),
            )
        });
    };
    let word = if says(&["or"]) || says(&["equal"]) { or_equal(word) } else { word };
    let meant = if not { opposite(word) } else { word };
    // In the language's own words it is something else that is wrong.
    let own = p.text(next, bound).to_lowercase() == meant;
    (!own).then(|| {
        let message = format!("`{}` is not one of the comparisons", p.text(next, bound));
        error(bound, message, format!("write `when {name} is {meant} {}`", p.rest(bound)))
    })
}

/// `and` between findings.
fn findings_joined(p: &Tokens<'_>, and: usize) -> Diagnostic {
    let message = "findings are joined by `or`: any of them makes the task due";
    let help = format!("write `{} or {}`", p.text(0, and), p.rest(and + 1));
    Diagnostic::error(Code::MixedList, p.at(and), message).help(help)
}

/// Whether a comparison of the language begins at a place.
fn compares(p: &Tokens<'_>, at: usize) -> bool {
    [&["below"][..], &["above"], &["at", "least"], &["at", "most"]].iter().any(|words| p.stand(at, words))
}

fn unused(p: &Tokens<'_>) -> Diagnostic {
    let figure = (2..p.len()).find(|i| p.is_figure(*i));
    match figure {
        Some(figure) if unit_of(p.low(figure + 1)).is_none() => {
            unknown_unit(p, figure, &format!("when unused for {}", p.raw(figure)))
        }
        Some(figure) if figure <= 3 && p.is_bit(figure + 2) && p.low(2) == "for" => {
            let message = "a comma is missing between trigger and task";
            let help = format!("write `{}, {}`", p.text(0, figure + 2), p.rest(figure + 2));
            Diagnostic::error(Code::MissingComma, p.at(figure + 2), message).help(help)
        }
        Some(figure) => {
            let help = format!("write `when unused for {}`", p.text(figure, figure + 2));
            Diagnostic::error(
                Code::UnknownTrigger,
                p.whole(),
                "`unused` is followed by `for` and a length of time",
            )
            .help(help)
        }
        None => {
            let message = "`unused` is followed by `for` and a length of time";
            Diagnostic::error(Code::UnknownTrigger, p.whole(), message)
                .help("write for example `when unused for 60 days`")
        }
    }
}

/// `when new`, `on receipt`: what is done once to each new item.
pub(super) fn once_new(p: &Tokens<'_>) -> Option<Diagnostic> {
    let new =
        ["new", "received", "bought", "purchased", "delivered", "receipt", "arrival", "delivery", "purchase"];
    (p.len() == 2 && new.contains(&p.low(1))).then(|| {
        let message = format!("`{}` has none of the forms of a trigger", p.rest(0));
        let help = "what is done once, soon after an item is received, is written `at age 1 day`";
        Diagnostic::error(Code::UnknownTrigger, p.whole(), message).help(help)
    })
}

/// `when NAME is …` with something else than the forms know.
fn when_is(p: &Tokens<'_>, is: usize) -> Diagnostic {
    let next = is + 1;
    if p.low(next) == "older" {
        let message = "how long ago something was done is not asked with `when`";
        let help =
            "write `after 90 days` for the time since the task was last done, `at age 12 months` for the age";
        return Diagnostic::error(Code::UnknownTrigger, p.whole(), message).help(help);
    }
    let found = (next..p.len()).find(|i| p.low(*i) == "found");
    if p.low(is) == "are" {
        let message = "`are` is not a word of the language";
        return Diagnostic::error(Code::UnknownTrigger, p.at(is), message).help(format!(
            "write `{} is {}`",
            p.text(0, is),
            p.rest(next)
        ));
    }
    if let Some(found) = found {
        let before = |odd: &usize| !p.is_bit(*odd) && p.low(*odd) != "or";
        match (1..is).find(before) {
            Some(and) if p.low(and) == "and" => return findings_joined(p, and),
            Some(odd) => return super::uses::reserved_in(p, p.around(odd, 1..is, &["or"]), odd),
            None => {}
        }
        let (from, to) = if found > next { (next, found) } else { (found + 1, p.len()) };
        let message = format!("`{}` does not belong here", p.text(from, to));
        let help =
            "write `when mould or dust is found`, or `when inspect sensor finds dust` for one task's finding";
        return Diagnostic::error(Code::UnknownTrigger, p.span(from, to).unwrap_or(p.whole()), message)
            .help(help);
    }
    let figure = (next..p.len()).find(|i| p.is_figure(*i));
    let known = compares(p, next);
    let span = |from: usize, to: usize| -> Span { p.span(from, to).unwrap_or(p.whole()) };
    if let Some(diagnostic) = figure.and_then(|figure| compared(p, is, figure)) {
        return diagnostic;
    }
    match figure {
        Some(figure) if known => {
            let odd = (figure + 1..p.len()).find(|i| !p.is_bit(*i)).unwrap_or(figure);
            if matches!(p.low(odd), "or" | "and") {
                let message = format!(
                    "each part of a trigger says `when`, and the one after `{}` does not",
                    p.low(odd)
                );
                // `is above 60 percent or below 30 percent`
                let name =
                    if compares(p, odd + 1) { format!("{} is ", p.text(1, is)) } else { String::new() };
                let help = format!("write `{} when {name}{}`", p.text(0, odd + 1), p.rest(odd + 1));
                return Diagnostic::error(Code::UnknownTrigger, span(odd, p.len()), message).help(help);
            }
            let message = format!("`{}` does not belong here", p.rest(odd));
            let help = "a unit of one or more words may follow the number, then a comma and the task";
            Diagnostic::error(Code::UnknownTrigger, span(odd, p.len()), message).help(help)
        }
        None if known => {
            let message = "a number is missing in the comparison";
            Diagnostic::error(Code::NumberMissing, span(next, p.len()), message)
                .help(format!("write for example `{} below 80 percent`", p.text(0, next)))
        }
        Some(figure) => {
            let spelled = closest(p.low(next), ["below", "above"]);
            let (message, help) = match spelled {
                Some(meant) => (
                    format!("`{}` is not one of the comparisons", p.raw(next)),
                    format!("write `{} {meant} {}`", p.text(0, next), p.rest(figure)),
                ),
                None => (
                    "a comparison is missing: `below`, `above`, `at least` or `at most`".to_owned(),
                    format!("write for example `{} below {}`", p.text(0, next), p.rest(figure)),
                ),
            };
            Diagnostic::error(Code::UnknownComparison, span(is, figure + 1), message).help(help)
        }
        None => {
            let message = format!("`{}` has none of the forms of `when`", p.rest(0));
            Diagnostic::error(Code::UnknownTrigger, p.whole(), message).help(FORMS)
        }
    }
}

/// `before …`
pub(super) fn before(p: &Tokens<'_>) -> Diagnostic {
    let articles = ["each", "every", "a", "an", "any", "the"];
    let named = usize::from(articles.contains(&p.low(1))) + 1;
    if p.len() == named {
        let message = "what is planned is missing after `before`";
        return Diagnostic::error(Code::UnknownTrigger, p.whole(), message)
            .help("write for example `before every trip`");
    }
    let stop = p.find("in").unwrap_or(p.len());
    if let Some(at) = (named..stop).find(|i| matches!(p.low(*i), "or" | "and")) {
        let message = "`before` names one planned event";
        let help = format!("write `{} or before every {}`", p.text(0, at), p.rest(at + 1));
        return Diagnostic::error(Code::UnknownTrigger, p.span(at, p.len()).unwrap_or(p.whole()), message)
            .help(help);
    }
    if p.is_figure(1) || p.is_figure(2) {
        let message = "`before` is followed by an event, not by a number or a date";
        return Diagnostic::error(Code::UnknownTrigger, p.whole(), message)
            .help("write for example `before every trip`");
    }
    if named == 1 || p.low(1) == "the" {
        let message = "`every` is missing after `before`: the name of what is planned comes after it";
        // `before going on a trip`
        let named = (named..stop)
            .rev()
            .find(|i| articles.contains(&p.low(*i)) && i + 1 < stop)
            .map_or(named, |i| i + 1);
        let one = p.text(named, stop);
        let (head, last) = one.rsplit_once(' ').map_or(("", one.as_str()), |(head, last)| (head, last));
        let gap = if head.is_empty() { "" } else { " " };
        let conditions = if stop < p.len() { format!(" {}", p.rest(stop)) } else { String::new() };
        let help = format!("write `before every {head}{gap}{}{conditions}`", crate::name::key(last));
        return Diagnostic::error(Code::UnknownTrigger, p.whole(), message).help(help);
    }
    if let Some(bracket) = (named..p.len()).find(|i| p.is(*i, Part::bracket)) {
        let message = "only what is counted has weights";
        return Diagnostic::error(Code::BadWeight, p.at(bracket), message)
            .help(format!("leave `{}` out", p.raw(bracket)));
    }
    super::uses::in_conditions(p, named, p.len())
}
