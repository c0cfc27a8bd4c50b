//! Instants and local dates: what "00:00 of a date" and "its date" mean in a time zone.

use chrono::{DateTime, Datelike, FixedOffset, LocalResult, Months, NaiveDate, NaiveDateTime};
use chrono::{Offset, TimeZone, Utc};
use chrono_tz::Tz;
use kitlore_syntax::{When, in_range};

/// A point in time to the nanosecond.
///
/// ```
/// use kitlore_engine::Instant;
/// let t: Instant = chrono::DateTime::parse_from_rfc3339("2026-02-08T00:00:00Z").unwrap().into();
/// assert_eq!(t.utc().to_rfc3339(), "2026-02-08T00:00:00+00:00");
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Instant {
    /// Seconds since 1970-01-01T00:00:00Z.
    pub seconds: i64,
    /// Nanoseconds of that second, below 1,000,000,000.
    pub nanos: u32,
}

impl Instant {
    /// Before every instant of the language.
    pub(crate) const EARLIEST: Self = Self { seconds: i64::MIN, nanos: 0 };

    /// The same point as a date-time in UTC.
    pub fn utc(self) -> DateTime<Utc> {
        DateTime::from_timestamp(self.seconds, self.nanos).unwrap_or_default()
    }

    /// In ten-millionths of a second since 1970, which hold every year of the language, and what is finer,
    /// in nanoseconds.
    pub(crate) fn ticks(self) -> (i64, u8) {
        let fine = u8::try_from(self.nanos % 100).unwrap_or(0);
        (self.seconds.saturating_mul(TICKS).saturating_add(i64::from(self.nanos / 100)), fine)
    }

    pub(crate) fn from_ticks(ticks: i64, fine: u8) -> Self {
        let nanos = u32::try_from(ticks.rem_euclid(TICKS) * 100).unwrap_or(0) + u32::from(fine);
        Self { seconds: ticks.div_euclid(TICKS), nanos }
    }

    fn from_utc(naive: NaiveDateTime) -> Self {
        let at = naive.and_utc();
        Self { seconds: at.timestamp(), nanos: at.timestamp_subsec_nanos() }
    }

    /// One nanosecond earlier.
    fn before(self) -> Self {
        match self.nanos.checked_sub(1) {
            Some(nanos) => Self { nanos, ..self },
            None => Self { seconds: self.seconds.saturating_sub(1), nanos: 999_999_999 },
        }
    }

    fn plus_seconds(self, seconds: i64) -> Self {
        Self { seconds: self.seconds.saturating_add(seconds), ..self }
    }
}

/// 1970-01-01 as chrono counts days.
pub(crate) const FROM_COMMON_ERA: i32 = 719_163;

/// Ticks of a second.
pub(crate) const TICKS: i64 = 10_000_000;

impl<Z: TimeZone> From<DateTime<Z>> for Instant {
    fn from(at: DateTime<Z>) -> Self {
        Self::from_utc(at.naive_utc())
    }
}

/// A house's time zone.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Zone(pub Tz);

/// Longer than any offset from UTC and any gap of local time.
const TWO_DAYS: i64 = 2 * 86_400;

impl Zone {
    /// The local date at an instant.
    pub fn date(self, at: Instant) -> NaiveDate {
        if self.0 == Tz::UTC {
            return at.utc().date_naive();
        }
        at.utc().with_timezone(&self.0).date_naive()
    }

    /// 00:00 of a date: the first instant whose local date is that date or later.
    pub fn midnight(self, date: NaiveDate) -> Instant {
        let local = NaiveDateTime::from(date);
        if self.0 == Tz::UTC {
            return Instant::from_utc(local);
        }
        match self.0.from_local_datetime(&local) {
            LocalResult::Single(at) | LocalResult::Ambiguous(at, _) => at.into(),
            LocalResult::None => self.end_of_gap(local),
        }
    }

    /// The last instant of a date: one nanosecond before the next date's 00:00.
    pub fn end(self, date: NaiveDate) -> Instant {
        let next = date.succ_opt().unwrap_or(date);
        self.midnight(next).before()
    }

    /// The instant of a local date-time: the earlier one of two; in a gap, shifted forward by the gap.
    pub fn instant(self, local: NaiveDateTime) -> Instant {
        match self.0.from_local_datetime(&local) {
            LocalResult::Single(at) | LocalResult::Ambiguous(at, _) => at.into(),
            LocalResult::None => {
                let before = self.end_of_gap(local).before();
                let offset = self.offset(before);
                Instant::from_utc(local).plus_seconds(-i64::from(offset))
            }
        }
    }

    /// The first instant after the gap of local time that holds `local`.
    fn end_of_gap(self, local: NaiveDateTime) -> Instant {
        let middle = Instant::from_utc(local).seconds;
        let (mut early, mut late) = (middle - TWO_DAYS, middle + TWO_DAYS);
        while late - early > 1 {
            let between = early + (late - early) / 2;
            let shown = Instant { seconds: between, nanos: 0 }.utc().with_timezone(&self.0).naive_local();
            if shown < local {
                early = between;
            } else {
                late = between;
            }
        }
        Instant { seconds: late, nanos: 0 }
    }

    pub fn offset(self, at: Instant) -> i32 {
        self.0.offset_from_utc_datetime(&at.utc().naive_utc()).fix().local_minus_utc()
    }

    /// The instant with the zone's offset, for people and for RFC 3339. An offset that is not whole
    /// minutes (local mean times before about 1900) has no such form: that instant is shown in UTC.
    pub fn show(self, at: Instant) -> DateTime<FixedOffset> {
        let offset = self.offset(at);
        let offset = if offset % 60 == 0 { offset } else { 0 };
        match FixedOffset::east_opt(offset) {
            Some(offset) => at.utc().with_timezone(&offset),
            None => at.utc().fixed_offset(),
        }
    }

    /// The clock time at an instant.
    pub fn local(self, at: Instant) -> NaiveDateTime {
        at.utc().with_timezone(&self.0).naive_local()
    }

    /// Whether an instant tells the clock time or date it was written as: not where the clock left it out.
    pub fn gives_back(self, when: When) -> bool {
        let is_left_out =
            |local| self.0 != Tz::UTC && self.0.from_local_datetime(&local) == LocalResult::None;
        match when {
            When::Instant(_) => true,
            When::Local(local) => !is_left_out(local),
            When::Date(date) => !is_left_out(date.into()) || self.date(self.midnight(date)) == date,
        }
    }

    /// When something written stands: a date alone at its 00:00.
    pub fn stands(self, when: When) -> Instant {
        match when {
            When::Date(date) => self.midnight(date),
            When::Local(local) => self.instant(local),
            When::Instant(at) => at.into(),
        }
    }

    /// When something written is over: a date alone at its end.
    pub fn over(self, when: When) -> Instant {
        match when {
            When::Date(date) => self.end(date),
            _ => self.stands(when),
        }
    }
}

/// The day of a month, or the month's last day where it has no such day.
pub(crate) fn day_of_month(year: i32, month: u32, day: u32) -> Option<NaiveDate> {
    (28..=day)
        .rev()
        .chain([day])
        .find_map(|day| NaiveDate::from_ymd_opt(year, month, day))
        .filter(|date| in_range(*date))
}

/// The first of the month after a date's month.
pub(crate) fn next_month(date: NaiveDate) -> Option<NaiveDate> {
    date.with_day(1)?.checked_add_months(Months::new(1))
}
