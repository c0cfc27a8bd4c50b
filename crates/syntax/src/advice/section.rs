//! `for …` and its filter.

use super::atom::reserved_in_name;
use super::{Pieces, closest};
use crate::diagnostic::Diagnostic;
use crate::parse::Part;

/// What to say of a section line that missed its form.
pub(super) fn section(p: &Pieces<'_>) -> Diagnostic {
    let place = p.find("where").unwrap_or(p.len());
    if p.len() == 1 {
        let message = "the kinds are missing after `for`";
        return Diagnostic::error("bad-section", p.at(0), message)
            .help("write `for cameras`, or `for every item`");
    }
    if let Some(colon) = p.list.iter().position(|piece| piece.text == ":") {
        let message = "no colon stands after `for …`";
        return Diagnostic::error("bad-section", p.at(colon), message)
            .help(format!("write `{}`", p.text(0, colon)));
    }
    let rest = |from: usize| p.rest(from);
    match p.low(1) {
        "each" | "all" | "any" | "every" | "the" | "a" | "an" => {
            let help = match p.low(2) {
                "item" | "items" | "" => "write `for every item`".to_owned(),
                _ => format!("write `for {}`", rest(2)),
            };
            let message = format!("`{}` cannot follow `for`", p.raw(1));
            return Diagnostic::error("bad-section", p.at(1), message).help(help);
        }
        _ => {}
    }
    if let Some(at) = (1..place).find(|i| p.low(*i) == "or") {
        let message = "kinds are joined by `and` or a comma";
        let help = format!("write `{} and {}`", p.text(0, at), rest(at + 1));
        return Diagnostic::error("bad-section", p.at(at), message).help(help);
    }
    if let Some(at) = (1..place).find(|i| p.raw(*i) == "," && p.low(i + 1) == "and") {
        let message = "a comma or `and` joins two kinds, not both";
        let help = format!("write `{} and {}`", p.text(0, at), rest(at + 2));
        return Diagnostic::error("bad-section", p.at(at), message).help(help);
    }
    if let Some(at) = (1..place).find(|i| matches!(p.raw(*i), "," | ";")) {
        let message = "a kind is missing after the comma, or a rule begins on the line of its `for`";
        return Diagnostic::error("bad-section", p.at(at), message)
            .help("a rule stands on a line of its own below `for …`");
    }
    if let Some(at) = (1..place).find(|i| !p.is_bit(*i) && p.low(*i) != "and") {
        return reserved_in_name(p, 1, at);
    }
    if place == p.len() {
        let message = format!("a kind is missing after `{}`", p.raw(p.len() - 1));
        return Diagnostic::error("bad-section", p.at(p.len() - 1), message)
            .help("write for example `for cameras and lenses`");
    }
    filter(p, place)
}

const FORMS: &str = "write for example `where maker is \"third party\"`, `where slots is above 1`, \
                     `where received is before 2026-01-01` or `where model is missing`";

fn filter(p: &Pieces<'_>, place: usize) -> Diagnostic {
    let first = place + 1;
    if p.len() <= first {
        let message = "a condition on the items is missing after `where`";
        return Diagnostic::error("bad-filter", p.at(place), message).help(FORMS);
    }
    let words = (first..p.len()).filter(|i| p.is(*i, Part::bracket)).count();
    // The tests between `and` and `or`: the first that has no `is`, or something odd after it.
    let mut from = first;
    for to in (first..=p.len()).filter(|i| *i == p.len() || matches!(p.low(*i), "and" | "or")) {
        if let Some(diagnostic) = test(p, from, to, first) {
            return diagnostic;
        }
        from = to + 1;
    }
    let message = match words {
        0 => "this is not a condition on the items",
        _ => "something in these brackets is not a condition on the items",
    };
    Diagnostic::error("bad-filter", p.span(first, p.len()).unwrap_or(p.whole()), message).help(FORMS)
}

/// One test of a filter, if it is the wrong one.
fn test(p: &Pieces<'_>, from: usize, to: usize, first: usize) -> Option<Diagnostic> {
    let span = p.span(from, to)?;
    if p.is(from, Part::bracket) && to == from + 1 {
        return None;
    }
    let error =
        |message: String, help: String| Some(Diagnostic::error("bad-filter", span, message).help(help));
    let is = (from..to).find(|i| p.low(*i) == "is");
    if let (Some(is), "not") = (is, p.low(from)) {
        let help = format!("write `{} is not {}`", p.text(from + 1, is), p.text(is + 1, to));
        return error("`not` stands after `is`".to_owned(), help);
    }
    let text = p.text(from, to);
    let Some(is) = is else {
        let message = format!("`{text}` is no test: `is` is missing");
        let words: Vec<&str> = (first..from).map(|i| p.raw(i)).take_while(|w| *w != "is").collect();
        let help = match (from > first, to - from) {
            (true, _) => format!("write the column again: `{} is {text}`", words.join(" ")),
            (false, 1) => format!("write for example `where {text} is known`"),
            (false, _) => format!("write for example `where {} is {}`", p.raw(from), p.text(from + 1, to)),
        };
        return error(message, help);
    };
    if is == from || is + 1 == to {
        return error(format!("`{text}` is no test: a column, `is` and a value"), FORMS.to_owned());
    }
    let figure = (is + 1..to).find(|i| p.is_figure(*i));
    let compares = ["below", "above", "under", "over", "more", "less", "at", "greater", "fewer"];
    if matches!(p.low(is + 1), "before" | "after") {
        let help = format!("write a date: `{} {} 2026-01-01`", p.text(from, is + 1), p.raw(is + 1));
        return (figure != Some(is + 2) || is + 3 != to)
            .then(|| error(format!("`{text}` needs a date"), help))
            .flatten();
    }
    let misspelt = closest(p.low(is + 1), ["below", "above"]).is_some() && figure == Some(is + 2);
    if compares.contains(&p.low(is + 1)) || misspelt {
        let meant = match p.low(is + 1) {
            "below" | "under" | "less" | "fewer" => "below",
            "at" if p.low(is + 2) == "most" => "at most",
            "at" => "at least",
            _ => "above",
        };
        let number = figure.map_or("3", |f| p.raw(f));
        let written = p.text(is + 1, to) == format!("{meant} {number}") && figure.is_some();
        let help = format!("write `{} {meant} {number}`", p.text(from, is + 1));
        return (!written)
            .then(|| error(format!("`{text}` is not how a comparison is written"), help))
            .flatten();
    }
    let value = if p.low(is + 1) == "not" { is + 2 } else { is + 1 };
    let odd = (from..to).find(|i| !(p.is_bit(*i) || p.is_figure(*i) || (is..value).contains(i)))?;
    let message = format!("`{}` cannot stand in a value without quotes", p.raw(odd));
    error(message, format!("write `{} \"{}\"`", p.text(from, value), p.text(value, to).replace('"', "")))
}
