//! Conditions of the log that follow from what a body measured, by limits that the user sets.

use crate::exif::Measured;
use kitlore_syntax::{Amount, key};
use std::str::FromStr;

/// A condition that holds where a measured value passes a limit, such as `cold: temperature below 0`.
///
/// ```
/// use kitlore_photos::MeasuredCondition;
/// let cold: MeasuredCondition = "cold: temperature below 0".parse()?;
/// assert_eq!(cold.name(), "cold");
/// assert!("cold: wind above 10".parse::<MeasuredCondition>().is_err());
/// # Ok::<(), kitlore_photos::MeasuredConditionError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MeasuredCondition {
    name: String,
    quantity: Quantity,
    comparison: Comparison,
    limit: Amount,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Quantity {
    Temperature,
    Humidity,
    Pressure,
    Depth,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Comparison {
    Below,
    Above,
    AtLeast,
    AtMost,
}

/// Why a text is no [`MeasuredCondition`].
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum MeasuredConditionError {
    /// It has another form.
    #[error("`{0}` is not of the form `cold: temperature below 0`")]
    Form(String),
    /// Pictures carry no such value.
    #[error("pictures carry no `{0}`; they may carry `temperature`, `humidity`, `pressure` and `depth`")]
    Quantity(String),
    /// The limit is not a number.
    #[error("`{0}` is not a number such as `0`, `-5` or `35.5`")]
    Limit(String),
}

impl FromStr for MeasuredCondition {
    type Err = MeasuredConditionError;

    fn from_str(text: &str) -> Result<Self, MeasuredConditionError> {
        let form = || MeasuredConditionError::Form(text.to_owned());
        let (name, rest) = text.split_once(':').ok_or_else(form)?;
        let rest = key(rest.trim());
        let (quantity, rest) = rest.split_once(' ').ok_or_else(form)?;
        let quantity = match quantity {
            "temperature" => Quantity::Temperature,
            "humidity" => Quantity::Humidity,
            "pressure" => Quantity::Pressure,
            "depth" => Quantity::Depth,
            other => return Err(MeasuredConditionError::Quantity(other.to_owned())),
        };
        let rest = rest.strip_prefix("is ").unwrap_or(rest);
        let words = [
            ("below ", Comparison::Below),
            ("above ", Comparison::Above),
            ("at least ", Comparison::AtLeast),
            ("at most ", Comparison::AtMost),
        ];
        let found = words.iter().find_map(|(word, comparison)| Some((rest.strip_prefix(word)?, *comparison)));
        let (_, comparison) = found.ok_or_else(form)?;
        // From the text as written: `key` drops the sign.
        let number = text.split_whitespace().next_back().unwrap_or_default();
        let limit =
            Amount::parse_signed(number).map_err(|_| MeasuredConditionError::Limit(number.to_owned()))?;
        let name = name.trim().to_owned();
        if name.is_empty() || name.contains(';') {
            return Err(form());
        }
        Ok(Self { name, quantity, comparison, limit })
    }
}

impl MeasuredCondition {
    /// The condition's name.
    pub fn name(&self) -> &str {
        &self.name
    }

    fn holds(&self, measured: &Measured) -> bool {
        let value = match self.quantity {
            Quantity::Temperature => measured.temperature,
            Quantity::Humidity => measured.humidity,
            Quantity::Pressure => measured.pressure,
            Quantity::Depth => measured.depth,
        };
        value.is_some_and(|value| match self.comparison {
            Comparison::Below => value < self.limit,
            Comparison::Above => value > self.limit,
            Comparison::AtLeast => value >= self.limit,
            Comparison::AtMost => value <= self.limit,
        })
    }
}

/// The conditions that hold, as a set of positions in the list; the first 64 count.
pub(crate) fn holding(conditions: &[MeasuredCondition], measured: &Measured) -> u64 {
    let hold =
        |(at, condition): (u32, &MeasuredCondition)| if condition.holds(measured) { 1_u64 << at } else { 0 };
    (0..64).zip(conditions).map(hold).fold(0, |set, one| set | one)
}

/// The names of a set of [`holding`].
pub(crate) fn names(conditions: &[MeasuredCondition], set: u64) -> Vec<&str> {
    let mut names: Vec<&str> = Vec::new();
    for (_, condition) in (0..64_u32).zip(conditions).filter(|(at, _)| set >> at & 1 == 1) {
        if !names.iter().any(|name| key(name) == key(&condition.name)) {
            names.push(&condition.name);
        }
    }
    names
}
