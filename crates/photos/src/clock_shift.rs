//! The correction of a clock and its zone, as people write them.

use chrono::TimeDelta;
use chrono_tz::Tz;

/// The time zone of an IANA name.
///
/// # Errors
/// No zone has that name.
///
/// ```
/// assert_eq!(kitlore_photos::zone("Europe/Lisbon")?.name(), "Europe/Lisbon");
/// assert!(kitlore_photos::zone("Lisbon").is_err());
/// # Ok::<(), kitlore_photos::ZoneError>(())
/// ```
pub fn zone(name: &str) -> Result<Tz, ZoneError> {
    name.trim().parse().map_err(|_| ZoneError(name.to_owned()))
}

/// No such time zone.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("`{0}` is not a time zone; write one such as `Europe/Lisbon`")]
pub struct ZoneError(String);

/// A text that is no correction of a clock.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error(
    "`{0}` is not of the form `+1h`, `-30m` or `+1d2h`; units are d, h, m and s; the sign says whether the clock was slow (+) or fast (-)"
)]
pub struct ShiftError(String);

/// Reads `+1h`, `-1h30m`, `+2d`, `-40s`: the time to add to that of the pictures.
///
/// # Errors
/// The text has another form, or is longer than ten thousand days.
///
/// ```
/// use chrono::TimeDelta;
/// assert_eq!(kitlore_photos::parse_shift("-1h30m")?, TimeDelta::minutes(-90));
/// assert!(kitlore_photos::parse_shift("1 hour").is_err());
/// # Ok::<(), kitlore_photos::ShiftError>(())
/// ```
pub fn parse_shift(text: &str) -> Result<TimeDelta, ShiftError> {
    let wrong = || ShiftError(text.to_owned());
    let (sign, mut rest) = match text.trim().split_at_checked(1) {
        Some(("+", rest)) => (1, rest),
        Some(("-", rest)) => (-1, rest),
        _ => return Err(wrong()),
    };
    let mut seconds: i64 = 0;
    while !rest.is_empty() {
        let digits = rest.find(|c: char| !c.is_ascii_digit()).ok_or_else(wrong)?;
        let (number, after) = rest.split_at_checked(digits).ok_or_else(wrong)?;
        let number: i64 = number.parse().ok().filter(|number| *number < 1_000_000_000).ok_or_else(wrong)?;
        let (unit, after) = after.split_at_checked(1).ok_or_else(wrong)?;
        let unit = match unit {
            "d" => 86_400,
            "h" => 3_600,
            "m" => 60,
            "s" => 1,
            _ => return Err(wrong()),
        };
        seconds = seconds.saturating_add(number.saturating_mul(unit));
        rest = after;
    }
    match seconds {
        1..=864_000_000 => Ok(TimeDelta::seconds(sign * seconds)),
        _ => Err(wrong()),
    }
}
