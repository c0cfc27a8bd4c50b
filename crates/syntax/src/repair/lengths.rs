//! Lengths of time as people say them and the language does not: a fortnight, a year and a half, twice a year.

use super::tokens::Tokens;
use crate::lexicon::{in_words, length, times_in, unit_of, units};
use crate::name::key;

/// A number in figures or words from a place on, and the place after it.
fn number(p: &Tokens<'_>, at: usize) -> Option<(u32, usize)> {
    if p.is_figure(at) {
        return Some((p.raw(at).parse().ok()?, at + 1));
    }
    let (number, count) = in_words((at..p.len()).map(|i| p.low(i)))?;
    Some((number, at + count))
}

/// `twice a year`, `3 times per month`, `once a quarter` from a place on: the trigger that says it, and the place
/// after it.
pub(super) fn times_a(p: &Tokens<'_>, from: usize) -> Option<(String, usize)> {
    let (times, at) = match p.low(from) {
        "once" => (1, from + 1),
        "twice" => (2, from + 1),
        _ => number(p, from).filter(|(_, at)| p.low(*at) == "times").map(|(times, at)| (times, at + 1))?,
    };
    let unit = at + usize::from(matches!(p.low(at), "a" | "an" | "per" | "each" | "every"));
    Some((times_in(times, p.low(unit))?, unit + 1))
}

/// `a year and a half`, `one and a half years`, `half a year`, `a fortnight` from a place on: how it is written, and
/// the place after it.
pub(super) fn said(p: &Tokens<'_>, from: usize) -> Option<(String, usize)> {
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
pub(super) fn ahead(p: &Tokens<'_>) -> Option<(String, usize)> {
    up_to(p, "before")
}

/// `a year after`, `two weeks after`: as [`ahead`].
pub(super) fn behind(p: &Tokens<'_>) -> Option<(String, usize)> {
    up_to(p, "after")
}

fn up_to(p: &Tokens<'_>, word: &str) -> Option<(String, usize)> {
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
