//! Days of the week and months by name.

use crate::nearness::closest;

/// The weekday that a word names, also shortened, in the plural or misspelt.
pub(crate) fn weekday_of(word: &str) -> Option<&'static str> {
    const DAYS: [&str; 7] = ["Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"];
    let plain = word.strip_suffix('s').filter(|w| w.ends_with("day")).unwrap_or(word);
    named(plain, &DAYS)
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
    named(word, &MONTHS)
}

/// The name that a word is, begins with three letters or more, or misspells.
fn named(word: &str, names: &[&'static str]) -> Option<&'static str> {
    let letters = word.chars().count();
    let begun = names.iter().find(|name| letters >= 3 && name.to_lowercase().starts_with(word)).copied();
    begun.or_else(|| closest(word, names.iter().copied()).filter(|_| letters >= 4))
}

/// The month of its English name, 1 to 12.
pub(crate) fn month_of(text: &str) -> Option<u32> {
    text.parse::<chrono::Month>().ok().map(|m| m.number_from_month())
}
