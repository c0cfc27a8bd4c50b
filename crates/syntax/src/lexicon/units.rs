//! Units of time.

use crate::nearness::closest;
use crate::tree::Unit;

/// The unit a word is, in any case.
pub(crate) fn unit_of(text: &str) -> Option<Unit> {
    match text.to_ascii_lowercase().as_str() {
        "day" | "days" => Some(Unit::Day),
        "week" | "weeks" => Some(Unit::Week),
        "month" | "months" => Some(Unit::Month),
        "year" | "years" => Some(Unit::Year),
        _ => None,
    }
}

/// The unit of time that a word was probably meant to be.
pub(crate) fn meant_unit(word: &str) -> Option<&'static str> {
    match word {
        "d" | "dy" => Some("days"),
        "w" | "wk" | "wks" => Some("weeks"),
        "m" | "mo" | "mos" | "mth" | "mths" | "mnth" | "mnths" => Some("months"),
        "y" | "yr" | "yrs" => Some("years"),
        _ => closest(word, ["days", "weeks", "months", "years", "day", "week", "month", "year"]),
    }
}

/// Whether a word may be a unit of time that is misspelt.
pub(crate) fn like_a_unit(word: &str) -> Option<&'static str> {
    meant_unit(word).filter(|_| unit_of(word).is_none())
}

/// `minutes` or `hours`, where a word was probably meant to be one of them.
pub(crate) fn clock_unit_meant(word: &str) -> Option<&'static str> {
    match word {
        "minute" | "minutes" | "hour" | "hours" => None,
        "min" | "mins" | "m" => Some("minutes"),
        "h" | "hr" | "hrs" => Some("hours"),
        _ => closest(word, ["minutes", "hours", "minute", "hour"]),
    }
}
