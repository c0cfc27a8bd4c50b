//! From what a body measured to the conditions of the log, by limits that the user sets.

use crate::metadata::Measured;
use kitlore_syntax::{Amount, key};
use std::str::FromStr;

/// A condition that holds where a measured value passes a limit, such as `cold: temperature below 0`.
///
/// ```
/// use kitlore_photos::Mark;
/// let mark: Mark = "cold: temperature below 0".parse()?;
/// assert_eq!(mark.condition(), "cold");
/// assert!("cold: wind above 10".parse::<Mark>().is_err());
/// # Ok::<(), kitlore_photos::MarkError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mark {
    condition: String,
    what: What,
    compare: Compare,
    limit: Amount,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum What {
    Temperature,
    Humidity,
    Pressure,
    Depth,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Compare {
    Below,
    Above,
    AtLeast,
    AtMost,
}

/// Why a text is no [`Mark`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MarkError {
    /// Not of the form.
    #[error("`{0}` is not of the form `cold: temperature below 0`")]
    Form(String),
    /// Nothing that pictures carry.
    #[error("pictures carry no `{0}`; they may carry `temperature`, `humidity`, `pressure` and `depth`")]
    What(String),
    /// No number.
    #[error("`{0}` is not a number such as `0`, `-5` or `35.5`")]
    Limit(String),
}

impl FromStr for Mark {
    type Err = MarkError;

    fn from_str(text: &str) -> Result<Self, MarkError> {
        let form = || MarkError::Form(text.to_owned());
        let (condition, rest) = text.split_once(':').ok_or_else(form)?;
        let rest = key(rest.trim());
        let (what, rest) = rest.split_once(' ').ok_or_else(form)?;
        let what = match what {
            "temperature" => What::Temperature,
            "humidity" => What::Humidity,
            "pressure" => What::Pressure,
            "depth" => What::Depth,
            other => return Err(MarkError::What(other.to_owned())),
        };
        let rest = rest.strip_prefix("is ").unwrap_or(rest);
        let words = [
            ("below ", Compare::Below),
            ("above ", Compare::Above),
            ("at least ", Compare::AtLeast),
            ("at most ", Compare::AtMost),
        ];
        let found = words.iter().find_map(|(word, compare)| Some((rest.strip_prefix(word)?, *compare)));
        let (_, compare) = found.ok_or_else(form)?;
        // From the text as written: a key has no sign.
        let number = text.split_whitespace().next_back().unwrap_or_default();
        let limit = Amount::parse_signed(number).map_err(|_| MarkError::Limit(number.to_owned()))?;
        let condition = condition.trim().to_owned();
        if condition.is_empty() || condition.contains(';') {
            return Err(form());
        }
        Ok(Self { condition, what, compare, limit })
    }
}

impl Mark {
    /// The condition's name.
    pub fn condition(&self) -> &str {
        &self.condition
    }

    fn holds(&self, measured: &Measured) -> bool {
        let value = match self.what {
            What::Temperature => measured.temperature,
            What::Humidity => measured.humidity,
            What::Pressure => measured.pressure,
            What::Depth => measured.depth,
        };
        value.is_some_and(|value| match self.compare {
            Compare::Below => value < self.limit,
            Compare::Above => value > self.limit,
            Compare::AtLeast => value >= self.limit,
            Compare::AtMost => value <= self.limit,
        })
    }
}

/// The conditions that hold, as a set of positions in the list of marks; there are at most 64.
pub(crate) fn holding(marks: &[Mark], measured: &Measured) -> u64 {
    let hold = |(at, mark): (u32, &Mark)| if mark.holds(measured) { 1_u64 << at } else { 0 };
    (0..64).zip(marks).map(hold).fold(0, |set, one| set | one)
}

/// The names of a set of [`holding`].
pub(crate) fn names(marks: &[Mark], set: u64) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for (_, mark) in (0..64_u32).zip(marks).filter(|(at, _)| set >> at & 1 == 1) {
        if !names.iter().any(|name| key(name) == key(&mark.condition)) {
            names.push(&mark.condition);
        }
    }
    names
}
