//! The columns of a batch.

use super::clock::{Clock, Stand};
use super::row::PrintTime;
use crate::problem::Problem;
use crate::time::{FROM_COMMON_ERA, TICKS};
use chrono::{DateTime, NaiveDate};
use kitlore_syntax::{Amount, When, in_range};
use std::ops::Range;

pub use super::spellings::ShortName;

/// A column of times.
#[derive(Debug, Clone, Copy)]
pub enum Times<'a> {
    /// Points in time, counted from 1970-01-01T00:00:00Z.
    Instants(Ticks<'a>),
    /// Clock times of the house's zone, counted from its 1970-01-01T00:00:00.
    Local(Ticks<'a>),
    /// Dates, in days after 1970-01-01.
    Dates(&'a [i32]),
    /// Any mixture.
    Each(&'a [When]),
}

/// A column of counted time.
#[derive(Debug, Clone, Copy)]
pub enum Ticks<'a> {
    /// In seconds.
    Seconds(&'a [i64]),
    /// In thousandths of a second.
    Millis(&'a [i64]),
    /// In millionths.
    Micros(&'a [i64]),
    /// In billionths.
    Nanos(&'a [i64]),
}

/// A column of ends.
#[derive(Debug, Clone, Copy)]
pub enum Ends<'a> {
    /// No entry has one.
    Absent,
    /// Every entry has one.
    All(Times<'a>),
    /// Some have one.
    Each(&'a [Option<When>]),
}

/// A column of texts that are not looked up.
#[derive(Debug, Clone, Copy)]
pub enum Texts<'a> {
    /// No entry has one.
    Absent,
    /// One for each entry; an empty one is none.
    Each(&'a [&'a str]),
}

/// A column of names that were looked up.
#[derive(Debug, Clone, Copy)]
pub enum Keys<'a, K> {
    /// All entries have the same.
    One(K),
    /// One for each entry.
    Each(&'a [K]),
    /// For each entry the number of its name in a list; an entry whose name has no key is refused.
    Coded(Codes<'a>, &'a [Option<K>]),
}

/// A column of small numbers.
#[derive(Debug, Clone, Copy)]
pub enum Codes<'a> {
    /// Below 2⁸.
    U8(&'a [u8]),
    /// Below 2¹⁶.
    U16(&'a [u16]),
    /// Below 2³².
    U32(&'a [u32]),
}

/// A column of amounts.
#[derive(Debug, Clone, Copy)]
pub enum Amounts<'a> {
    /// No entry states one: each counts once.
    Absent,
    /// Whole numbers.
    Whole(&'a [i64]),
    /// In millionths.
    Micros(&'a [i64]),
    /// Some state one.
    Each(&'a [Option<Amount>]),
}

/// Where entries stand in their source.
#[derive(Debug, Clone, Copy)]
pub enum Lines<'a> {
    /// The first on this line, each other on the line after the one before it.
    From(u32),
    /// Each on its own line.
    Each(&'a [u32]),
}

/// An entry that [`crate::Book::record_batches`] did not record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Which of the batches it is in.
    pub batch: usize,
    /// Its row there.
    pub row: usize,
    /// Why, with its place.
    pub problem: Problem,
}

/// Numbers with more digits before the point are no amounts.
const WHOLE: u64 = 1_000_000_000_000;

impl Ticks<'_> {
    fn len(&self) -> usize {
        let (Self::Seconds(list) | Self::Millis(list) | Self::Micros(list) | Self::Nanos(list)) = self;
        list.len()
    }

    /// Some rows as if they counted in UTC.
    fn stand(&self, rows: &Range<usize>, into: &mut Vec<Stand>) {
        let whole = |per_second: i64| {
            let range = FIRST_SECOND * per_second..(LAST_SECOND + 1) * per_second;
            move |ticks: &i64| match range.contains(ticks) {
                true => Stand { ticks: ticks * (TICKS / per_second), ..Stand::default() },
                false => Stand::NEVER,
            }
        };
        match self {
            Self::Seconds(list) => into.extend(some(list, rows).iter().map(whole(1))),
            Self::Millis(list) => into.extend(some(list, rows).iter().map(whole(1_000))),
            Self::Micros(list) => into.extend(some(list, rows).iter().map(whole(1_000_000))),
            Self::Nanos(list) => into.extend(some(list, rows).iter().map(|nanos| Stand {
                ticks: nanos.div_euclid(100),
                fine: u8::try_from(nanos.rem_euclid(100)).unwrap_or(0),
                ..Stand::default()
            })),
        }
    }

    /// Seconds and nanoseconds of a row.
    fn get(&self, row: usize) -> Option<(i64, u32)> {
        let (list, per_second) = match self {
            Self::Seconds(list) => (list, 1),
            Self::Millis(list) => (list, 1_000),
            Self::Micros(list) => (list, 1_000_000),
            Self::Nanos(list) => (list, 1_000_000_000),
        };
        let ticks = *list.get(row)?;
        let nanos = ticks.rem_euclid(per_second) * (1_000_000_000 / per_second);
        Some((ticks.div_euclid(per_second), u32::try_from(nanos).ok()?))
    }
}

impl Times<'_> {
    /// The number of rows.
    pub fn len(&self) -> usize {
        match self {
            Self::Instants(ticks) | Self::Local(ticks) => ticks.len(),
            Self::Dates(days) => days.len(),
            Self::Each(whens) => whens.len(),
        }
    }

    /// Whether there is no row.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// When the entries of some rows stand.
    pub(crate) fn stand(&self, rows: Range<usize>, clock: &mut Clock, into: &mut Vec<Stand>) {
        into.clear();
        match self {
            Self::Instants(ticks) => ticks.stand(&rows, into),
            Self::Local(ticks) => {
                ticks.stand(&rows, into);
                into.iter_mut().for_each(|stand| clock.instant(stand));
            }
            Self::Dates(days) => into.extend(some(days, &rows).iter().map(|day| clock.date(*day))),
            Self::Each(whens) => into.extend(some(whens, &rows).iter().map(|when| clock.when(*when))),
        }
    }

    /// The time of a row that lies within the years of the language, as fingerprints have it.
    pub(crate) fn print(&self, row: usize) -> Option<PrintTime> {
        let read = |form, ticks: &Ticks<'_>| {
            let (seconds, nanos) = ticks.get(row)?;
            Some(PrintTime(form, seconds, nanos))
        };
        match self {
            Self::Instants(ticks) => read(PrintTime::INSTANT, ticks),
            Self::Local(ticks) => read(PrintTime::LOCAL, ticks),
            Self::Dates(days) => {
                days.get(row).map(|day| PrintTime(PrintTime::DATE, i64::from(*day) * DAY, 0))
            }
            Self::Each(whens) => whens.get(row).copied().map(PrintTime::of),
        }
    }

    /// The time of a row; `None` outside the years 0001 to 9999.
    pub(crate) fn get(&self, row: usize) -> Option<When> {
        let read = |ticks: &Ticks<'_>| {
            let (seconds, nanos) = ticks.get(row)?;
            DateTime::from_timestamp(seconds, nanos).filter(|at| in_range(at.date_naive()))
        };
        match self {
            Self::Instants(ticks) => read(ticks).map(|at| When::Instant(at.fixed_offset())),
            Self::Local(ticks) => read(ticks).map(|at| When::Local(at.naive_utc())),
            Self::Dates(days) => {
                let days = days.get(row)?.checked_add(FROM_COMMON_ERA)?;
                NaiveDate::from_num_days_from_ce_opt(days).filter(|date| in_range(*date)).map(When::Date)
            }
            Self::Each(whens) => whens.get(row).copied(),
        }
    }
}

/// The amount of an entry that states none.
pub(crate) const UNSTATED: i64 = i64::MIN;

/// No number of a name.
pub(crate) const MISSING: u32 = u32::MAX;

/// The first second of the year 0001, and the last of 9999.
const FIRST_SECOND: i64 = -62_135_596_800;
const LAST_SECOND: i64 = 253_402_300_799;

/// Seconds of a day.
const DAY: i64 = 86_400;

impl Ends<'_> {
    pub(crate) fn get(&self, row: usize) -> Option<When> {
        match self {
            Self::Absent => None,
            Self::All(times) => times.get(row),
            Self::Each(list) => list.get(row).copied().flatten(),
        }
    }

    pub(crate) fn print(&self, row: usize) -> Option<PrintTime> {
        match self {
            Self::All(times) => times.print(row),
            Self::Absent | Self::Each(_) => self.get(row).map(PrintTime::of),
        }
    }

    /// When the ends of some rows stand, if they have one.
    pub(crate) fn stand(
        &self,
        rows: Range<usize>,
        clock: &mut Clock,
        buffer: &mut Vec<Stand>,
        into: &mut Vec<Option<Stand>>,
    ) {
        into.clear();
        match self {
            Self::Absent => {}
            Self::All(times) => {
                times.stand(rows.clone(), clock, buffer);
                into.extend(buffer.iter().copied().map(Some));
            }
            Self::Each(list) => {
                let stand = |until: &Option<When>| until.map(|until| clock.when(until));
                into.extend(some(list, &rows).iter().map(stand));
            }
        }
        into.resize(rows.len(), None);
    }
}

impl<'a> Texts<'a> {
    /// How many texts there are, and how long they are together.
    pub(crate) fn size(&self) -> (usize, usize) {
        match self {
            Self::Absent => (0, 0),
            Self::Each(list) => (list.len(), list.iter().map(|text| text.len()).sum()),
        }
    }

    pub(crate) fn get(&self, row: usize) -> &'a str {
        match self {
            Self::Absent => "",
            Self::Each(list) => list.get(row).map_or("", |text| text.trim()),
        }
    }
}

impl<K: Copy> Keys<'_, K> {
    /// The numbers of some rows, [`MISSING`] for what has no key.
    pub(crate) fn numbers(&self, rows: Range<usize>, number: impl Fn(K) -> u32, into: &mut Vec<u32>) {
        into.clear();
        let coded =
            |code: usize, keys: &[Option<K>]| keys.get(code).copied().flatten().map_or(MISSING, &number);
        match self {
            Self::One(key) => into.resize(rows.len(), number(*key)),
            Self::Each(keys) => into.extend(some(keys, &rows).iter().map(|key| number(*key))),
            Self::Coded(Codes::U8(codes), keys) => {
                into.extend(some(codes, &rows).iter().map(|code| coded(usize::from(*code), keys)));
            }
            Self::Coded(Codes::U16(codes), keys) => {
                into.extend(some(codes, &rows).iter().map(|code| coded(usize::from(*code), keys)));
            }
            Self::Coded(Codes::U32(codes), keys) => {
                into.extend(some(codes, &rows).iter().map(|code| coded(*code as usize, keys)));
            }
        }
        into.resize(rows.len(), MISSING);
    }

    pub(crate) fn get(&self, row: usize) -> Option<K> {
        match self {
            Self::One(key) => Some(*key),
            Self::Each(keys) => keys.get(row).copied(),
            Self::Coded(codes, keys) => keys.get(codes.get(row)?).copied().flatten(),
        }
    }
}

impl Codes<'_> {
    fn get(&self, row: usize) -> Option<usize> {
        match self {
            Self::U8(codes) => codes.get(row).map(|code| usize::from(*code)),
            Self::U16(codes) => codes.get(row).map(|code| usize::from(*code)),
            Self::U32(codes) => codes.get(row).map(|code| *code as usize),
        }
    }
}

impl Amounts<'_> {
    /// The amounts of some rows in millionths: [`UNSTATED`], or below 0 for what cannot be used.
    pub(crate) fn micros(&self, rows: Range<usize>, into: &mut Vec<i64>) {
        const UNUSABLE: i64 = -1;
        into.clear();
        match self {
            Self::Absent => into.resize(rows.len(), UNSTATED),
            Self::Whole(numbers) => {
                let micros = |number: &i64| {
                    if number.unsigned_abs() < WHOLE { number * Amount::ONE.micros() } else { UNUSABLE }
                };
                into.extend(some(numbers, &rows).iter().map(micros));
            }
            Self::Micros(numbers) => {
                into.extend(some(numbers, &rows).iter().map(|micros| (*micros).max(UNSTATED + 1)));
            }
            Self::Each(amounts) => {
                let micros = |amount: &Option<Amount>| amount.map_or(UNSTATED, Amount::micros);
                into.extend(some(amounts, &rows).iter().map(micros));
            }
        }
        into.resize(rows.len(), UNUSABLE);
    }

    /// The amount of a row, if it states one; the outer `None` where it is too large or missing.
    pub(crate) fn get(&self, row: usize) -> Option<Option<Amount>> {
        match self {
            Self::Absent => Some(None),
            Self::Whole(numbers) => {
                let number = *numbers.get(row)?;
                (number.unsigned_abs() < WHOLE).then(|| Some(Amount::from_micros(number * 1_000_000)))
            }
            Self::Micros(numbers) => numbers.get(row).map(|number| Some(Amount::from_micros(*number))),
            Self::Each(amounts) => amounts.get(row).copied(),
        }
    }
}

/// Those of some rows that a column has.
fn some<'a, T>(list: &'a [T], rows: &Range<usize>) -> &'a [T] {
    list.get(rows.start..rows.end.min(list.len())).unwrap_or(&[])
}

impl Lines<'_> {
    pub(crate) fn get(&self, row: usize) -> u32 {
        match self {
            Self::From(first) => first.saturating_add(crate::names::index(row)),
            Self::Each(lines) => lines.get(row).copied().unwrap_or(0),
        }
    }
}
