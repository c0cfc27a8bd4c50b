//! Names that hold more than a name, or another thing than a name.

use crate::amount::Amount;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{length, like_a_unit, month_named, number_of, season, times_in, unit_of, weekday_of};
use crate::name::Name;

/// Words that a name does not have after its first: they begin a statement about it.
const AROUND: [&str; 17] = [
    "without", "except", "outside", "outdoors", "with", "during", "under", "amid", "while", "near", "since",
    "until", "per", "so", "within", "abroad", "by",
];

/// What is counted: `every Monday`, `every quarter`, `after 90 dayz`, `after 20 shoots without dust`.
pub(super) fn usage(threshold: Amount, name: &Name) -> Option<Diagnostic> {
    let low = name.text.to_lowercase();
    let message = format!("`{}` is read as the name of a use to count", name.text);
    let doubt = |code, help: String| Some(Diagnostic::doubt(code, name.span, message).help(help));
    if let Some(help) = date(&low) {
        return doubt(Code::LikeADate, help);
    }
    if low.contains("whichever") || low.contains("comes first") {
        let later = ["later", "latest", "last", "longer"].iter().any(|word| low.contains(word));
        let help = match later {
            true => "leave it out, and join the parts by `and`, which waits for the later",
            false => "leave `whichever comes first` out: `or` means it",
        };
        return doubt(Code::LikeAUnit, help.to_owned());
    }
    let number = u32::try_from(threshold.micros() / Amount::ONE.micros())
        .ok()
        .filter(|number| Amount::from(*number) == threshold);
    if let Some(meant) = number.and_then(|number| time(number, &name.key)) {
        return doubt(Code::LikeAUnit, format!("for a time write `{meant}`"));
    }
    // `90 days of trips`; `3 day trips` are trips.
    let (first, rest) = low.split_once(' ').unwrap_or((&low, ""));
    if !rest.is_empty() && first.ends_with('s') && unit_of(first).is_some() {
        return doubt(Code::LikeAUnit, format!("write only the `{first}`, or only what is counted"));
    }
    if let (Some(times), Some(number)) = (number_of(first).filter(|times| *times >= 12), number)
        && matches!(first, "dozen" | "hundred" | "thousand" | "million")
    {
        let all = u64::from(times) * u64::from(number);
        return doubt(Code::LikeThousands, format!("write `{all} {rest}`"));
    }
    if let Some(unit) = like_a_unit(&low) {
        return doubt(Code::LikeAUnit, format!("did you mean `{unit}`?"));
    }
    around_condition(name)
}

/// A day, a month or a season that was meant as a date.
fn date(low: &str) -> Option<String> {
    // Spelled in full: shortened or misspelt, it is as likely something else.
    let full = |word: &str, meant: &str| word.trim_end_matches('s').eq_ignore_ascii_case(meant);
    let words: Vec<&str> = low.split(' ').collect();
    if let Some((word, day)) =
        words.iter().find_map(|word| Some((word, weekday_of(word).filter(|day| full(word, day))?)))
    {
        let rank = words.iter().find(|rank| ["first", "second", "third", "fourth", "last"].contains(rank));
        return Some(match rank.filter(|rank| *rank != word) {
            Some(rank) => format!("write `every month on the {rank} {day}` for the day"),
            None => format!("write `every week on {day}` for the day"),
        });
    }
    if let Some(month) = month_named(low).filter(|month| full(low, month)) {
        return Some(format!("write `every year on 1 {month}` for the date"));
    }
    let month = season(low.trim_end_matches('s'))?;
    Some(format!("for a date write one, such as `every year on 1 {month}`"))
}

/// `2 fortnights`, `48 hours`, `90 calendar days`, `every weekend`, `3 times a year` without the `a`: a time, in
/// words that are none of the language.
fn time(number: u32, key: &str) -> Option<String> {
    const KINDS: [&str; 7] =
        ["calendar ", "full ", "whole ", "consecutive ", "working ", "business ", "work "];
    let after = |length: String| format!("after {length}");
    if let Some(unit) =
        KINDS.iter().find_map(|kind| key.strip_prefix(kind)).filter(|rest| unit_of(rest).is_some())
    {
        return length(number, unit).map(after);
    }
    if let Some(unit) = key.strip_prefix("times per ").or_else(|| key.strip_prefix("time per ")) {
        return times_in(number, unit);
    }
    match key {
        "weekend" if number == 1 => Some("every week on Saturday".to_owned()),
        "night" | "evening" | "morning" | "weekday" if number == 1 => Some("every day".to_owned()),
        _ => length(number, key).map(after),
    }
}

/// `every 36 hours`, `every 30 minutes`: a clock time that is read as a use. `after 2,000 hours` counts hours.
pub(super) fn clock_time(written: &str, name: &Name) -> Option<Diagnostic> {
    let recurs = ["every ", "each "].iter().any(|word| written.to_lowercase().starts_with(word));
    if !recurs
        || !matches!(
            name.key.as_str(),
            "hour" | "minute" | "second" | "half day" | "half hour" | "hr" | "min"
        )
    {
        return None;
    }
    let message = format!("`{}` is read as the name of a use to count", name.text);
    let help = "the shortest length of time is a day, as in `every day`; hours that the log counts are written `after 36 hours`";
    Some(Diagnostic::doubt(Code::LikeAUnit, name.span, message).help(help))
}

/// `trip except in sand`, `trip with rain`: what is planned or waited after, with a condition that it does not take.
pub(super) fn around_event(name: &Name) -> Option<Diagnostic> {
    let diagnostic = around_condition(name)?;
    let words: Vec<&str> = name.text.split_whitespace().collect();
    let at = words.iter().skip(1).position(|word| AROUND.contains(&word.to_lowercase().as_str()))? + 1;
    let head = words.get(..at)?.join(" ");
    Some(diagnostic.help(format!("name the event alone: `{head}`")))
}

/// `lens changes without dust`, `trips except in sand`: conditions follow `in` and `not in`.
pub(super) fn around_condition(name: &Name) -> Option<Diagnostic> {
    let words: Vec<&str> = name.text.split_whitespace().collect();
    if let Some(rest) = words
        .first()
        .filter(|word| word.eq_ignore_ascii_case("times"))
        .map(|_| words.get(1..).unwrap_or(&[]).join(" "))
    {
        let message = format!("`{}` is read as the name of a use to count", name.text);
        let help = format!("leave `times` out, and name what is counted: `{rest}`");
        return Some(Diagnostic::doubt(Code::LikeACondition, name.span, message).help(help));
    }
    let at = words.iter().skip(1).position(|word| AROUND.contains(&word.to_lowercase().as_str()))? + 1;
    let (head, tail) = (words.get(..at)?.join(" "), words.get(at + 1..)?.join(" "));
    let said = words.get(at..)?.join(" ");
    let message = format!("`{said}` is read as part of the name `{}`", name.text);
    let help = match (words.get(at)?.to_lowercase().as_str(), tail.is_empty()) {
        ("without" | "except" | "outside", false) => format!("write `{head} not in {tail}`"),
        ("with" | "during" | "under" | "amid" | "while", false) => format!("write `{head} in {tail}`"),
        ("except", true) => format!("write `{head} not in …`"),
        _ => format!("leave it out: `{head}`; conditions follow `in` or `not in`"),
    };
    Some(Diagnostic::doubt(Code::LikeACondition, name.span, message).help(help))
}

/// The inspection of a finding: `either inspect sensor`.
pub(super) fn inspection(task: &Name) -> Option<Diagnostic> {
    let (first, rest) = task.text.split_once(' ')?;
    first.eq_ignore_ascii_case("either").then(|| {
        let message = format!("`{first}` is read as part of the name `{}`", task.text);
        Diagnostic::doubt(Code::LikeASentence, task.span, message)
            .help(format!("leave it out: `when {rest}`"))
    })
}

/// What is found: `no dust`, `oil or clean sensor leaves dust`.
pub(super) fn finding(name: &Name) -> Option<Diagnostic> {
    let doubt = |help: String| {
        let message = format!("`{}` is read as the name of a finding", name.text);
        Some(Diagnostic::doubt(Code::LikeASentence, name.span, message).help(help))
    };
    let words: Vec<&str> = name.key.split(' ').collect();
    // A name follows a verb.
    let verbs = words.iter().take(words.len() - 1);
    if let Some(verb) = verbs.into_iter().position(|word| matches!(*word, "finds" | "leaves")) {
        return match verb {
            0 => doubt("name the findings alone, with `or` between them; a task whose name contains `finds` or `leaves` is written in quotes".to_owned()),
            _ => doubt(format!("begin the next part with `when`: `or when {}`", name.text)),
        };
    }
    match (words.first().copied(), words.len()) {
        (Some("nothing" | "none"), 1) | (Some("no"), _) => {
            doubt("a rule waits for what was found; for what was not, let another task be done".to_owned())
        }
        (Some("some" | "more" | "ever" | "much"), 2..) => {
            doubt(format!("write `{}`", words.get(1..)?.join(" ")))
        }
        _ => None,
    }
}

/// What is to be done: `then inspect sensor`, `from October to March`.
pub(super) fn task(name: &Name) -> Option<Diagnostic> {
    let (first, rest) = name.text.split_once(' ')?;
    let begins =
        ["from", "until", "till", "between", "during", "within", "whenever", "once", "since", "while"];
    if begins.contains(&first.to_lowercase().as_str()) {
        let message = format!("`{}` is read as the name of the task", name.text);
        let help = "write what is to be done after the comma, as in `every 90 days, inspect sensor`";
        return Some(Diagnostic::doubt(Code::LikeASentence, name.span, message).help(help));
    }
    let stray = ["then", "please", "we", "you", "i", "must", "should", "always"];
    stray.contains(&first.to_lowercase().as_str()).then(|| {
        let message = format!("`{first}` is read as part of the name `{}`", name.text);
        Diagnostic::doubt(Code::LikeASentence, name.span, message)
            .help(format!("leave it out: `{rest}`"))
            .meant(rest)
    })
}

/// `a rangefinder is a kind of camera`
pub(super) fn broader(name: &Name) -> Option<Diagnostic> {
    let rest = ["kind of ", "type of ", "sort of "].iter().find_map(|words| name.key.strip_prefix(words))?;
    let message = format!("`{}` is read as the name of a kind", name.text);
    Some(
        Diagnostic::doubt(Code::LikeManyKinds, name.span, message)
            .help(format!("write `is a {rest}`"))
            .meant(rest),
    )
}
