//! `when …`, `before …` and calendar dates that missed their form.

use super::counting::number_of;
use super::{Pieces, closest};
use crate::diagnostic::Diagnostic;
use crate::lower::{month_of, unit_of};
use crate::source::Span;

const FORMS: &str = "write for example `when inspect strap finds fraying`, `when mould is found`, \
                     `when capacity is below 80 percent` or `when unused for 60 days`";

const COMPARISONS: [(&str, &str); 14] = [
    ("under", "below"),
    ("less", "below"),
    ("lower", "below"),
    ("fewer", "below"),
    ("smaller", "below"),
    ("over", "above"),
    ("more", "above"),
    ("greater", "above"),
    ("higher", "above"),
    ("larger", "above"),
    ("beyond", "above"),
    ("least", "at least"),
    ("most", "at most"),
    ("equal", "at least"),
];

/// `when …`
pub(super) fn when(p: &Pieces<'_>) -> Diagnostic {
    if p.low(1) == "unused" {
        return unused(p);
    }
    if let Some(is) = p.find("is").or_else(|| p.find("are")) {
        return when_is(p, is);
    }
    if let Some(at) = p.find_any(&["finds", "leaves"]).filter(|i| *i > 1) {
        let message = format!("a finding is missing after `{}`", p.raw(at));
        if p.len() == at + 1 {
            let help = format!("write what is found, as in `{} dust`", p.rest(0));
            return Diagnostic::error("unknown-trigger", p.at(at), message).help(help);
        }
        if let Some(and) = p.find("and").filter(|i| *i > at) {
            let message = "findings are joined by `or`: any of them makes the task due";
            let help = format!("write `{} or {}`", p.text(0, and), p.rest(and + 1));
            return Diagnostic::error("mixed-list", p.at(and), message).help(help);
        }
        let odd = (at + 1..p.len()).find(|i| !p.is_bit(*i) && p.low(*i) != "or").unwrap_or(at);
        return super::atom::reserved_in_name(p, at + 1, odd);
    }
    let verbs =
        ["find", "found", "shows", "show", "reveals", "detects", "has", "gives", "leave", "left", "sees"];
    if let Some(at) = p.find_any(&verbs).filter(|i| *i > 1) {
        let meant = if p.low(at).starts_with("le") { "leaves" } else { "finds" };
        let help = match p.len() == at + 1 {
            true => format!("write `when {} is found`", p.text(1, at)),
            false => format!("write `{} {meant} {}`", p.text(0, at), p.rest(at + 1)),
        };
        let message = format!("`{}` is not the word for a finding", p.raw(at));
        return Diagnostic::error("unknown-trigger", p.at(at), message).help(help);
    }
    let compares = ["below", "above", "under", "over", "at"];
    if let Some(at) = p.find_any(&compares).filter(|i| *i > 1) {
        let changes = ["drops", "falls", "goes", "gets", "rises", "sinks", "reads", "was", "has"];
        let end = if changes.contains(&p.low(at - 1)) && at > 2 { at - 1 } else { at };
        let message = format!("`is` is missing before `{}`", p.raw(at));
        let meant = COMPARISONS.iter().find(|(w, _)| *w == p.low(at)).map_or(p.raw(at), |(_, m)| m);
        let help = format!("write `{} is {meant} {}`", p.text(0, end), p.rest(at + 1));
        return Diagnostic::error("unknown-trigger", p.at(at), message).help(help);
    }
    let message = format!("`{}` has none of the forms of `when`", p.rest(0));
    Diagnostic::error("unknown-trigger", p.whole(), message).help(FORMS)
}

fn unused(p: &Pieces<'_>) -> Diagnostic {
    let figure = (2..p.len()).find(|i| p.is_figure(*i));
    match figure {
        Some(figure) if unit_of(p.low(figure + 1)).is_none() => {
            super::atom::unknown_unit(p, figure, &format!("when unused for {}", p.raw(figure)))
        }
        Some(figure) if figure <= 3 && p.is_bit(figure + 2) && p.low(2) == "for" => {
            let message = "a comma is missing between trigger and task";
            let help = format!("write `{}, {}`", p.text(0, figure + 2), p.rest(figure + 2));
            Diagnostic::error("missing-comma", p.at(figure + 2), message).help(help)
        }
        Some(figure) => {
            let help = format!("write `when unused for {}`", p.text(figure, figure + 2));
            Diagnostic::error(
                "unknown-trigger",
                p.whole(),
                "`unused` is followed by `for` and a length of time",
            )
            .help(help)
        }
        None => {
            let message = "`unused` is followed by `for` and a length of time";
            Diagnostic::error("unknown-trigger", p.whole(), message)
                .help("write for example `when unused for 60 days`")
        }
    }
}

/// `when NAME is …` with something else than the forms know.
fn when_is(p: &Pieces<'_>, is: usize) -> Diagnostic {
    let next = is + 1;
    if p.low(next) == "older" {
        let message = "how long ago something was done is not asked with `when`";
        let help =
            "write `after 90 days` for the time since the task was last done, `at age 12 months` for the age";
        return Diagnostic::error("unknown-trigger", p.whole(), message).help(help);
    }
    let found = (next..p.len()).find(|i| p.low(*i) == "found");
    if p.low(is) == "are" {
        let message = "`are` is not a word of the language";
        return Diagnostic::error("unknown-trigger", p.at(is), message).help(format!(
            "write `{} is {}`",
            p.text(0, is),
            p.rest(next)
        ));
    }
    if let Some(found) = found {
        let message = match p.find("and").filter(|i| *i < is) {
            Some(_) => "findings are joined by `or`: any of them makes the task due".to_owned(),
            None => format!("`{}` cannot stand here", p.rest(found + 1)),
        };
        let help =
            "write `when mould or dust is found`, or `when inspect sensor finds dust` for one task's finding";
        let span = p.span(found + 1, p.len()).unwrap_or(p.whole());
        return Diagnostic::error("unknown-trigger", span, message).help(help);
    }
    let figure = (next..p.len()).find(|i| p.is_figure(*i));
    let word =
        (next..p.len()).find_map(|i| COMPARISONS.iter().find(|(w, _)| *w == p.low(i)).map(|(_, m)| (i, *m)));
    let known = ["below", "above"].contains(&p.low(next))
        || p.low(next) == "at" && ["least", "most"].contains(&p.low(next + 1));
    let span = |from: usize, to: usize| -> Span { p.span(from, to).unwrap_or(p.whole()) };
    match (figure, word) {
        (Some(figure), _) if known => {
            let odd = (figure + 1..p.len()).find(|i| !p.is_bit(*i)).unwrap_or(figure);
            if matches!(p.low(odd), "or" | "and") {
                let message = format!(
                    "each part of a trigger says `when`, and the one after `{}` does not",
                    p.low(odd)
                );
                let help = format!("write `{} when {}`", p.text(0, odd + 1), p.rest(odd + 1));
                return Diagnostic::error("unknown-trigger", span(odd, p.len()), message).help(help);
            }
            let message = format!("`{}` cannot stand here", p.rest(odd));
            let help = "a unit of one or more words may follow the number, then a comma and the task";
            Diagnostic::error("unknown-trigger", span(odd, p.len()), message).help(help)
        }
        (None, _) if known => {
            let message = "a number is missing in the comparison";
            Diagnostic::error("number-missing", span(next, p.len()), message)
                .help(format!("write for example `{} below 80 percent`", p.text(0, next)))
        }
        (Some(figure), Some((_, meant))) => {
            let message = format!("`{}` is not one of the comparisons", p.text(next, figure));
            let help = format!("write `{} {meant} {}`", p.text(0, next), p.rest(figure));
            Diagnostic::error("unknown-comparison", span(next, figure), message).help(help)
        }
        (Some(figure), None) => {
            let spelled = closest(p.low(next), ["below", "above"]);
            let (message, help) = match spelled {
                Some(meant) if figure > next => (
                    format!("`{}` is not one of the comparisons", p.raw(next)),
                    format!("write `{} {meant} {}`", p.text(0, next), p.rest(figure)),
                ),
                _ => (
                    "a comparison is missing: `below`, `above`, `at least` or `at most`".to_owned(),
                    format!("write for example `{} below {}`", p.text(0, next), p.rest(figure)),
                ),
            };
            Diagnostic::error("unknown-comparison", span(is, figure + 1), message).help(help)
        }
        (None, _) => {
            let message = format!("`{}` has none of the forms of `when`", p.rest(0));
            Diagnostic::error("unknown-trigger", p.whole(), message).help(FORMS)
        }
    }
}

/// `before …`
pub(super) fn before(p: &Pieces<'_>) -> Diagnostic {
    let articles = ["each", "every", "a", "an", "any", "the"];
    let named = usize::from(articles.contains(&p.low(1))) + 1;
    if p.len() == named {
        let message = "what is planned is missing after `before`";
        return Diagnostic::error("unknown-trigger", p.whole(), message)
            .help("write for example `before every trip`");
    }
    let stop = p.find("in").unwrap_or(p.len());
    if let Some(at) = (named..stop).find(|i| matches!(p.low(*i), "or" | "and")) {
        let message = "`before` names one planned event";
        let help = format!("write `{} or before every {}`", p.text(0, at), p.rest(at + 1));
        return Diagnostic::error("unknown-trigger", p.span(at, p.len()).unwrap_or(p.whole()), message)
            .help(help);
    }
    if p.is_figure(1) || p.is_figure(2) {
        let message = "`before` is followed by an event, not by a number or a date";
        return Diagnostic::error("unknown-trigger", p.whole(), message)
            .help("write for example `before every trip`");
    }
    if named == 1 || p.low(1) == "the" {
        let message = "`every` is missing after `before`: the name of what is planned stands after it";
        let one = p.text(named, stop);
        let (head, last) = one.rsplit_once(' ').map_or(("", one.as_str()), |(head, last)| (head, last));
        let gap = if head.is_empty() { "" } else { " " };
        let conditions = if stop < p.len() { format!(" {}", p.rest(stop)) } else { String::new() };
        let help = format!("write `before every {head}{gap}{}{conditions}`", crate::name::key(last));
        return Diagnostic::error("unknown-trigger", p.whole(), message).help(help);
    }
    let odd = (named..p.len()).find(|i| !p.is_bit(*i) && !matches!(p.low(*i), "in" | "or" | "and"));
    super::atom::reserved_in_name(p, named, odd.unwrap_or(named))
}

/// `on 1 March`, `every month on the 15th`, `every Monday on …`; `unit` is the place after `every`.
pub(super) fn calendar(p: &Pieces<'_>, unit: usize) -> Diagnostic {
    let on = p.find("on").unwrap_or(p.len());
    if on == p.len() && unit > 0 {
        return super::atom::reserved_in_name(
            p,
            unit,
            (unit..p.len()).find(|i| !p.is_bit(*i)).unwrap_or(unit),
        );
    }
    let weekday = (on + 1..p.len()).find_map(|i| weekday_of(p.low(i)).map(|w| (i, w)));
    let month = (on + 1..p.len()).find_map(|i| month_named(p.low(i)).map(|m| (i, m)));
    let rank = ["first", "second", "third", "fourth", "last"]
        .into_iter()
        .find(|r| (on + 1..p.len()).any(|i| p.low(i) == *r));
    let digits = |i: usize| p.raw(i).trim_end_matches(|c: char| c.is_ascii_alphabetic()).to_owned();
    let day = (on + 1..p.len()).find(|i| p.is_figure(*i)).map(digits);
    let meant = match (weekday, rank, month, &day, p.low(unit)) {
        (Some((i, _)), None, _, _, "week") if i + 1 < p.len() && p.low(i) != "mondays" => None,
        (Some((_, weekday)), Some(rank), ..) => Some(format!("every month on the {rank} {weekday}")),
        (Some((_, weekday)), None, None, None, _) => Some(format!("every week on {weekday}")),
        (_, _, Some((_, month)), Some(day), _) => Some(format!("every year on {day} {month}")),
        (_, _, Some((i, month)), None, _) => {
            let word = if i > on + 1 { p.low(i - 1) } else { p.low(i + 1) };
            number_of(word).map(|day| format!("every year on {day} {month}"))
        }
        (None, _, None, Some(day), "month") => Some(format!("every month on day {day}")),
        (None, _, None, Some(day), "year") if day.len() == 10 => Some(format!("on {day}")),
        _ => None,
    };
    // What stands behind a good date is something else: a task without its comma.
    let last = [weekday.map(|(i, _)| i), month.map(|(i, _)| i)].into_iter().flatten().max();
    let last = last.or_else(|| (on + 1..p.len()).find(|i| p.is_figure(*i) && unit <= 1));
    if let Some(last) = last.filter(|i| p.is_bit(i + 1) && !p.is_figure(i + 1) && !p.low(unit).is_empty()) {
        let written = p.text(0, last + 1);
        if meant.as_deref().is_none_or(|m| m.eq_ignore_ascii_case(&written)) {
            let message = "a comma is missing between trigger and task";
            let help = format!("write `{written}, {}`", p.rest(last + 1));
            return Diagnostic::error("missing-comma", p.at(last + 1), message).help(help);
        }
    }
    let message = format!("`{}` is not how a date is written", p.rest(0));
    let help = match meant {
        Some(meant) => format!("write `{meant}`"),
        None => "write `on 2026-03-01`, `every year on 1 March`, `every month on day 15`, `every month on the first Monday` or \
                 `every week on Monday`"
            .to_owned(),
    };
    Diagnostic::error("bad-date", p.whole(), message).help(help)
}

/// The weekday that a word names, also shortened, in the plural or misspelt.
pub(crate) fn weekday_of(word: &str) -> Option<&'static str> {
    const DAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
    let plain = word.strip_suffix('s').filter(|w| w.ends_with("day")).unwrap_or(word);
    let same =
        |d: &&&str| d.to_lowercase() == plain || plain.len() >= 3 && d.to_lowercase().starts_with(plain);
    let exact = DAYS.iter().find(same).copied();
    exact.or_else(|| {
        DAYS.iter().find(|d| plain.len() > 5 && strsim::osa_distance(&d.to_lowercase(), plain) == 1).copied()
    })
}

/// The month that a word names, also shortened or misspelt.
pub(crate) fn month_named(word: &str) -> Option<&'static str> {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    if let Some(number) = month_of(word).filter(|_| word.len() >= 3) {
        return MONTHS.get(number as usize - 1).copied();
    }
    MONTHS.iter().find(|m| word.len() > 4 && strsim::osa_distance(&m.to_lowercase(), word) <= 1).copied()
}
