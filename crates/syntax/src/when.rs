//! Points in time as people write them: a date, a local date-time, a date-time with an offset.

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime};
use std::fmt;

/// A time as written, before a time zone gives it an instant.
///
/// ```
/// use kitlore_syntax::When;
/// assert!(matches!(When::parse("2026-02-08"), Ok(When::Date(_))));
/// assert!(matches!(When::parse("2026-02-08T15:30"), Ok(When::Local(_))));
/// assert!(matches!(When::parse("2026-02-08T15:30:00Z"), Ok(When::Instant(_))));
/// assert!(When::parse("31 February").is_err());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum When {
    /// A date alone.
    Date(NaiveDate),
    /// A clock time in the house's zone.
    Local(NaiveDateTime),
    /// A clock time with its offset.
    Instant(DateTime<FixedOffset>),
}

/// Why a text is not a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum WhenError {
    /// Neither a date nor a date-time.
    #[error("is not a date such as `2026-03-01` or a date-time such as `2026-03-01T14:30:00+01:00`")]
    Malformed,
    /// Written as a date, but no calendar has it.
    #[error("is a date that does not exist")]
    NoSuchDate,
    /// Written as a time, but no clock shows it.
    #[error("has a clock time that does not exist")]
    NoSuchTime,
}

impl When {
    /// Reads `YYYY-MM-DD`, optionally followed by `T` (or a space) and `HH:MM[:SS[.fraction]]` and
    /// `Z` or `±HH:MM` (RFC 3339; the seconds may be left out). Years are 0001 to 9999.
    ///
    /// # Errors
    /// Says whether the form or the date or the clock time is wrong.
    pub fn parse(text: &str) -> Result<Self, WhenError> {
        common(text.as_bytes()).map_or_else(|| Self::parse_any(text), Ok)
    }

    /// The full parser: every form, and what is wrong with a text that has none.
    fn parse_any(text: &str) -> Result<Self, WhenError> {
        let Some((date_text, rest)) = text.split_at_checked(10) else {
            return Err(WhenError::Malformed);
        };
        let date = parse_date(date_text)?;
        if rest.is_empty() {
            return Ok(When::Date(date));
        }
        let Some(clock) = rest.strip_prefix(['T', 't', ' ']) else {
            return Err(WhenError::Malformed);
        };
        let (time_text, offset) = split_offset(clock)?;
        let local = date.and_time(parse_time(time_text)?);
        match offset {
            None => Ok(When::Local(local)),
            Some(offset) => local
                .and_local_timezone(offset)
                .single()
                .filter(|t| in_range(t.naive_utc().date()))
                .map(When::Instant)
                .ok_or(WhenError::NoSuchDate),
        }
    }
}

/// The forms that nearly every log is written in, read in one go: a date alone, or with `T` or a space
/// `HH:MM` or `HH:MM:SS` and nothing or `Z` after it. `None` leaves the text to the full parser.
fn common(text: &[u8]) -> Option<When> {
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2, clock @ ..] = text else { return None };
    let year = i32::try_from(two(*y1, *y2)? * 100 + two(*y3, *y4)?).ok()?;
    let date = NaiveDate::from_ymd_opt(year, two(*m1, *m2)?, two(*d1, *d2)?).filter(|_| year > 0)?;
    let (hour, minute, rest) = match clock {
        [] => return Some(When::Date(date)),
        [b'T' | b' ', h1, h2, b':', m1, m2, rest @ ..] => (two(*h1, *h2)?, two(*m1, *m2)?, rest),
        _ => return None,
    };
    let (second, offset) = match rest {
        [b':', s1, s2, offset @ ..] => (two(*s1, *s2)?, offset),
        offset => (0, offset),
    };
    let local = date.and_hms_opt(hour, minute, second)?;
    match offset {
        [] => Some(When::Local(local)),
        [b'Z'] => Some(When::Instant(local.and_utc().fixed_offset())),
        _ => None,
    }
}

/// Two digits as a number.
#[inline]
fn two(tens: u8, ones: u8) -> Option<u32> {
    let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
    (tens < 10 && ones < 10).then(|| u32::from(tens) * 10 + u32::from(ones))
}

/// Whether a date is in the years 0001 to 9999.
pub fn in_range(date: NaiveDate) -> bool {
    (1..=9999).contains(&date.year())
}

/// Reads `YYYY-MM-DD`.
///
/// # Errors
/// [`WhenError::Malformed`] or [`WhenError::NoSuchDate`].
pub fn parse_date(text: &str) -> Result<NaiveDate, WhenError> {
    let mut parts = text.split('-');
    let (Some(year), Some(month), Some(day), None) = (parts.next(), parts.next(), parts.next(), parts.next())
    else {
        return Err(WhenError::Malformed);
    };
    let (year, month, day) = (digits(year, 4)?, digits(month, 2)?, digits(day, 2)?);
    i32::try_from(year)
        .ok()
        .and_then(|year| NaiveDate::from_ymd_opt(year, month, day))
        .filter(|date| in_range(*date))
        .ok_or(WhenError::NoSuchDate)
}

/// Exactly `count` ASCII digits as a number.
fn digits(text: &str, count: usize) -> Result<u32, WhenError> {
    if text.len() != count || !text.bytes().all(|b| b.is_ascii_digit()) {
        return Err(WhenError::Malformed);
    }
    text.parse().map_err(|_| WhenError::Malformed)
}

fn split_offset(clock: &str) -> Result<(&str, Option<FixedOffset>), WhenError> {
    if let Some(time) = clock.strip_suffix(['Z', 'z']) {
        return Ok((time, FixedOffset::east_opt(0)));
    }
    let Some(at) = clock.rfind(['+', '-']) else {
        return Ok((clock, None));
    };
    let (time, offset) = clock.split_at(at);
    let (sign, hhmm) = offset.split_at(1);
    let Some((hours, minutes)) = hhmm.split_once(':') else {
        return Err(WhenError::Malformed);
    };
    let (hours, minutes) = (digits(hours, 2)?, digits(minutes, 2)?);
    if hours > 23 || minutes > 59 {
        return Err(WhenError::NoSuchTime);
    }
    let seconds = i32::try_from(hours * 3600 + minutes * 60).map_err(|_| WhenError::NoSuchTime)?;
    let seconds = if sign == "-" { -seconds } else { seconds };
    Ok((time, FixedOffset::east_opt(seconds)))
}

fn parse_time(text: &str) -> Result<NaiveTime, WhenError> {
    let mut parts = text.splitn(3, ':');
    let (Some(hour), Some(minute)) = (parts.next(), parts.next()) else {
        return Err(WhenError::Malformed);
    };
    let (second, nanos) = match parts.next() {
        None => (0, 0),
        Some(seconds) => match seconds.split_once('.') {
            None => (digits(seconds, 2)?, 0),
            Some((whole, fraction)) => (digits(whole, 2)?, parse_nanos(fraction)?),
        },
    };
    let (hour, minute) = (digits(hour, 2)?, digits(minute, 2)?);
    // A leap second is the last instant of its minute here: no log distinguishes the two.
    let (second, nanos) = if second == 60 { (59, 999_999_999) } else { (second, nanos) };
    NaiveTime::from_hms_nano_opt(hour, minute, second, nanos).ok_or(WhenError::NoSuchTime)
}

/// A decimal fraction of a second in nanoseconds; what is finer is cut off.
fn parse_nanos(fraction: &str) -> Result<u32, WhenError> {
    if fraction.is_empty() || !fraction.bytes().all(|b| b.is_ascii_digit()) {
        return Err(WhenError::Malformed);
    }
    Ok(fraction.bytes().chain(std::iter::repeat(b'0')).take(9).fold(0, |n, b| n * 10 + u32::from(b - b'0')))
}

impl fmt::Display for When {
    /// The form [`When::parse`] reads.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            When::Date(date) => write!(f, "{date}"),
            // Its Display has a space for the T.
            When::Local(local) => write!(f, "{local:?}"),
            When::Instant(instant) => write!(f, "{}", instant.to_rfc3339()),
        }
    }
}

#[cfg(test)]
#[path = "when_tests.rs"]
mod tests;
