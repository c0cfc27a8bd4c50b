//! Columns of a batch as they grow row by row.

use chrono::{DateTime, Datelike};
use kitlore_engine::columns::{Amounts, Keys, Texts, Ticks, Times};
use kitlore_engine::{Amount, When};
use smol_str::SmolStr;
use std::collections::HashMap;

/// A time as narrow as it allows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Moment {
    /// A whole second since 1970.
    Second(i64),
    /// A whole second of the house's clocks since their 1970.
    Local(i64),
    /// Days since 1970-01-01.
    Day(i32),
    Other(When),
}

impl Moment {
    /// Of a time as written.
    pub fn of(when: When) -> Self {
        match when {
            When::Instant(at) if at.timestamp_subsec_nanos() == 0 => Self::Second(at.timestamp()),
            When::Local(at) if at.and_utc().timestamp_subsec_nanos() == 0 => {
                Self::Local(at.and_utc().timestamp())
            }
            When::Date(date) => Self::Day(date.num_days_from_ce() - EPOCH),
            other => Self::Other(other),
        }
    }

    fn when(self) -> When {
        let at = |second| DateTime::from_timestamp(second, 0).unwrap_or_default();
        match self {
            Self::Second(second) => When::Instant(at(second).fixed_offset()),
            Self::Local(second) => When::Local(at(second).naive_utc()),
            Self::Day(day) => When::Date(at(i64::from(day) * 86_400).date_naive()),
            Self::Other(when) => when,
        }
    }
}

/// 1970-01-01 as chrono counts days.
const EPOCH: i32 = 719_163;

/// Times of rows, as narrow as they allow.
#[derive(Debug)]
pub(crate) enum WhenColumn {
    Seconds(Vec<i64>),
    Local(Vec<i64>),
    Days(Vec<i32>),
    Each(Vec<When>),
}

impl Default for WhenColumn {
    fn default() -> Self {
        Self::Seconds(Vec::new())
    }
}

impl WhenColumn {
    pub fn len(&self) -> usize {
        match self {
            Self::Seconds(list) | Self::Local(list) => list.len(),
            Self::Days(list) => list.len(),
            Self::Each(list) => list.len(),
        }
    }

    #[inline]
    pub fn push(&mut self, moment: Moment) {
        match (&mut *self, moment) {
            (Self::Seconds(list), Moment::Second(second)) | (Self::Local(list), Moment::Local(second)) => {
                list.push(second);
            }
            (Self::Days(list), Moment::Day(day)) => list.push(day),
            (_, moment) => self.push_other(moment),
        }
    }

    #[cold]
    fn push_other(&mut self, moment: Moment) {
        if self.len() == 0 {
            *self = match moment {
                Moment::Second(second) => Self::Seconds(vec![second]),
                Moment::Local(second) => Self::Local(vec![second]),
                Moment::Day(day) => Self::Days(vec![day]),
                Moment::Other(when) => Self::Each(vec![when]),
            };
            return;
        }
        let mut list: Vec<When> = match std::mem::take(self) {
            Self::Seconds(list) => list.into_iter().map(|second| Moment::Second(second).when()).collect(),
            Self::Local(list) => list.into_iter().map(|second| Moment::Local(second).when()).collect(),
            Self::Days(list) => list.into_iter().map(|day| Moment::Day(day).when()).collect(),
            Self::Each(list) => list,
        };
        list.push(moment.when());
        *self = Self::Each(list);
    }

    /// A time for a row whose own cannot be read.
    pub fn push_unread(&mut self) {
        self.push(match self {
            Self::Seconds(_) => Moment::Second(0),
            Self::Local(_) => Moment::Local(0),
            Self::Days(_) => Moment::Day(0),
            Self::Each(_) => Moment::Day(0),
        });
    }

    pub fn times(&self) -> Times<'_> {
        match self {
            Self::Seconds(list) => Times::Instants(Ticks::Seconds(list)),
            Self::Local(list) => Times::Local(Ticks::Seconds(list)),
            Self::Days(list) => Times::Dates(list),
            Self::Each(list) => Times::Each(list),
        }
    }
}

/// Amounts of rows.
#[derive(Debug, Default)]
pub(crate) enum AmountColumn {
    /// None so far states one.
    #[default]
    Absent,
    /// All state one, in millionths.
    Micros(Vec<i64>),
    Each(Vec<Option<Amount>>),
}

impl AmountColumn {
    /// Adds the amount of a row, before which there are so many.
    #[inline]
    pub fn push(&mut self, amount: Option<Amount>, rows: usize) {
        match (&mut *self, amount) {
            (Self::Micros(list), Some(amount)) => list.push(amount.micros()),
            (Self::Each(list), amount) => list.push(amount),
            (Self::Absent, None) => {}
            (Self::Absent, Some(amount)) if rows == 0 => *self = Self::Micros(vec![amount.micros()]),
            (_, amount) => self.widen(rows).push(amount),
        }
    }

    #[cold]
    fn widen(&mut self, rows: usize) -> &mut Vec<Option<Amount>> {
        let list = match std::mem::take(self) {
            Self::Absent => vec![None; rows],
            Self::Micros(list) => list.into_iter().map(|micros| Some(Amount::from_micros(micros))).collect(),
            Self::Each(list) => list,
        };
        *self = Self::Each(list);
        match self {
            Self::Each(list) => list,
            _ => self.widen(rows),
        }
    }

    pub fn amounts(&self) -> Amounts<'_> {
        match self {
            Self::Absent => Amounts::Absent,
            Self::Micros(list) => Amounts::Micros(list),
            Self::Each(list) => Amounts::Each(list),
        }
    }
}

type Numbers = HashMap<SmolStr, usize, foldhash::fast::FixedState>;

/// Names of rows by their keys in the book. Those that it has not met yet wait to be added.
#[derive(Debug)]
pub(crate) struct NameColumn<K> {
    keys: Vec<K>,
    /// Names that the book has not met, in the order in which they came.
    fresh: Vec<SmolStr>,
    numbers: Numbers,
    /// Rows that have one of them.
    waiting: Vec<(usize, usize)>,
}

impl<K> Default for NameColumn<K> {
    fn default() -> Self {
        Self { keys: Vec::new(), fresh: Vec::new(), numbers: Numbers::default(), waiting: Vec::new() }
    }
}

impl<K: Copy + Default> NameColumn<K> {
    /// Adds the name of a row, before which there are so many; an empty one is none.
    #[inline]
    pub fn push(&mut self, name: &str, rows: usize, find: impl FnOnce(&str) -> Option<K>) {
        if name.is_empty() {
            // A column that no row has yet stays empty.
            if !self.keys.is_empty() {
                self.keys.push(K::default());
            }
            return;
        }
        if self.keys.is_empty() {
            self.keys.resize(rows, K::default());
        }
        match find(name) {
            Some(key) => self.keys.push(key),
            None => self.wait(name),
        }
    }

    #[cold]
    fn wait(&mut self, name: &str) {
        let number = match self.numbers.get(name) {
            Some(number) => *number,
            None => {
                self.fresh.push(name.into());
                self.numbers.insert(name.into(), self.fresh.len() - 1);
                self.fresh.len() - 1
            }
        };
        self.waiting.push((self.keys.len(), number));
        self.keys.push(K::default());
    }

    /// Adds the names that the book has not met.
    pub fn settle(&mut self, mut add: impl FnMut(&str) -> K) {
        let keys: Vec<K> = self.fresh.drain(..).map(|name| add(&name)).collect();
        self.numbers.clear();
        for (row, number) in self.waiting.drain(..) {
            if let (Some(slot), Some(key)) = (self.keys.get_mut(row), keys.get(number)) {
                *slot = *key;
            }
        }
    }

    pub fn keys(&self) -> Keys<'_, K> {
        if self.keys.is_empty() { Keys::One(K::default()) } else { Keys::Each(&self.keys) }
    }
}

/// Texts of rows, in one block of memory.
#[derive(Debug, Default)]
pub(crate) struct TextColumn {
    bytes: String,
    ends: Vec<usize>,
}

impl TextColumn {
    /// Adds the text of a row, before which there are so many.
    pub fn push(&mut self, text: &str, rows: usize) {
        if self.ends.is_empty() {
            if text.is_empty() {
                return;
            }
            self.ends.resize(rows, 0);
        }
        self.bytes.push_str(text);
        self.ends.push(self.bytes.len());
    }

    /// The texts, if any row has one.
    pub fn list(&self) -> Vec<&str> {
        let mut start = 0;
        let text = |end: &usize| {
            let text = self.bytes.get(start..*end).unwrap_or("");
            start = *end;
            text
        };
        self.ends.iter().map(text).collect()
    }
}

/// A list of texts as a column.
pub(crate) fn texts<'a>(list: &'a [&'a str]) -> Texts<'a> {
    if list.is_empty() { Texts::Absent } else { Texts::Each(list) }
}

/// The lines of rows.
#[derive(Debug, Default)]
pub(crate) enum LineColumn {
    #[default]
    None,
    /// Each on the line after the one before it.
    From {
        first: u32,
        count: u32,
    },
    Each(Vec<u32>),
}

impl LineColumn {
    pub fn push(&mut self, line: u32) {
        match self {
            Self::None => *self = Self::From { first: line, count: 1 },
            Self::From { first, count } if first.saturating_add(*count) == line => *count += 1,
            Self::From { first, count } => {
                *self = Self::Each((*first..).take(*count as usize).chain([line]).collect());
            }
            Self::Each(list) => list.push(line),
        }
    }

    pub fn move_down(&mut self, lines: u32) {
        match self {
            Self::None => {}
            Self::From { first, .. } => *first = first.saturating_add(lines),
            Self::Each(list) => list.iter_mut().for_each(|line| *line = line.saturating_add(lines)),
        }
    }

    pub fn get(&self, row: usize) -> u32 {
        match self {
            Self::None => 0,
            Self::From { first, .. } => first.saturating_add(u32::try_from(row).unwrap_or(u32::MAX)),
            Self::Each(list) => list.get(row).copied().unwrap_or(0),
        }
    }
}
