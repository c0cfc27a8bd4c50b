//! Entries as columns: many at once, names looked up before.

use crate::book::{ConditionsKey, EventKey, ItemKey, Keyed, SourceKey};
use crate::clock::{Clock, Stand};
use crate::problem::Problem;
use crate::time::TICKS;
use chrono::{DateTime, NaiveDate};
use kitlore_syntax::{Amount, When, in_range};
use std::ops::Range;

/// Entries that have no more than the fields of [`Keyed`], as columns: row `n` of each belongs to entry `n`.
/// There are as many entries as times; a row that another column lacks is refused.
///
/// ```
/// use kitlore_engine::columns::{Amounts, Codes, EntryColumns, Keys, Lines, Ticks, Times};
/// use kitlore_engine::{Book, Item, Program, When};
/// use std::num::NonZeroUsize;
///
/// let rules = Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
/// let mut book = Book::new(&rules);
/// book.add_item(Item::new("C1", "camera")).unwrap();
/// book.add_item(Item::new("C2", "camera")).unwrap();
/// // A dictionary of two names, and for each entry which of them it has.
/// let items = [Some(book.item_key("C1")), Some(book.item_key("C2"))];
/// let entries = EntryColumns {
///     when: Times::Instants(Ticks::Seconds(&[1_770_000_000, 1_770_000_060, 1_770_000_120])),
///     event: Keys::One(book.event_key("lens change")),
///     item: Keys::Coded(Codes::U8(&[0, 1, 0]), &items),
///     amount: Amounts::Whole(&[12, 3, 9]),
///     conditions: Keys::One(book.conditions_key("")),
///     place: Some((book.source("log"), Lines::From(0))),
/// };
/// let refused = book.record_columns(&[entries], NonZeroUsize::MIN);
/// assert!(refused.is_empty());
/// let at = rules.when_is_over(When::parse("2026-02-08").unwrap());
/// let due: Vec<_> = book.standings(at).rows().map(|row| row.standing.word()).collect();
/// assert_eq!(due, ["overdue", "clear"]);
/// ```
#[derive(Debug, Clone, Copy)]
pub struct EntryColumns<'a> {
    /// When each happened.
    pub when: Times<'a>,
    /// What happened.
    pub event: Keys<'a, EventKey>,
    /// For what.
    pub item: Keys<'a, ItemKey>,
    /// How much.
    pub amount: Amounts<'a>,
    /// Under which conditions.
    pub conditions: Keys<'a, ConditionsKey>,
    /// Where they were read.
    pub place: Option<(SourceKey, Lines<'a>)>,
}

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

/// An entry that [`crate::Book::record_columns`] did not record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Which of the pieces it is in.
    pub piece: usize,
    /// Its row there.
    pub row: usize,
    /// Why, with its place.
    pub problem: Problem,
}

/// Numbers with more digits before the point are no amounts.
const WHOLE: u64 = 1_000_000_000_000;

impl<'a> Ticks<'a> {
    fn rows(&self, rows: &Range<usize>) -> Ticks<'a> {
        match self {
            Self::Seconds(list) => Self::Seconds(some(list, rows)),
            Self::Millis(list) => Self::Millis(some(list, rows)),
            Self::Micros(list) => Self::Micros(some(list, rows)),
            Self::Nanos(list) => Self::Nanos(some(list, rows)),
        }
    }

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

impl<'a> Times<'a> {
    fn rows(&self, rows: &Range<usize>) -> Times<'a> {
        match self {
            Self::Instants(ticks) => Self::Instants(ticks.rows(rows)),
            Self::Local(ticks) => Self::Local(ticks.rows(rows)),
            Self::Dates(days) => Self::Dates(some(days, rows)),
            Self::Each(whens) => Self::Each(some(whens, rows)),
        }
    }

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

    /// The time of a row; `None` outside the years 0001 to 9999.
    fn get(&self, row: usize) -> Option<When> {
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

/// No number of a name.
pub(crate) const MISSING: u32 = u32::MAX;

/// The first second of the year 0001, and the last of 9999.
const FIRST_SECOND: i64 = -62_135_596_800;
const LAST_SECOND: i64 = 253_402_300_799;

/// 1970-01-01 as chrono counts days.
pub(crate) const FROM_COMMON_ERA: i32 = 719_163;

impl<'a, K: Copy> Keys<'a, K> {
    fn rows(&self, rows: &Range<usize>) -> Keys<'a, K> {
        match self {
            Self::One(key) => Self::One(*key),
            Self::Each(keys) => Self::Each(some(keys, rows)),
            Self::Coded(codes, keys) => Self::Coded(codes.rows(rows), keys),
        }
    }

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

impl<'a> Codes<'a> {
    fn rows(&self, rows: &Range<usize>) -> Codes<'a> {
        match self {
            Self::U8(codes) => Self::U8(some(codes, rows)),
            Self::U16(codes) => Self::U16(some(codes, rows)),
            Self::U32(codes) => Self::U32(some(codes, rows)),
        }
    }

    fn get(&self, row: usize) -> Option<usize> {
        match self {
            Self::U8(codes) => codes.get(row).map(|code| usize::from(*code)),
            Self::U16(codes) => codes.get(row).map(|code| usize::from(*code)),
            Self::U32(codes) => codes.get(row).map(|code| *code as usize),
        }
    }
}

impl<'a> Amounts<'a> {
    fn rows(&self, rows: &Range<usize>) -> Amounts<'a> {
        match self {
            Self::Absent => Self::Absent,
            Self::Whole(numbers) => Self::Whole(some(numbers, rows)),
            Self::Micros(numbers) => Self::Micros(some(numbers, rows)),
            Self::Each(amounts) => Self::Each(some(amounts, rows)),
        }
    }

    /// The amounts of some rows in millionths, below 0 for what cannot be used.
    pub(crate) fn micros(&self, rows: Range<usize>, into: &mut Vec<i64>) {
        const UNUSABLE: i64 = -1;
        let one = Amount::ONE.micros();
        into.clear();
        match self {
            Self::Absent => into.resize(rows.len(), one),
            Self::Whole(numbers) => {
                let micros =
                    |number: &i64| if number.unsigned_abs() < WHOLE { number * one } else { UNUSABLE };
                into.extend(some(numbers, &rows).iter().map(micros));
            }
            Self::Micros(numbers) => into.extend_from_slice(some(numbers, &rows)),
            Self::Each(amounts) => {
                into.extend(some(amounts, &rows).iter().map(|amount| amount.map_or(one, Amount::micros)));
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

impl<'a> Lines<'a> {
    fn rows(&self, rows: &Range<usize>) -> Lines<'a> {
        match self {
            Self::From(first) => Self::From(first.saturating_add(crate::names::index(rows.start))),
            Self::Each(lines) => Self::Each(some(lines, rows)),
        }
    }

    pub(crate) fn get(&self, row: usize) -> u32 {
        match self {
            Self::From(first) => first.saturating_add(crate::names::index(row)),
            Self::Each(lines) => lines.get(row).copied().unwrap_or(0),
        }
    }
}

impl<'a> EntryColumns<'a> {
    /// Some of the entries, by row; rows past the end are left out.
    ///
    /// ```
    /// use kitlore_engine::columns::{Amounts, EntryColumns, Keys, Ticks, Times};
    /// # let mut book = kitlore_engine::Book::new(&kitlore_engine::Program::parse("").unwrap());
    /// let entries = EntryColumns {
    ///     when: Times::Instants(Ticks::Seconds(&[0, 60, 120])),
    ///     event: Keys::One(book.event_key("shoot")),
    ///     item: Keys::One(book.item_key("C1")),
    ///     amount: Amounts::Absent,
    ///     conditions: Keys::One(book.conditions_key("")),
    ///     place: None,
    /// };
    /// assert_eq!(entries.rows(1..3).when.len(), 2);
    /// ```
    #[must_use]
    pub fn rows(&self, rows: Range<usize>) -> EntryColumns<'a> {
        EntryColumns {
            when: self.when.rows(&rows),
            event: self.event.rows(&rows),
            item: self.item.rows(&rows),
            amount: self.amount.rows(&rows),
            conditions: self.conditions.rows(&rows),
            place: self.place.map(|(source, lines)| (source, lines.rows(&rows))),
        }
    }

    /// The entry of a row, or why it is none.
    pub(crate) fn entry(&self, row: usize) -> Result<Keyed, Problem> {
        let lacks =
            |code, what: &str| Problem::new(code, format!("this entry has no {what} that can be used"));
        Ok(Keyed {
            when: self.when.get(row).ok_or_else(|| lacks("bad-time", "time of the years 0001 to 9999"))?,
            event: self.event.get(row).ok_or_else(|| lacks("missing-event", "event"))?,
            item: self.item.get(row).ok_or_else(|| lacks("unknown-item", "item"))?,
            amount: self.amount.get(row).ok_or_else(|| lacks("bad-number", "amount"))?,
            conditions: self.conditions.get(row).ok_or_else(|| lacks("unknown-condition", "conditions"))?,
        })
    }
}
