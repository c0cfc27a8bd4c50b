//! Whole lines that are not a statement.

use super::detail::meant_opening;
use super::lengths::ahead;
use super::lengths::behind;
use super::section::section;
use super::spoken::delay;
use super::spoken::how_often;
use super::spoken::task_first;
use super::spoken::within;
use super::tokens::{Tokens, short};
use super::uses::reserved_in;
use super::when::FORMS;
use super::words::STARTS;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{month_named, month_of};
use crate::lower::File;
use crate::name::key;
use crate::nearness::closest;
use crate::parse::{Node, Part};
use crate::source::Span;
use crate::when::parse_date;

/// A line that no form takes.
pub(super) fn line(file: &File<'_>, node: &Node) -> Diagnostic {
    statement(&Tokens::of(file, node))
}

fn statement(p: &Tokens<'_>) -> Diagnostic {
    let error = |code, span, message: &str, help: &str| Diagnostic::error(code, span, message).help(help);
    let quoted = |what: &str| {
        let message = format!("the text after `{what}` must be in quotes");
        let text = if p.len() == 1 { "…".to_owned() } else { p.rest(1).replace('"', "") };
        let text = text.trim_start_matches([':', ' ']).trim_matches('\'');
        let help = format!("write `{what} \"{text}\"`");
        Diagnostic::error(Code::QuotesMissing, p.span(1, p.len()).unwrap_or(p.whole()), message).help(help)
    };
    match p.low(0) {
        "for" => section(p),
        "house" | "include" | "example" if p.is(1, Part::string) => {
            let message = format!("`{}` cannot follow here", p.rest(2));
            let span = p.span(2, p.len()).unwrap_or(p.whole());
            Diagnostic::error(Code::UnknownStatement, span, message).help(format!("write `{}`", p.text(0, 2)))
        }
        "house" | "include" | "example" if p.raw(1) == ":" && p.is(2, Part::string) => {
            let message = format!("a colon does not belong after `{}`", p.raw(0));
            let help = format!("write `{} {}`", p.low(0), p.raw(2));
            Diagnostic::error(Code::UnknownStatement, p.at(1), message).help(help)
        }
        "house" | "include" | "example" => quoted(p.low(0)),
        "time" | "timezone" | "tz" => {
            let name =
                p.list.iter().rev().find(|token| token.part == Part::any_word).map_or("", |token| token.text);
            let help = if name.contains('/') {
                format!("write `time zone {name}`")
            } else {
                "write `time zone Europe/Lisbon`".to_owned()
            };
            error(
                Code::UnknownStatement,
                p.whole(),
                "a time zone is written as `time zone` and its name",
                &help,
            )
        }
        "count" => error(
            Code::UnknownStatement,
            p.whole(),
            "`count from` is followed by a date",
            &format!("write `count from {}`", date_in(p).unwrap_or_else(|| "2026-01-01".to_owned())),
        ),
        "a" | "an" => match (ahead(p), behind(p)) {
            (Some(found), _) => within(p, found),
            (_, Some(found)) => delay(p, found),
            _ => kind(p),
        },
        "events" | "conditions" | "findings" => declared(p),
        "if" => {
            let comma = p.list.iter().position(|token| token.text == ",").unwrap_or(p.len());
            let says = |i: usize| match p.low(i) {
                "finds" | "leaves" | "unused" => true,
                "is" => (i..comma).any(|i| p.is_figure(i) || p.low(i) == "found"),
                _ => false,
            };
            let help = match (1..comma).any(says) {
                true => format!("write `when {}`", p.rest(1)),
                false => FORMS.to_owned(),
            };
            error(Code::UnknownStatement, p.at(0), "a rule begins with `when`, not with `if`", &help)
        }
        "or" | "and" => {
            let message = format!("`{}` continues a trigger, and none is open", p.raw(0));
            let help = "end the line above with `or` or `and`, and go on here without it";
            Diagnostic::error(Code::UnknownStatement, p.at(0), message).help(help)
        }
        "age" => {
            let help = format!("write `at age 12 months`, not `{}`", p.rest(0));
            error(Code::UnknownStatement, p.whole(), "an age needs a length of time", &help)
        }
        _ => guess(p),
    }
}

/// The date that a line holds, in figures or with its month in words.
fn date_in(p: &Tokens<'_>) -> Option<String> {
    if let Some(date) = (1..p.len()).map(|i| p.raw(i)).find(|text| parse_date(text).is_ok()) {
        return Some(date.to_owned());
    }
    let (at, month) = (1..p.len()).find_map(|i| Some((i, month_of(month_named(p.low(i))?)?)))?;
    let number = |i: usize| p.raw(i).trim_end_matches(|c: char| c.is_ascii_alphabetic()).parse::<u32>().ok();
    let year = (at + 1..p.len()).find_map(number).filter(|year| (1900..=2200).contains(year))?;
    let day = number(at - 1).or_else(|| number(at + 1)).filter(|day| (1..=31).contains(day))?;
    let date = format!("{year}-{month:02}-{day:02}");
    parse_date(&date).is_ok().then_some(date)
}

/// `a rangefinder is camera`, `a camera covers …`
fn kind(p: &Tokens<'_>) -> Diagnostic {
    let message = "a narrower kind is written `a rangefinder is a camera`";
    let help = match p.find("is") {
        Some(is) if is > 1 => {
            let broader = if matches!(p.low(is + 1), "a" | "an" | "the") { is + 2 } else { is + 1 };
            let broader = if broader < p.len() { p.rest(broader) } else { "tool".to_owned() };
            format!("write `{} is a {broader}`", p.text(0, is))
        }
        _ => "a statement that begins with `a` names two kinds; a rule begins with `after`, `every`, `before`, `when` or a number".to_owned(),
    };
    Diagnostic::error(Code::UnknownStatement, p.whole(), message).help(help)
}

/// `conditions dust and sand`
fn declared(p: &Tokens<'_>) -> Diagnostic {
    let what = p.raw(0);
    if let Some(at) = p.find_any(&["and", "or"]) {
        let message = format!("the names after `{what}` are separated by commas");
        let from = if p.raw(at - 1) == "," { at - 1 } else { at };
        let help = format!("write `{}, {}`", p.text(0, from), p.rest(at + 1));
        return Diagnostic::error(Code::UnknownStatement, p.at(at), message).help(help);
    }
    if p.len() == 1 {
        let message = format!("names are missing after `{what}`");
        let names = if p.low(0) == "events" { "trip, shoot" } else { "dust, sand" };
        return Diagnostic::error(Code::UnknownStatement, p.at(0), message)
            .help(format!("write `{what} {names}`"));
    }
    match (1..p.len()).find(|i| !p.is_bit(*i) && p.raw(*i) != ",") {
        Some(odd) => reserved_in(p, p.around(odd, 1..p.len(), &[","]), odd),
        None => {
            Diagnostic::error(Code::UnknownStatement, p.at(p.len() - 1), "a name is missing beside a comma")
                .help(format!("write `{what} dust, sand`, with one comma between two names"))
        }
    }
}

/// A line whose first word is none of the language.
fn guess(p: &Tokens<'_>) -> Diagnostic {
    let first = p.raw(0);
    let commas: Vec<usize> = (0..p.len()).filter(|i| p.raw(*i) == ",").collect();
    let comma = commas.first().copied();
    if let Some(at) = p.find("covers") {
        let odd = (0..p.len()).find(|i| !p.is_bit(*i) && p.raw(*i) != ",");
        if let Some(odd) = odd.filter(|i| matches!(p.low(*i), "and" | "or")) {
            let message = "the tasks after `covers` are separated by commas";
            let help = format!("write `{}, {}`", p.text(0, odd), p.rest(odd + 1));
            return Diagnostic::error(Code::UnknownStatement, p.at(odd), message).help(help);
        }
        if let Some(odd) = odd {
            return reserved_in(p, p.around(odd, 0..p.len(), &[",", "covers"]), odd);
        }
        let message = "a task is missing beside `covers`";
        return Diagnostic::error(Code::UnknownStatement, p.at(at), message)
            .help("write `clean sensor covers inspect sensor`");
    }
    if let Some(diagnostic) = how_often(p, comma) {
        return diagnostic;
    }
    if p.low(0) == "once" {
        let from = if matches!(p.low(1), "a" | "an" | "every" | "per" | "each") { 2 } else { 1 };
        let message = "`once` is not a word of the language";
        let help = match p.raw(from) {
            "," => format!("write the date: `on 2026-03-01{}`", p.rest(from)),
            // `once dust is found`
            _ if (from..comma.unwrap_or(p.len())).any(|i| matches!(p.low(i), "is" | "finds" | "leaves")) => {
                format!("write `when {}`", p.rest(from))
            }
            // `once in 2 years`
            _ if p.low(from) == "in" => format!("write `every {}`", p.rest(from + 1)),
            _ => format!("write `every {}`", p.rest(from)),
        };
        return Diagnostic::error(Code::UnknownStatement, p.at(0), message).help(help);
    }
    if let Some(diagnostic) = p.find_from(1, &["when", "if"]).and_then(|_| task_first(p)) {
        return diagnostic;
    }
    if let Some(is) = p.find("is").or_else(|| p.find("are")).filter(|i| *i > 0 && comma.is_none()) {
        // `all rangefinders are cameras`
        let from = usize::from(matches!(p.low(0), "all" | "every" | "each" | "any"));
        let broader = if matches!(p.low(is + 1), "a" | "an") { is + 2 } else { is + 1 };
        let message = "a narrower kind is written with `a` before both names";
        let broader = if broader < p.len() { key(&p.rest(broader)) } else { "tool".to_owned() };
        let help = format!("write `a {} is a {broader}`", key(&p.text(from, is)));
        return Diagnostic::error(Code::UnknownStatement, p.whole(), message).help(help);
    }
    if let (Some(is), Some(comma)) = (p.find("is").filter(|is| *is > 0), comma)
        && is + 1 < comma
    {
        let message = "what was seen or read begins with `when`";
        let compares = (is + 1..comma).any(|i| p.is_figure(i)) || p.low(is + 1) == "found";
        let help = match compares {
            true => format!("write `when {}`", p.rest(0)),
            false => format!("write `when {} is found{}`", p.text(is + 1, comma), p.rest(comma)),
        };
        return Diagnostic::error(Code::UnknownStatement, p.span(0, comma).unwrap_or(p.whole()), message)
            .help(help);
    }
    if comma.is_none() && p.stand(1, &["cover"]) || p.stand(2, &["cover"]) {
        let at = if p.low(1) == "cover" { 1 } else { 2 };
        let message = "the word is `covers`";
        let help = format!("write `{} covers {}`", p.text(0, at), p.rest(at + 1));
        return Diagnostic::error(Code::UnknownStatement, p.at(at), message).help(help);
    }
    if first == "/" {
        let from = (0..p.len()).find(|i| p.raw(*i) != "/").unwrap_or(p.len());
        let message = "a comment begins with `#`";
        return Diagnostic::error(Code::UnknownStatement, p.span(0, from).unwrap_or(p.whole()), message)
            .help(format!("write `# {}`", p.rest(from)));
    }
    if let Some(at) =
        (1..p.len()).find(|i| STARTS.contains(&p.low(*i))).filter(|at| p.raw(at - 1).ends_with([':', '-']))
    {
        let message = "a rule begins with its first word, without a mark or a title before it";
        return Diagnostic::error(Code::UnknownStatement, p.span(0, at).unwrap_or(p.whole()), message)
            .help(format!("write `{}`; a title can be a comment after `#`", p.rest(at)));
    }
    if let Some(found) = ahead(p) {
        return within(p, found);
    }
    if let Some(found) = behind(p) {
        return delay(p, found);
    }
    if let Some(diagnostic) = task_first(p) {
        return diagnostic;
    }
    let message = format!("`{first}` is not the beginning of a statement");
    let diagnostic = Diagnostic::error(Code::UnknownStatement, p.at(0), message);
    let words = [
        "after",
        "every",
        "each",
        "before",
        "when",
        "for",
        "house",
        "include",
        "events",
        "conditions",
        "findings",
        "example",
        "instead",
        "count",
    ];
    if let Some(meant) = meant_opening(p).filter(|_| comma.is_none() || p.low(0).starts_with("need")) {
        let message = format!("`{first}` is not the beginning of a detail");
        return Diagnostic { code: Code::UnknownDetail, message, ..diagnostic }
            .help(format!("did you mean `{meant} {}`?", p.rest(1)));
    }
    match closest(p.low(0), words) {
        Some(meant) => diagnostic.help(format!("did you mean `{meant} {}`?", p.rest(1))),
        None if p.is_bit(0) && p.len() <= 2 || p.raw(p.len() - 1) == ":" => {
            let name = p.text(0, p.list.iter().position(|token| token.text == ":").unwrap_or(p.len()));
            diagnostic.help(format!("a section begins with `for`: `for {name}`; a rule with `after`, `every`, `before`, `when` or a number"))
        }
        None => diagnostic
            .help("a rule begins with `after`, `every`, `before`, `when` or a number; a section with `for`"),
    }
}

/// `instead` without its comma.
pub(super) fn instead(file: &File<'_>, node: &Node) -> Diagnostic {
    let word = node.part(Part::k_instead).unwrap_or(node);
    let message = "a comma is missing after `instead`";
    let trigger = node.part(Part::trigger).map(|t| short(file.text(t))).unwrap_or_default();
    Diagnostic::error(Code::MissingComma, file.span(word), message)
        .help(format!("write `instead, {trigger}`"))
}

/// A line with signs in an order that nothing has.
pub(super) fn unreadable(span: Span) -> Diagnostic {
    Diagnostic::error(Code::UnknownStatement, span, "this line cannot be read")
        .help("a rule looks like `after 20 trips, inspect strap`")
}
