//! `for …` and its filter.

use super::tokens::Tokens;
use super::uses::reserved_in;
use super::words::STARTS;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::number_of;
use crate::nearness::closest;
use crate::parse::Part;

/// Explains a section line that missed its form.
pub(super) fn section(p: &Tokens<'_>) -> Diagnostic {
    let place = p.find("where").unwrap_or(p.len());
    if p.len() == 1 {
        let message = "the kinds are missing after `for`";
        return Diagnostic::error(Code::BadSection, p.at(0), message)
            .help("write `for cameras`, or `for every item`");
    }
    if let Some(colon) = p.list.iter().position(|token| token.text == ":") {
        let message = "a colon does not belong after `for …`";
        return Diagnostic::error(Code::BadSection, p.at(colon), message)
            .help(format!("write `{}`", p.text(0, colon)));
    }
    let rest = |from: usize| p.rest(from);
    match p.low(1) {
        "each" | "all" | "any" | "every" | "the" | "a" | "an" => {
            let help = match p.low(2) {
                "item" | "items" | "" => "write `for every item`".to_owned(),
                // `for every trip, check strap`
                _ if p.low(1) != "all" && (2..place).any(|i| p.raw(i) == ",") => {
                    format!("write `for {}` for kinds of items; a rule `after every {}`", p.raw(2), rest(2))
                }
                _ => format!("write `for {}`", rest(2)),
            };
            let message = format!("`{}` cannot follow `for`", p.raw(1));
            return Diagnostic::error(Code::BadSection, p.at(1), message).help(help);
        }
        _ => {}
    }
    if let Some(at) = (1..place).find(|i| p.low(*i) == "or") {
        let message = "kinds are joined by `and` or a comma";
        let help = format!("write `{} and {}`", p.text(0, at), rest(at + 1));
        return Diagnostic::error(Code::BadSection, p.at(at), message).help(help);
    }
    if let Some(at) = (1..place).find(|i| p.raw(*i) == "," && p.low(i + 1) == "and") {
        let message = "a comma or `and` joins two kinds, not both";
        let help = format!("write `{} and {}`", p.text(0, at), rest(at + 2));
        return Diagnostic::error(Code::BadSection, p.at(at), message).help(help);
    }
    if let Some(at) = (1..place).find(|i| matches!(p.raw(*i), "," | ";")) {
        let message = "a kind is missing after the comma, or a rule begins on the line of its `for`";
        return Diagnostic::error(Code::BadSection, p.at(at), message)
            .help("write the rule on a line of its own below `for …`");
    }
    if let Some(at) = (1..place).find(|i| !p.is_bit(*i) && p.low(*i) != "and") {
        return reserved_in(p, p.around(at, 1..place, &[",", "and"]), at);
    }
    if place == p.len() {
        let message = format!("a kind is missing after `{}`", p.raw(p.len() - 1));
        return Diagnostic::error(Code::BadSection, p.at(p.len() - 1), message)
            .help("write for example `for cameras and lenses`");
    }
    filter(p, place)
}

const FORMS: &str = "write for example `where maker is \"third party\"`, `where slots is above 1`, \
                     `where received is before 2026-01-01` or `where model is missing`";

fn filter(p: &Tokens<'_>, place: usize) -> Diagnostic {
    let first = place + 1;
    // The tests between `and` and `or`, the first wrong one of them.
    let mut from = first;
    let mut column = None;
    for to in (first..=p.len()).filter(|i| *i == p.len() || matches!(p.low(*i), "and" | "or")) {
        let word = p.raw(from - 1);
        let starts = !p.is_bit(from) && STARTS.contains(&p.low(from));
        if from == to || starts {
            let message = format!("a condition on the items is missing after `{word}`");
            let help = match starts {
                true => format!("write one, or leave `{word}` out: it continues with `{}`", p.rest(from)),
                false => FORMS.to_owned(),
            };
            return Diagnostic::error(Code::BadFilter, p.at(from - 1), message).help(help);
        }
        if let Some(diagnostic) = test(p, from, to, column.as_deref()) {
            return diagnostic;
        }
        column = (from..to).find(|i| p.low(*i) == "is").map(|is| p.text(from, is)).or(column);
        from = to + 1;
    }
    let message = "something in this is not a condition on the items";
    Diagnostic::error(Code::BadFilter, p.span(first, p.len()).unwrap_or(p.whole()), message).help(FORMS)
}

/// One test of a filter, if it is the wrong one; with the column that the tests before it ask.
fn test(p: &Tokens<'_>, from: usize, to: usize, column: Option<&str>) -> Option<Diagnostic> {
    let span = p.span(from, to)?;
    if p.is(from, Part::bracket) && to == from + 1 {
        return None;
    }
    let error =
        |message: String, help: String| Some(Diagnostic::error(Code::BadFilter, span, message).help(help));
    let text = p.text(from, to);
    if let Some(not) = (from + 1..to).find(|i| matches!(p.low(*i), "isn't" | "isnt" | "aren't")) {
        let help = format!("write `{} is not {}`", p.text(from, not), p.text(not + 1, to));
        return error(format!("`{}` is not how a test is written", p.raw(not)), help);
    }
    if let Some(comma) = (from + 1..to).find(|i| p.raw(*i) == ",") {
        let help = format!("write `{} and {}`", p.text(from, comma), p.text(comma + 1, to));
        return error("tests are joined by `and` or `or`, not by a comma".to_owned(), help);
    }
    let Some(is) = (from..to).find(|i| p.low(*i) == "is") else {
        let message = format!("`{text}` is not a test: `is` is missing");
        // One column is hardly asked for two values at once.
        let again = column.filter(|_| to == from + 1 || p.low(from - 1) == "or");
        let help = match again {
            Some(column) => format!("write the column again: `{column} is {text}`"),
            None if to == from + 1 => format!("write for example `where {text} is known`"),
            None => format!("write for example `where {} is {}`", p.raw(from), p.text(from + 1, to)),
        };
        return error(message, help);
    };
    if p.low(from) == "not" {
        let help = format!("write `{} is not {}`", p.text(from + 1, is), p.text(is + 1, to));
        return error("`not` belongs after `is`".to_owned(), help);
    }
    let value = if p.low(is + 1) == "not" { is + 2 } else { is + 1 };
    if is == from || value == to {
        return error(format!("`{text}` is not a test: a column, `is` and a value"), FORMS.to_owned());
    }
    if let Some(odd) = (from..is).find(|i| !p.is_bit(*i)) {
        return Some(reserved_in(p, from..is, odd));
    }
    let figure = (is..to).find(|i| p.is_figure(*i));
    if matches!(p.low(is + 1), "before" | "after") {
        if figure == Some(is + 2) && is + 3 == to {
            return None;
        }
        let help = format!("write a date, as in `{} {} 2026-01-01`", p.text(from, is + 1), p.raw(is + 1));
        return error(format!("`{text}` needs a date"), help);
    }
    if let Some(meant) = comparison(p, is + 1, figure) {
        let in_words = || (is..to).find_map(|i| number_of(p.low(i))).map(|n| n.to_string());
        let number =
            figure.map(|f| p.text(if p.raw(f - 1) == "-" { f - 1 } else { f }, f + 1)).or_else(in_words);
        let written = format!("{meant} {}", number.as_deref().unwrap_or("3"));
        if p.text(is + 1, to).eq_ignore_ascii_case(&written) {
            return None;
        }
        let help = format!("write `{} {written}`", p.text(from, is + 1));
        return error(format!("`{text}` is not how a comparison is written"), help);
    }
    let fits = |i: usize| p.is_bit(i) || p.is_figure(i) || p.raw(i) == "-" && p.is_figure(i + 1);
    let odd = (value..to).find(|i| !fits(*i))?;
    let message = format!("`{}` cannot be part of a value without quotes", p.raw(odd));
    error(message, format!("write `{} \"{}\"`", p.text(from, value), p.text(value, to).replace('"', "")))
}

/// The comparison that was meant, if one begins here.
fn comparison(p: &Tokens<'_>, at: usize, figure: Option<usize>) -> Option<&'static str> {
    match p.low(at) {
        "below" => Some("below"),
        "above" => Some("above"),
        "at" if p.low(at + 1) == "most" => Some("at most"),
        "at" => Some("at least"),
        "under" | "less" | "fewer" if figure.is_some() => Some("below"),
        "over" | "more" | "greater" if figure.is_some() => Some("above"),
        low => closest(low, ["below", "above"]).filter(|_| figure == Some(at + 1)),
    }
}
