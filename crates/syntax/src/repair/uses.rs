//! The name of what is used or planned, with its conditions and weights, and names that need quotes.

use super::tokens::Tokens;
use super::units::listed;
use super::words::RESERVED;
use super::words::TRIGGER_FORMS as FORMS;
use crate::amount::Amount;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::parse::Part;
use std::ops::Range;

/// A use's name, its conditions and weights, with something in them that does not fit.
pub(super) fn in_name(p: &Tokens<'_>, name: usize) -> Diagnostic {
    let bracket = p.list.iter().position(|token| token.part == Part::bracket);
    let stop = bracket.unwrap_or(p.len());
    let condition = (name..stop).find(|i| p.low(*i) == "in");
    if let Some(at) = condition {
        let joined = |by: &str| (at..stop).any(|i| p.low(i) == by);
        let mixed = |message, help| {
            Diagnostic::error(Code::MixedList, p.span(at, stop).unwrap_or(p.whole()), message).help(help)
        };
        if joined("or") && joined("and") {
            return mixed(
                "a list of conditions is joined by `or` alone or by `and` alone",
                "write two parts, as in `after 20 trips in dust or 20 trips in sand and cold`",
            );
        }
        if p.low(at.saturating_sub(1)) == "not" && joined("and") {
            return mixed(
                "conditions after `not in` are joined by `or`",
                "write `or`: the use counts where none of them holds",
            );
        }
    }
    if let Some(at) = bracket.filter(|_| p.low(stop - 1) != "in") {
        let weights = weights_meant(p.raw(at));
        if at > name && p.is_bit(at + 1) && weights.as_deref() == Some(p.raw(at)) {
            let message = "a comma is missing between trigger and task";
            let help = format!("write `{}, {}`", p.text(0, at + 1), p.rest(at + 1));
            return Diagnostic::error(Code::MissingComma, p.at(at + 1), message).help(help);
        }
        let message = "weights are written `(in sand count 3)`, several with commas between";
        let help = match weights {
            Some(weights) if at > name => format!("write `{} {weights}`", p.text(0, at)),
            _ => "write for example `after 20 trips (in sand count 3, in dust count 2)`".to_owned(),
        };
        return Diagnostic::error(Code::BadWeight, p.at(at), message).help(help);
    }
    if let Some(at) = (name..condition.unwrap_or(stop)).find(|i| joins(p, *i)) {
        return listed(p, at);
    }
    in_conditions(p, name, stop)
}

/// The weights that brackets with other words were meant to hold: `(dust counts 2)`, `(in dust or sand: 2)`.
fn weights_meant(bracket: &str) -> Option<String> {
    let inside = bracket.strip_prefix('(')?.strip_suffix(')')?;
    let mut weights = Vec::new();
    for weight in inside.split([',', ';']) {
        let words: Vec<&str> = weight.split([' ', ':', '=']).filter(|word| !word.is_empty()).collect();
        let number =
            words.iter().map(|word| word.trim_matches(['x', '×'])).find(|w| w.parse::<Amount>().is_ok())?;
        let said = ["in", "count", "counts", "counted", "as", "times", "is", "are", "double", "x"];
        let names = words.into_iter().filter(|word| {
            !said.contains(&word.to_lowercase().as_str()) && word.trim_matches(['x', '×']) != number
        });
        let names: Vec<&str> = names.collect();
        for name in names.split(|word| matches!(*word, "or" | "and")) {
            (!name.is_empty()).then_some(())?;
            weights.push(format!("in {} count {number}", name.join(" ")));
        }
    }
    Some(format!("({})", weights.join(", ")))
}

fn joins(p: &Tokens<'_>, at: usize) -> bool {
    matches!(p.low(at), "or" | "and")
}

/// A name and its conditions, up to a place, with something in them that does not fit.
pub(super) fn in_conditions(p: &Tokens<'_>, name: usize, stop: usize) -> Diagnostic {
    let find = |odd: &dyn Fn(usize) -> bool| (name..stop).find(|i| odd(*i));
    let error = |at, message: String, help: String| {
        Diagnostic::error(Code::UnknownTrigger, p.at(at), message).help(help)
    };
    if p.low(stop - 1) == "in" {
        let message = "a condition is missing after `in`".to_owned();
        return error(stop - 1, message, "write for example `in dust`".to_owned());
    }
    if let Some(at) = find(&|i| joins(p, i) && !p.is_bit(i + 1)) {
        let message = format!("nothing that can follow `{}` comes after it", p.low(at));
        return error(at, message, FORMS.to_owned());
    }
    if let Some(at) = find(&|i| joins(p, i) && p.low(i - 1) == "in") {
        let message = format!("there is no condition before `{}`", p.low(at));
        return error(at, message, format!("leave it out: `{} {}`", p.text(0, at), p.rest(at + 1)));
    }
    if let Some(not) = find(&|i| p.low(i) == "not" && p.low(i + 1) != "in") {
        let help = format!("write `{} in {}`", p.text(0, not + 1), p.rest(not + 1));
        return error(not, "`in` is missing after `not`".to_owned(), help);
    }
    if let Some(odd) = find(&|i| !p.is_bit(i) && !joins(p, i) && !matches!(p.low(i), "in" | "not")) {
        return reserved_in(p, p.around(odd, name..stop, &["in", "or", "and", "not"]), odd);
    }
    match (name..stop).filter(|i| p.low(*i) == "in").nth(1) {
        Some(second) if p.low(second - 1) == "not" => {
            let message = "a use is counted either `in` or `not in` conditions".to_owned();
            error(second, message, format!("leave `{}` out", p.rest(second - 1)))
        }
        Some(second) => {
            let message = "`in` is written once, before all the conditions".to_owned();
            error(second, message, format!("write `{} or {}`", p.text(0, second), p.rest(second + 1)))
        }
        None => reserved_in(p, name..stop, name),
    }
}

/// A word that only a quoted name may hold, in a name that goes on to the end.
pub(super) fn reserved_in_name(p: &Tokens<'_>, name: usize, odd: usize) -> Diagnostic {
    reserved_in(p, name..p.len(), odd)
}

/// A word that only a quoted name may hold.
pub(super) fn reserved_in(p: &Tokens<'_>, name: Range<usize>, odd: usize) -> Diagnostic {
    let what = p.raw(odd);
    let quoted = format!("\"{}\"", p.text(name.start, name.end).replace('"', ""));
    let error =
        |message: String, help: String| Diagnostic::error(Code::ReservedWord, p.at(odd), message).help(help);
    if p.is_figure(odd)
        && odd >= 3
        && [p.low(odd - 3), p.low(odd - 2), p.low(odd - 1)] == ["no", "later", "than"]
    {
        let message = "`no later than` is a detail and comes after its rule".to_owned();
        let help = format!(
            "write it after a `;` or on a line of its own: `no later than {}`",
            p.text(odd, name.end)
        );
        return error(message, help);
    }
    if p.is_figure(odd) {
        return error(
            format!("the number `{what}` cannot be part of a name without quotes"),
            format!("put the name in quotes: `{quoted}`; or is a comma or `or` missing?"),
        );
    }
    if p.low(odd) == "unless" {
        return error(
            "only a delay has `unless`".to_owned(),
            "write for example `7 days after each firmware release unless firmware recall`".to_owned(),
        );
    }
    let word = if RESERVED.contains(&p.low(odd)) { " is a word of the language and" } else { "" };
    let message = format!("`{what}`{word} cannot be part of a name without quotes");
    if matches!(p.low(odd), "the" | "a" | "an") && p.is_bit(odd + 1) {
        let without = format!("{} {}", p.text(0, odd), p.rest(odd + 1));
        return error(message, format!("leave it out: `{}`", without.trim_start()));
    }
    error(message, format!("put the whole name in quotes, as in `{quoted}`"))
}
