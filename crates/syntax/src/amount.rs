//! Exact decimals: numbers of rules, amounts and readings of the log.

use std::fmt;
use std::str::FromStr;

/// An exact decimal with up to 6 fraction digits and up to 12 digits before the point.
///
/// ```
/// use kitlore_syntax::Amount;
/// let shots: Amount = "200,000".parse().unwrap();
/// assert_eq!(shots, Amount::from(200_000));
/// assert_eq!("0.50".parse::<Amount>().unwrap().to_string(), "0.5");
/// assert!("1,5".parse::<Amount>().is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Amount(i64);

/// Why a text is not a number of the language.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AmountError {
    /// Not digits, grouped in threes if at all, with an optional fraction.
    #[error("is not a number such as `12`, `200,000` or `0.5`")]
    Malformed,
    /// Commas that do not group in threes.
    #[error("has a comma that does not group digits in threes; a fraction is written with a point")]
    Grouping,
    /// More than 6 fraction digits.
    #[error("has more than 6 digits after the point")]
    TooFine,
    /// More than 12 digits before the point.
    #[error("has more than 12 digits before the point")]
    TooLarge,
}

impl Amount {
    /// Nothing.
    pub const ZERO: Amount = Amount(0);
    /// One, the amount of an entry that states none.
    pub const ONE: Amount = Amount(1_000_000);

    /// From millionths.
    pub const fn from_micros(micros: i64) -> Self {
        Self(micros)
    }

    /// In millionths.
    pub const fn micros(self) -> i64 {
        self.0
    }

    /// Reads a number of the language; a leading `-` is allowed only here, for readings and attributes.
    ///
    /// # Errors
    /// As [`Amount::from_str`].
    pub fn parse_signed(text: &str) -> Result<Self, AmountError> {
        match text.strip_prefix(['-', '−']) {
            Some(rest) => rest.parse::<Amount>().map(|a| Amount(-a.0)),
            None => text.parse(),
        }
    }
}

impl From<u32> for Amount {
    fn from(whole: u32) -> Self {
        Self(i64::from(whole) * 1_000_000)
    }
}

impl FromStr for Amount {
    type Err = AmountError;

    fn from_str(text: &str) -> Result<Self, AmountError> {
        common(text.as_bytes()).map_or_else(|| Self::parse_any(text), Ok)
    }
}

impl Amount {
    /// The full parser: groups of digits, and what is wrong with a text that is not a number.
    fn parse_any(text: &str) -> Result<Self, AmountError> {
        let (whole, fraction) = match text.split_once('.') {
            Some((whole, fraction)) => (whole, Some(fraction)),
            None => (text, None),
        };
        let digits = |s: &str| !s.is_empty() && s.bytes().all(|b| b.is_ascii_digit());
        if fraction.is_some_and(|f| !digits(f)) {
            return Err(AmountError::Malformed);
        }
        let mut groups = whole.split(',');
        let first = groups.next().unwrap_or("");
        if !digits(first) {
            return Err(AmountError::Malformed);
        }
        let mut grouped = false;
        let mut plain = first.to_owned();
        for group in groups {
            if !digits(group) {
                return Err(AmountError::Malformed);
            }
            if group.len() != 3 {
                return Err(AmountError::Grouping);
            }
            grouped = true;
            plain.push_str(group);
        }
        if grouped && first.len() > 3 {
            return Err(AmountError::Grouping);
        }
        let plain = plain.trim_start_matches('0');
        if plain.len() > 12 {
            return Err(AmountError::TooLarge);
        }
        let fraction = fraction.unwrap_or("");
        if fraction.len() > 6 {
            return Err(AmountError::TooFine);
        }
        let number = |s: &str| s.bytes().fold(0_i64, |n, b| n * 10 + i64::from(b - b'0'));
        let scale = (fraction.len()..6).fold(1_i64, |n, _| n * 10);
        Ok(Self(number(plain) * 1_000_000 + number(fraction) * scale))
    }
}

/// What nearly every log holds, read in one go: up to 12 digits, and up to 6 after a point. `None` leaves
/// the text to the full parser.
fn common(text: &[u8]) -> Option<Amount> {
    let (mut number, mut digits, mut after_point) = (0_i64, 0, None);
    for byte in text {
        let digit = byte.wrapping_sub(b'0');
        if digit < 10 && digits < 18 {
            number = number * 10 + i64::from(digit);
            digits += 1;
        } else if *byte == b'.' && after_point.is_none() {
            after_point = Some(digits);
        } else {
            return None;
        }
    }
    let before = after_point.unwrap_or(digits);
    let scale = match (before, after_point.map(|before| digits - before)) {
        (1..=12, None) => 1_000_000,
        (1..=12, Some(1)) => 100_000,
        (1..=12, Some(2)) => 10_000,
        (1..=12, Some(3)) => 1_000,
        (1..=12, Some(4)) => 100,
        (1..=12, Some(5)) => 10,
        (1..=12, Some(6)) => 1,
        _ => return None,
    };
    Some(Amount(number * scale))
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let sign = if self.0 < 0 { "-" } else { "" };
        let micros = self.0.unsigned_abs();
        let (whole, fraction) = (micros / 1_000_000, micros % 1_000_000);
        if fraction == 0 {
            return write!(f, "{sign}{whole}");
        }
        let fraction = format!("{fraction:06}");
        write!(f, "{sign}{whole}.{}", fraction.trim_end_matches('0'))
    }
}

#[cfg(test)]
#[path = "amount_tests.rs"]
mod tests;
