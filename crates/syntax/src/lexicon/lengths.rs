//! Lengths of time as people say them: a fortnight, a quarter, twice a year.

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
pub(crate) fn units(number: u32, unit: &str) -> String {
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
pub(crate) fn adverb(word: &str) -> Option<String> {
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
