//! Lengths of time as people say them and the language does not: a fortnight, a year and a half, twice a year.

use super::Pieces;
use super::counting::in_words;
use crate::lower::unit_of;
use crate::name::key;

/// What one of each is in the language.
const LENGTHS: [(&str, u32, &str); 9] = [
    ("day", 1, "day"),
    ("week", 1, "week"),
    ("fortnight", 2, "week"),
    ("month", 1, "month"),
    ("quarter", 3, "month"),
    ("half year", 6, "month"),
    ("semester", 6, "month"),
    ("year", 1, "year"),
    ("decade", 10, "year"),
];

/// A number of the language's units.
fn units(number: u32, unit: &str) -> String {
    format!("{number} {unit}{}", if number == 1 { "" } else { "s" })
}

/// So many of a length of time in the language's units: 2 `fortnights` are `4 weeks`, 48 `hours` are `2 days`.
pub(crate) fn length(number: u32, word: &str) -> Option<String> {
    const A_DAY: u32 = 24;
    let word = key(word);
    if word == "hour" {
        return number.is_multiple_of(A_DAY).then(|| units(number / A_DAY, "day"));
    }
    let (_, each, unit) = LENGTHS.iter().find(|(length, ..)| *length == word)?;
    Some(units(number.checked_mul(*each)?, unit))
}

/// `every week`, `every 3 months`.
fn every(number: u32, word: &str) -> Option<String> {
    let length = length(number, word)?;
    Some(format!("every {}", length.strip_prefix("1 ").unwrap_or(&length)))
}

/// A month in which a season may begin.
pub(crate) fn season(word: &str) -> Option<&'static str> {
    match word {
        "spring" => Some("March"),
        "summer" => Some("June"),
        "autumn" => Some("September"),
        "winter" => Some("December"),
        _ => None,
    }
}

/// `daily`, `quarterly`.
pub(super) fn adverb(word: &str) -> Option<String> {
    let unit = match word {
        "daily" | "nightly" => "day",
        "weekly" => "week",
        "fortnightly" => "fortnight",
        "monthly" => "month",
        "quarterly" => "quarter",
        "half-yearly" => "half year",
        "yearly" | "annually" => "year",
        _ => return None,
    };
    every(1, unit)
}

/// A number in figures or words from a place on, and the place after it.
fn number(p: &Pieces<'_>, at: usize) -> Option<(u32, usize)> {
    if p.is_figure(at) {
        return Some((p.raw(at).parse().ok()?, at + 1));
    }
    let (number, count) = in_words((at..p.len()).map(|i| p.low(i)))?;
    Some((number, at + count))
}

/// `twice a year`, `3 times per month`, `once a quarter` from a place on: the trigger that says it, and the place
/// after it.
pub(super) fn times_a(p: &Pieces<'_>, from: usize) -> Option<(String, usize)> {
    let (times, at) = match p.low(from) {
        "once" => (1, from + 1),
        "twice" => (2, from + 1),
        _ => number(p, from).filter(|(_, at)| p.low(*at) == "times").map(|(times, at)| (times, at + 1))?,
    };
    let unit = at + usize::from(matches!(p.low(at), "a" | "an" | "per" | "each" | "every"));
    Some((times_in(times, p.low(unit))?, unit + 1))
}

/// So many times in a length of time: the trigger that says it.
pub(crate) fn times_in(times: u32, unit: &str) -> Option<String> {
    match (times, key(unit).as_str()) {
        (0, _) => None,
        (1, word) => every(1, word),
        (2, "week") => Some("every week on Monday or every week on Thursday".to_owned()),
        (2, "month") => Some("every month on day 1 or every month on day 15".to_owned()),
        (_, "year") if 12 % times == 0 => every(12 / times, "month"),
        (_, word) => {
            let days = match word {
                "week" => 7,
                "month" => 30,
                "year" => 365,
                _ => 0,
            };
            Some(days / times).filter(|days| *days > 0).and_then(|days| every(days, "day"))
        }
    }
}

/// `a year and a half`, `one and a half years`, `half a year`, `a fortnight` from a place on: how it is written, and
/// the place after it.
pub(super) fn said(p: &Pieces<'_>, from: usize) -> Option<(String, usize)> {
    // What half of each is, in a smaller unit.
    let half = |unit: &str, whole: u32| match unit {
        "year" => Some(units(whole.checked_mul(12)?.checked_add(6)?, "month")),
        "month" => Some(units(whole.checked_mul(30)?.checked_add(15)?, "day")),
        _ => None,
    };
    if p.low(from) == "half" && matches!(p.low(from + 1), "a" | "an") {
        return Some((half(&key(p.low(from + 2)), 0)?, from + 3));
    }
    let article = matches!(p.low(from), "a" | "an");
    let (number, at) = if article { (1, from + 1) } else { number(p, from)? };
    if article && p.low(at) == "half" {
        return Some((half(&key(p.low(at + 1)), 0)?, at + 2));
    }
    if p.stand(at, &["and", "a", "half"]) {
        return Some((half(&key(p.low(at + 3)), number)?, at + 4));
    }
    if p.stand(at + 1, &["and", "a", "half"]) {
        return Some((half(&key(p.low(at)), number)?, at + 4));
    }
    let word = p.low(at);
    if unit_of(word).is_some() {
        return None;
    }
    Some((length(number, word)?, at + 1))
}

/// `the day before`, `a week before`, `24 hours before`, `the evening before`: the length of time that begins the
/// line, and the place of `before`.
pub(super) fn ahead(p: &Pieces<'_>) -> Option<(String, usize)> {
    up_to(p, "before")
}

/// `a year after`, `two weeks after`: as [`ahead`].
pub(super) fn behind(p: &Pieces<'_>) -> Option<(String, usize)> {
    up_to(p, "after")
}

fn up_to(p: &Pieces<'_>, word: &str) -> Option<(String, usize)> {
    let end = p.find(word)?;
    let unit = end.checked_sub(1)?;
    let number = match unit {
        0 => 1,
        _ if matches!(p.low(0), "the" | "a" | "an") && unit == 1 => 1,
        _ => number(p, 0).filter(|(_, at)| *at == unit)?.0,
    };
    let length = match key(p.low(unit)).as_str() {
        "night" | "evening" | "afternoon" | "morning" if number == 1 => units(1, "day"),
        "hour" => units(number.div_ceil(24).max(1), "day"),
        word => length(number, word)?,
    };
    Some((length, end))
}
