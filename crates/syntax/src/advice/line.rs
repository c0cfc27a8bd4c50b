//! Whole lines that are no statement, and lines of examples.

use super::calendar::month_named;
use super::detail::{FIRST, meant_opening};
use super::lengths::{adverb, ahead, behind, season, times_a};
use super::section::section;
use super::uses::reserved_in;
use super::when::FORMS;
use super::{Pieces, STARTS, closest};
use crate::diagnostic::Diagnostic;
use crate::lower::{File, month_of, unit_of};
use crate::name::key;
use crate::parse::{Node, Part};
use crate::source::Span;
use crate::when::parse_date;

/// A line that no form takes; with whether details may follow it.
pub(crate) fn line(file: &File<'_>, node: &Node) -> (Diagnostic, bool) {
    let p = Pieces::of(file, node);
    let rule_like = p.list.iter().any(|piece| piece.text == ",");
    (statement(&p), rule_like)
}

fn statement(p: &Pieces<'_>) -> Diagnostic {
    let error = |code, span, message: &str, help: &str| Diagnostic::error(code, span, message).help(help);
    let quoted = |what: &str| {
        let message = format!("the text after `{what}` must stand in quotes");
        let text = if p.len() == 1 { "…".to_owned() } else { p.rest(1).replace('"', "") };
        let text = text.trim_start_matches([':', ' ']).trim_matches('\'');
        let help = format!("write `{what} \"{text}\"`");
        Diagnostic::error("quotes-missing", p.span(1, p.len()).unwrap_or(p.whole()), message).help(help)
    };
    match p.low(0) {
        "for" => section(p),
        "house" | "include" | "example" if p.is(1, Part::string) => {
            let message = format!("`{}` cannot follow here", p.rest(2));
            let span = p.span(2, p.len()).unwrap_or(p.whole());
            Diagnostic::error("unknown-statement", span, message).help(format!("write `{}`", p.text(0, 2)))
        }
        "house" | "include" | "example" if p.raw(1) == ":" && p.is(2, Part::string) => {
            let message = format!("no colon stands after `{}`", p.raw(0));
            let help = format!("write `{} {}`", p.low(0), p.raw(2));
            Diagnostic::error("unknown-statement", p.at(1), message).help(help)
        }
        "house" | "include" | "example" => quoted(p.low(0)),
        "time" | "timezone" | "tz" => {
            let name =
                p.list.iter().rev().find(|piece| piece.part == Part::any_word).map_or("", |piece| piece.text);
            let help = if name.contains('/') {
                format!("write `time zone {name}`")
            } else {
                "write `time zone Europe/Lisbon`".to_owned()
            };
            error("unknown-statement", p.whole(), "a time zone is written as `time zone` and its name", &help)
        }
        "count" => error(
            "unknown-statement",
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
            let comma = p.list.iter().position(|piece| piece.text == ",").unwrap_or(p.len());
            let says = |i: usize| match p.low(i) {
                "finds" | "leaves" | "unused" => true,
                "is" => (i..comma).any(|i| p.is_figure(i) || p.low(i) == "found"),
                _ => false,
            };
            let help = match (1..comma).any(says) {
                true => format!("write `when {}`", p.rest(1)),
                false => FORMS.to_owned(),
            };
            error("unknown-statement", p.at(0), "a rule begins with `when`, not with `if`", &help)
        }
        "or" | "and" => {
            let message = format!("`{}` continues a trigger, and none is open", p.raw(0));
            let help = "end the line above with `or` or `and`, and go on here without it";
            Diagnostic::error("unknown-statement", p.at(0), message).help(help)
        }
        "age" => {
            let help = format!("write `at age 12 months`, not `{}`", p.rest(0));
            error("unknown-statement", p.whole(), "an age needs a length of time", &help)
        }
        _ => guess(p),
    }
}

/// The date that a line holds, in figures or with its month in words.
fn date_in(p: &Pieces<'_>) -> Option<String> {
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
fn kind(p: &Pieces<'_>) -> Diagnostic {
    let message = "a narrower kind is written `a rangefinder is a camera`";
    let help = match p.find("is") {
        Some(is) if is > 1 => {
            let broader = if matches!(p.low(is + 1), "a" | "an" | "the") { is + 2 } else { is + 1 };
            let broader = if broader < p.len() { p.rest(broader) } else { "tool".to_owned() };
            format!("write `{} is a {broader}`", p.text(0, is))
        }
        _ => "a statement that begins with `a` names two kinds; a rule begins with `after`, `every`, `before`, `when` or a number".to_owned(),
    };
    Diagnostic::error("unknown-statement", p.whole(), message).help(help)
}

/// `conditions dust and sand`
fn declared(p: &Pieces<'_>) -> Diagnostic {
    let what = p.raw(0);
    if let Some(at) = p.find_any(&["and", "or"]) {
        let message = format!("the names after `{what}` have commas between them");
        let from = if p.raw(at - 1) == "," { at - 1 } else { at };
        let help = format!("write `{}, {}`", p.text(0, from), p.rest(at + 1));
        return Diagnostic::error("unknown-statement", p.at(at), message).help(help);
    }
    if p.len() == 1 {
        let message = format!("names are missing after `{what}`");
        let names = if p.low(0) == "events" { "trip, shoot" } else { "dust, sand" };
        return Diagnostic::error("unknown-statement", p.at(0), message)
            .help(format!("write `{what} {names}`"));
    }
    match (1..p.len()).find(|i| !p.is_bit(*i) && p.raw(*i) != ",") {
        Some(odd) => reserved_in(p, p.around(odd, 1..p.len(), &[","]), odd),
        None => Diagnostic::error("unknown-statement", p.at(p.len() - 1), "a name is missing beside a comma")
            .help(format!("write `{what} dust, sand`, with one comma between two names")),
    }
}

/// A line whose first word is none of the language.
fn guess(p: &Pieces<'_>) -> Diagnostic {
    let first = p.raw(0);
    let commas: Vec<usize> = (0..p.len()).filter(|i| p.raw(*i) == ",").collect();
    let comma = commas.first().copied();
    if let Some(at) = p.find("covers") {
        let odd = (0..p.len()).find(|i| !p.is_bit(*i) && p.raw(*i) != ",");
        if let Some(odd) = odd.filter(|i| matches!(p.low(*i), "and" | "or")) {
            let message = "the tasks after `covers` have commas between them";
            let help = format!("write `{}, {}`", p.text(0, odd), p.rest(odd + 1));
            return Diagnostic::error("unknown-statement", p.at(odd), message).help(help);
        }
        if let Some(odd) = odd {
            return reserved_in(p, p.around(odd, 0..p.len(), &[",", "covers"]), odd);
        }
        let message = "a task is missing beside `covers`";
        return Diagnostic::error("unknown-statement", p.at(at), message)
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
        return Diagnostic::error("unknown-statement", p.at(0), message).help(help);
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
        return Diagnostic::error("unknown-statement", p.whole(), message).help(help);
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
        return Diagnostic::error("unknown-statement", p.span(0, comma).unwrap_or(p.whole()), message)
            .help(help);
    }
    if comma.is_none() && p.stand(1, &["cover"]) || p.stand(2, &["cover"]) {
        let at = if p.low(1) == "cover" { 1 } else { 2 };
        let message = "the word is `covers`";
        let help = format!("write `{} covers {}`", p.text(0, at), p.rest(at + 1));
        return Diagnostic::error("unknown-statement", p.at(at), message).help(help);
    }
    if first == "/" {
        let from = (0..p.len()).find(|i| p.raw(*i) != "/").unwrap_or(p.len());
        let message = "a comment begins with `#`";
        return Diagnostic::error("unknown-statement", p.span(0, from).unwrap_or(p.whole()), message)
            .help(format!("write `# {}`", p.rest(from)));
    }
    if let Some(at) =
        (1..p.len()).find(|i| STARTS.contains(&p.low(*i))).filter(|at| p.raw(at - 1).ends_with([':', '-']))
    {
        let message = "a rule begins with its first word, without a mark or a title before it";
        return Diagnostic::error("unknown-statement", p.span(0, at).unwrap_or(p.whole()), message)
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
    let diagnostic = Diagnostic::error("unknown-statement", p.at(0), message);
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
        return Diagnostic { code: "unknown-detail", message, ..diagnostic }
            .help(format!("did you mean `{meant} {}`?", p.rest(1)));
    }
    match closest(p.low(0), words) {
        Some(meant) => diagnostic.help(format!("did you mean `{meant} {}`?", p.rest(1))),
        None if p.is_bit(0) && p.len() <= 2 || p.raw(p.len() - 1) == ":" => {
            let name = p.text(0, p.list.iter().position(|piece| piece.text == ":").unwrap_or(p.len()));
            diagnostic.help(format!("a section begins with `for`: `for {name}`; a rule with `after`, `every`, `before`, `when` or a number"))
        }
        None => diagnostic
            .help("a rule begins with `after`, `every`, `before`, `when` or a number; a section with `for`"),
    }
}

/// `inspect sensor every 90 days; notice 14 days`: the task first, and then when. Also words before the first word
/// of a rule that are no task: `either 20 trips or 90 days, wipe body`.
fn task_first(p: &Pieces<'_>) -> Option<Diagnostic> {
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
        let message = format!("`{}` is no beginning of a rule", p.text(0, end));
        return Some(
            Diagnostic::error("unknown-statement", p.span(0, end)?, message)
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
    Some(Diagnostic::error("unknown-statement", p.whole(), message).help(help))
}

/// `quarterly, clean sensor`, `twice a year, clean sensor`, `in spring, grease spigot`.
fn how_often(p: &Pieces<'_>, comma: Option<usize>) -> Option<Diagnostic> {
    let task = |from: usize| p.rest(comma.unwrap_or(from - 1) + 1);
    let rule = |to: usize, trigger: &str, message: String| {
        let help = format!("write `{trigger}, {}`", task(to));
        Diagnostic::error("unknown-statement", p.span(0, to).unwrap_or(p.whole()), message).help(help)
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
                "unknown-statement",
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

/// What stands before the comma of a rule and behind it, from a word on that an event follows.
fn event_and_task(p: &Pieces<'_>, word: usize, event: &str) -> (String, String) {
    let comma = (word..p.len()).find(|i| p.raw(*i) == ",").unwrap_or(p.len());
    let articles = ["each", "every", "a", "an", "any", "the"];
    let name = word + 1 + usize::from(articles.contains(&p.low(word + 1)));
    let event = if name < comma { p.text(name, comma) } else { event.to_owned() };
    (event, if comma + 1 < p.len() { p.rest(comma + 1) } else { "…".to_owned() })
}

/// `the day before a trip, charge battery`: a length of time and the place of `before`.
pub(super) fn within(p: &Pieces<'_>, (length, before): (String, usize)) -> Diagnostic {
    let (planned, task) = event_and_task(p, before, "trip");
    let message = "how long before something planned is said by the detail `within`";
    Diagnostic::error("unknown-statement", p.span(0, before + 1).unwrap_or(p.whole()), message)
        .help(format!("write `before every {planned}, {task}; within {length}`"))
}

/// `a year after purchase, service shutter`: a length of time and the place of `after`.
fn delay(p: &Pieces<'_>, (length, after): (String, usize)) -> Diagnostic {
    let (event, task) = event_and_task(p, after, "firmware release");
    let message = format!("`{}` is not how a delay is written", p.text(0, after + 1));
    Diagnostic::error("unknown-statement", p.span(0, after + 1).unwrap_or(p.whole()), message)
        .help(format!("write `{length} after each {event}, {task}`"))
}

/// `instead` without its comma.
pub(crate) fn instead(file: &File<'_>, node: &Node) -> Diagnostic {
    let word = node.part(Part::k_instead).unwrap_or(node);
    let message = "a comma is missing after `instead`";
    let trigger = node.part(Part::trigger).map(|t| super::short(file.text(t))).unwrap_or_default();
    Diagnostic::error("missing-comma", file.span(word), message).help(format!("write `instead, {trigger}`"))
}

/// A line with signs in an order that nothing has.
pub(crate) fn unreadable(span: Span) -> Diagnostic {
    Diagnostic::error("unknown-statement", span, "this line cannot be read")
        .help("a rule looks like `after 20 trips, inspect strap`")
}

/// A line of an example block that has none of the three forms.
pub(crate) fn example_line(file: &File<'_>, node: &Node) -> Diagnostic {
    let p = Pieces::of(file, node);
    let error =
        |span, message: String, help: String| Diagnostic::error("bad-example-line", span, message).help(help);
    if p.low(0) == "on" {
        return claim(&p);
    }
    if p.is_figure(0) && parse_date(p.raw(0)).is_err() && !p.raw(0).contains('T') {
        let message = format!("`{}` is not a date such as `2026-03-01`", p.raw(0));
        return Diagnostic::error("bad-date", p.at(0), message).help("write year, month, day: `2026-03-01`");
    }
    if p.is_figure(0) {
        let odd = (1..p.len())
            .find(|i| p.is_figure(*i) && !matches!(p.low(i - 1), "to" | "reading") && p.is_figure(i + 1));
        let message = "an entry is a date, an item's id, an event, and what belongs to it, in this order";
        let help = "write `2026-02-07 C1 lens change 12 reading 300 frames in dust, sand found spots ref \"v1\"`, \
                    leaving out what is not there";
        return error(odd.map_or(p.whole(), |i| p.at(i)), message.to_owned(), help.to_owned());
    }
    if FIRST.contains(&p.low(0)) {
        let message = format!("`{}` cannot begin a line of an example", p.raw(0));
        return error(
            p.at(0),
            message,
            "an item line begins with the kind: `camera C1 received 2026-01-10`".to_owned(),
        );
    }
    let message = format!("`{}` has none of the forms of an example line", p.rest(0));
    let help = "write an item `camera C1 received 2026-01-10`, an entry `2026-02-07 C1 lens change 12 in dust` or a claim \
                `on 2026-02-08 C1 inspect sensor is due`";
    error(p.whole(), message, help.to_owned())
}

fn claim(p: &Pieces<'_>) -> Diagnostic {
    const STANDINGS: [&str; 6] = ["clear", "unknown", "soon", "due", "overdue", "grounded"];
    let error =
        |span, message: String, help: String| Diagnostic::error("bad-example-line", span, message).help(help);
    let Some(is) = p.find("is") else {
        let message = "a claim says how a task stands, with `is`".to_owned();
        return error(p.whole(), message, "write `on 2026-02-08 C1 inspect sensor is due`".to_owned());
    };
    let said = p.low(is + 1);
    if STANDINGS.contains(&said) {
        let message = format!("`{}` cannot follow here", p.rest(is + 2));
        let help = "write `since` and a date, or nothing".to_owned();
        if p.len() > is + 2 {
            return error(p.span(is + 2, p.len()).unwrap_or(p.whole()), message, help);
        }
        let message = "a claim is a date, an item's id, a task, `is` and a standing".to_owned();
        return error(p.whole(), message, "write `on 2026-02-08 C1 inspect sensor is due`".to_owned());
    }
    let meant = match said {
        "ok" | "fine" | "good" | "done" | "not" | "free" => Some("clear"),
        "late" => Some("overdue"),
        "blocked" | "stopped" => Some("grounded"),
        _ => closest(said, STANDINGS),
    };
    let message = format!("`{}` is not a standing", p.rest(is + 1));
    let help = match meant {
        Some(meant) => format!("write `{} {meant}`", p.text(0, is + 1)),
        None => "the standings are `clear`, `unknown`, `soon`, `due`, `overdue` and `grounded`".to_owned(),
    };
    error(p.span(is + 1, p.len()).unwrap_or(p.at(is)), message, help)
}
