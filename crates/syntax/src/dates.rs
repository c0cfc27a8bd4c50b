//! Date arithmetic: calendar units added to a date and taken from it, within the years 0001 to 9999.

use crate::tree::{Duration, Unit};
use crate::when::in_range;
use chrono::{Datelike, Days, Months, NaiveDate};

/// 0001-01-01.
const FIRST_DATE: NaiveDate = match NaiveDate::from_ymd_opt(1, 1, 1) {
    Some(date) => date,
    None => NaiveDate::MIN,
};

/// A date and a duration after it; months and years keep the day, or take the month's last.
/// `None` past the year 9999.
///
/// ```
/// use chrono::NaiveDate;
/// use kitlore_syntax::{dates, tree::{Duration, Unit}};
/// let date = |month, day| NaiveDate::from_ymd_opt(2026, month, day).unwrap();
/// assert_eq!(dates::plus(date(1, 31), Duration { count: 1, unit: Unit::Month }), Some(date(2, 28)));
/// assert_eq!(dates::plus(date(1, 31), Duration { count: 8_000, unit: Unit::Year }), None);
/// ```
pub fn plus(date: NaiveDate, duration: Duration) -> Option<NaiveDate> {
    match duration.unit {
        Unit::Day => date.checked_add_days(Days::new(duration.count.into())),
        Unit::Week => date.checked_add_days(Days::new(u64::from(duration.count) * 7)),
        Unit::Month => date.checked_add_months(Months::new(duration.count)),
        Unit::Year => date.checked_add_months(Months::new(duration.count.checked_mul(12)?)),
    }
    // West of Greenwich the first hours of 0001 are in a local year before it.
    .filter(|date| date.year() <= 9999)
}

/// A date and a duration before it, by the same rule; not before the year 1.
///
/// ```
/// use chrono::NaiveDate;
/// use kitlore_syntax::{dates, tree::{Duration, Unit}};
/// let date = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap();
/// assert_eq!(dates::minus(date(2024, 2, 29), Duration { count: 1, unit: Unit::Year }), date(2023, 2, 28));
/// assert_eq!(dates::minus(date(2024, 2, 29), Duration { count: 3_000, unit: Unit::Year }), date(1, 1, 1));
/// ```
pub fn minus(date: NaiveDate, duration: Duration) -> NaiveDate {
    match duration.unit {
        Unit::Day => date.checked_sub_days(Days::new(duration.count.into())),
        Unit::Week => date.checked_sub_days(Days::new(u64::from(duration.count) * 7)),
        Unit::Month => date.checked_sub_months(Months::new(duration.count)),
        Unit::Year => date.checked_sub_months(Months::new(duration.count.saturating_mul(12))),
    }
    .filter(|date| in_range(*date))
    .unwrap_or(FIRST_DATE)
}
