//! When entries stand, without asking the zone for each.

use super::entries::Moment;
use crate::names::Map;
use crate::time::{FROM_COMMON_ERA, Instant, TICKS, Zone};
use chrono::{DateTime, Datelike, NaiveDate};
use chrono_tz::Tz;
use kitlore_syntax::{When, in_range};

/// When an entry stands, see [`Instant::ticks`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Stand {
    pub ticks: i64,
    pub fine: u8,
    /// Its time is a date alone.
    pub dated: bool,
    /// The clock left its time out: the instant does not tell how it was written.
    pub left_out: bool,
}

impl Stand {
    /// Outside the years of the language.
    pub const NEVER: Self = Self { ticks: i64::MIN, fine: 0, dated: false, left_out: false };

    fn of(zone: Zone, when: When) -> Self {
        let (ticks, fine) = zone.stands(when).ticks();
        Self { ticks, fine, dated: matches!(when, When::Date(_)), left_out: !zone.gives_back(when) }
    }

    /// The instant.
    pub fn at(self) -> Instant {
        Instant::from_ticks(self.ticks, self.fine)
    }
}

/// A zone that remembers days.
#[derive(Debug)]
pub(crate) struct Clock {
    zone: Zone,
    /// By day after 1970-01-01: how far local times of the day are ahead of UTC, if all are alike.
    ahead: Map<i64, Option<i64>>,
    last: Option<(i64, Option<i64>)>,
    midnights: Map<i32, Stand>,
}

const HOUR: i64 = 3_600;
const DAY: i64 = 24 * HOUR;

impl Clock {
    pub fn new(zone: Zone) -> Self {
        Self { zone, ahead: Map::default(), last: None, midnights: Map::default() }
    }

    /// Turns a local time into an instant.
    pub fn instant(&mut self, stand: &mut Stand) {
        if self.zone.0 == Tz::UTC || *stand == Stand::NEVER {
            return;
        }
        let day = stand.ticks.div_euclid(DAY * TICKS);
        match self.ahead(day) {
            Some(ahead) => stand.ticks -= ahead * TICKS,
            None => {
                let local = Instant::from_ticks(stand.ticks, stand.fine).utc().naive_utc();
                *stand = Stand::of(self.zone, When::Local(local));
            }
        }
    }

    /// The beginning of a span.
    pub fn begin(&mut self, stand: Stand) -> Moment {
        let at = stand.at();
        let ahead = if self.zone.0 == Tz::UTC { Some(0) } else { self.ahead(at.seconds.div_euclid(DAY)) };
        let day = ahead.and_then(|ahead| i32::try_from((at.seconds + ahead).div_euclid(DAY)).ok());
        match day {
            Some(day) => Moment::new(at, day, stand.dated),
            None => Moment::on(at, self.zone.date(at), stand.dated),
        }
    }

    /// The end of a span: of a date alone its last instant.
    pub fn end(&mut self, stand: Stand) -> Moment {
        let begin = self.begin(stand);
        if stand.dated { Moment::on(self.zone.end(begin.date()), begin.date(), true) } else { begin }
    }

    fn ahead(&mut self, day: i64) -> Option<i64> {
        if let Some((last, ahead)) = self.last
            && last == day
        {
            return ahead;
        }
        let zone = self.zone;
        let ahead = *self.ahead.entry(day).or_insert_with(|| alike(zone, day));
        self.last = Some((day, ahead));
        ahead
    }

    /// When a date alone stands, in days after 1970-01-01.
    pub fn date(&mut self, day: i32) -> Stand {
        let zone = self.zone;
        *self.midnights.entry(day).or_insert_with(|| {
            let date = day.checked_add(FROM_COMMON_ERA).and_then(NaiveDate::from_num_days_from_ce_opt);
            match date.filter(|date| in_range(*date)) {
                Some(date) => Stand::of(zone, When::Date(date)),
                None => Stand::NEVER,
            }
        })
    }

    /// When any time stands.
    pub fn when(&mut self, when: When) -> Stand {
        match when {
            When::Date(date) => self.date(date.num_days_from_ce() - FROM_COMMON_ERA),
            When::Local(local) => {
                let (ticks, fine) = Instant::from(local.and_utc()).ticks();
                let mut stand = Stand { ticks, fine, ..Stand::default() };
                self.instant(&mut stand);
                stand
            }
            When::Instant(at) => {
                let (ticks, fine) = Instant::from(at).ticks();
                Stand { ticks, fine, ..Stand::default() }
            }
        }
    }
}

/// How far all local times of a day are ahead of UTC; `None` if the clock is put forward or back within a
/// day of it. No zone does both within an hour.
fn alike(zone: Zone, day: i64) -> Option<i64> {
    let offset = |hour: i64| {
        let at = DateTime::from_timestamp(day * DAY + hour * HOUR, 0)?;
        Some(i64::from(zone.offset(at.into())))
    };
    let ahead = offset(0)?;
    (-24..=48).all(|hour| offset(hour) == Some(ahead)).then_some(ahead)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use super::*;

    /// Every half hour of some days from the first of a year on is where the zone itself puts it.
    fn check(zone: Tz, year: i32, days: i64) {
        let zone = Zone(zone);
        let mut clock = Clock::new(zone);
        let first = NaiveDate::from_ymd_opt(year, 1, 1).unwrap().and_time(chrono::NaiveTime::MIN);
        for step in 0..days * 48 {
            let local = first + chrono::TimeDelta::minutes(30 * step);
            let (ticks, fine) = Instant::from(local.and_utc()).ticks();
            let mut stand = Stand { ticks, fine, ..Stand::default() };
            clock.instant(&mut stand);
            assert_eq!((stand.ticks, stand.fine), zone.instant(local).ticks(), "{local} {}", zone.0);
        }
    }

    #[test]
    fn local_times_are_where_the_zone_puts_them() {
        for zone in [Tz::Europe__Berlin, Tz::America__Sao_Paulo, Tz::Australia__Lord_Howe, Tz::Pacific__Apia]
        {
            check(zone, 2010, 3 * 366);
        }
        // Set at 22:00, which is 01:00 UTC of the next day.
        check(Tz::America__Nuuk, 2010, 366);
        // An hour ahead the whole year through.
        check(Tz::Europe__London, 1970, 30);
    }
}
