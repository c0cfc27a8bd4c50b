//! Expected use as people write it: `lens change 15; frames 800`, a day.

use crate::trip_answer::DailyUse;
use kitlore_engine::Amount;

/// A part of an expectation that cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{part}` says no use a day; write an event and a number, such as `lens change 15; frames 800`")]
pub struct ExpectError {
    /// The part.
    pub part: String,
}

/// Reads expected use: events with a number each, a day, joined by `;`. An event alone is 1 a day.
///
/// # Errors
/// The part that names no event, or a negative or unreadable number.
///
/// ```
/// let uses = kitlore_planning::read_expect("lens change 15; frames 1,800").unwrap();
/// assert_eq!((uses[0].event.as_str(), uses[1].a_day.to_string().as_str()), ("lens change", "1800"));
/// assert!(kitlore_planning::read_expect("15").is_err());
/// ```
pub fn read_expect(text: &str) -> Result<Vec<DailyUse>, ExpectError> {
    let parts = text.split(';').map(str::trim).filter(|part| !part.is_empty());
    parts.map(|part| read_part(part).ok_or_else(|| ExpectError { part: part.to_owned() })).collect()
}

fn read_part(part: &str) -> Option<DailyUse> {
    let (event, number) = match part.rsplit_once(char::is_whitespace) {
        Some((event, number)) if number.starts_with(|c: char| c.is_ascii_digit()) => {
            (event.trim(), number.parse().ok()?)
        }
        _ => (part, Amount::ONE),
    };
    event.starts_with(char::is_alphabetic).then(|| DailyUse { event: event.to_owned(), a_day: number })
}
