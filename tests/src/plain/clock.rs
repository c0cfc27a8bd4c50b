//! Dates and instants of the house's zone (contract, sections 4 and 5).

use chrono::{DateTime, Datelike, Days, NaiveDate, NaiveDateTime, NaiveTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use kitlore_syntax::tree::{Calendar, Duration, Rank, Unit};
use kitlore_syntax::{When, in_range};

/// A point in time.
pub type Instant = DateTime<Utc>;

/// The house's zone, asked plainly.
#[derive(Debug, Clone, Copy)]
pub struct Clock(pub Tz);

impl Clock {
    /// The local date of an instant.
    pub fn date(self, instant: Instant) -> NaiveDate {
        instant.with_timezone(&self.0).date_naive()
    }

    /// 00:00 of a date (section 4, time).
    pub fn start_of(self, date: NaiveDate) -> Instant {
        let midnight = date.and_time(NaiveTime::MIN);
        if let Some(instant) = self.first_showing(midnight) {
            return instant;
        }
        let mut local = midnight;
        while self.first_showing(local).is_none() {
            local += TimeDelta::minutes(1);
        }
        while self.first_showing(local - TimeDelta::seconds(1)).is_some() {
            local -= TimeDelta::seconds(1);
        }
        self.first_showing(local).expect("just found")
    }

    /// The end of a date (section 4, time).
    pub fn end_of(self, date: NaiveDate) -> Instant {
        self.start_of(date + Days::new(1)) - TimeDelta::nanoseconds(1)
    }

    /// The instant of a clock time without offset (section 4, time).
    pub fn local(self, local: NaiveDateTime) -> Instant {
        if let Some(instant) = self.first_showing(local) {
            return instant;
        }
        let mut before = local;
        while self.first_showing(before).is_none() {
            before -= TimeDelta::minutes(1);
        }
        let shown = self.0.from_local_datetime(&before).latest().expect("just found").to_utc();
        shown + (local - before)
    }

    /// The instant at which a `when` stands.
    pub fn starts(self, when: When) -> Instant {
        match when {
            When::Date(date) => self.start_of(date),
            When::Local(local) => self.local(local),
            When::Instant(instant) => instant.to_utc(),
        }
    }

    /// The last instant of a time as written: for a date alone its end. Also the instant of an `at`.
    pub fn is_over(self, when: When) -> Instant {
        match when {
            When::Date(date) => self.end_of(date),
            other => self.starts(other),
        }
    }

    /// The date of a time as written.
    pub fn date_of(self, when: When) -> NaiveDate {
        match when {
            When::Date(date) => date,
            other => self.date(self.starts(other)),
        }
    }

    fn first_showing(self, local: NaiveDateTime) -> Option<Instant> {
        Some(self.0.from_local_datetime(&local).earliest()?.to_utc())
    }
}

/// The last day of a month.
fn last_day(year: i32, month: u32) -> u32 {
    (28..=31).rev().find(|d| NaiveDate::from_ymd_opt(year, month, *d).is_some()).expect("28 always is")
}

/// A day of a month, or the month's last day.
fn clamped(year: i32, month: u32, day: u32) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(year, month, day.min(last_day(year, month))).filter(|d| in_range(*d))
}

fn months_away(date: NaiveDate, months: i32) -> Option<NaiveDate> {
    let months = date.year() * 12 + date.month0() as i32 + months;
    clamped(months.div_euclid(12), months.rem_euclid(12) as u32 + 1, date.day())
}

fn days_away(date: NaiveDate, days: i64) -> Option<NaiveDate> {
    date.checked_add_signed(TimeDelta::days(days)).filter(|d| in_range(*d))
}

fn away(date: NaiveDate, duration: Duration, sign: i32) -> Option<NaiveDate> {
    let count = duration.count as i32 * sign;
    match duration.unit {
        Unit::Day => days_away(date, count.into()),
        Unit::Week => days_away(date, i64::from(count) * 7),
        Unit::Month => months_away(date, count),
        Unit::Year => months_away(date, count * 12),
    }
}

/// A date and a duration after it (section 5); none after the year 9999.
pub fn plus(date: NaiveDate, duration: Duration) -> Option<NaiveDate> {
    away(date, duration, 1)
}

/// A date and a duration before it (section 5); at the earliest 0001-01-01.
pub fn minus(date: NaiveDate, duration: Duration) -> NaiveDate {
    away(date, duration, -1).unwrap_or(NaiveDate::from_ymd_opt(1, 1, 1).expect("a date"))
}

/// The next day; none after the year 9999.
pub fn next_day(date: NaiveDate) -> Option<NaiveDate> {
    days_away(date, 1)
}

/// Whether a recurring calendar falls on a date (section 5, calendar).
pub fn falls_on(calendar: Calendar, date: NaiveDate) -> bool {
    let last = last_day(date.year(), date.month());
    match calendar {
        Calendar::On(on) => on == date,
        Calendar::Yearly { month, day } => date.month() == month && date.day() == day.min(last),
        Calendar::Monthly { day } => date.day() == day.min(last),
        Calendar::Weekly(weekday) => date.weekday() == weekday,
        Calendar::MonthlyWeekday { rank: Rank::Nth(n), weekday } => {
            date.weekday() == weekday && (date.day() - 1) / 7 + 1 == n
        }
        Calendar::MonthlyWeekday { rank: Rank::Last, weekday } => {
            date.weekday() == weekday && date.day() + 7 > last
        }
    }
}

/// The first date of a recurring calendar on or after a date.
pub fn first_on_or_after(calendar: Calendar, from: NaiveDate) -> Option<NaiveDate> {
    from.iter_days().take(800).take_while(|d| in_range(*d)).find(|d| falls_on(calendar, *d))
}
