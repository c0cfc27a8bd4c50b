//! What the blocks of version 1 hold.

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate};
use kitlore_syntax::{When, in_range};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// What one block holds. Names come before what uses their numbers; numbers count from 0 over all blocks of
/// a sort.
#[derive(Serialize, Deserialize)]
pub(super) enum Block<'a> {
    /// Names as first spelled in the tables.
    Names(Sort, #[serde(borrow)] Vec<&'a str>),
    /// Names that entries are for, and whether each was met as an item's id first.
    Streams(#[serde(borrow)] Vec<(&'a str, bool)>),
    /// Sets of conditions.
    Sets(Vec<Vec<u32>>),
    Items(#[serde(borrow)] Vec<ItemForm<'a>>),
    Log(#[serde(borrow)] Box<Log<'a>>),
    End(Totals),
}

/// What names are names of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Sort {
    Event,
    Condition,
    Finding,
    Unit,
    Reference,
    /// A source of entries.
    Source,
    /// A source of items or reports alone.
    OtherSource,
}

/// An item; its dates in days of the common era.
#[derive(Serialize, Deserialize)]
pub(super) struct ItemForm<'a> {
    pub id: &'a str,
    pub kind: &'a str,
    pub received: Option<i32>,
    pub in_service: Option<i32>,
    pub retired: Option<i32>,
    #[serde(borrow)]
    pub kits: Vec<&'a str>,
    pub model: Option<&'a str>,
    #[serde(borrow)]
    pub attributes: Vec<(&'a str, &'a str)>,
    pub place: Option<(u32, u32)>,
}

/// Entries in order of record, by column, and what hosts reported between them.
#[derive(Serialize, Deserialize, Default)]
pub(super) struct Log<'a> {
    /// How times are written, for how many entries.
    pub forms: Vec<(u32, Form)>,
    /// Days or seconds, each less the one before.
    pub times: Vec<i64>,
    /// Nanoseconds; empty if all are 0.
    pub nanos: Vec<u32>,
    pub events: Vec<u32>,
    pub items: Vec<u32>,
    pub conditions: Vec<u32>,
    /// All amounts are whole, and given so; else in millionths.
    pub whole: bool,
    pub amounts: Vec<i64>,
    /// Source and first line, for how many entries; their lines follow each other.
    pub places: Vec<(u32, Option<(u32, u32)>)>,
    /// By row, what few entries have.
    #[serde(borrow)]
    pub rare: Vec<(u32, Rare<'a>)>,
    /// By the row before which it came.
    #[serde(borrow)]
    pub reports: Vec<(u32, Report<'a>)>,
}

/// How a time is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub(super) enum Form {
    Date,
    Local,
    Instant,
}

/// What few entries have. The amount stands here and not in the column.
#[derive(PartialEq, Serialize, Deserialize, Default)]
pub(super) struct Rare<'a> {
    /// Seconds by which the clock of `when` is ahead of UTC.
    pub ahead: i32,
    pub until: Option<Time>,
    pub amount: Option<i64>,
    pub reading: Option<i64>,
    pub unit: Option<u32>,
    pub found: Vec<u32>,
    pub reference: Option<u32>,
    /// Events and millionths a day.
    pub expect: Vec<(u32, i64)>,
    /// What is wrong with what it expects.
    pub bad_expect: Option<&'a str>,
    pub id: &'a str,
    pub by: &'a str,
    pub note: &'a str,
    /// The rules of then refused it, and whether the host reported that.
    pub refused: Option<bool>,
}

/// A time: how it is written, days or seconds, nanoseconds, seconds ahead of UTC.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub(super) struct Time(pub Form, pub i64, pub u32, pub i32);

/// A problem that a host reported.
#[derive(Serialize, Deserialize)]
pub(super) struct Report<'a> {
    pub code: &'a str,
    #[serde(borrow)]
    pub message: Cow<'a, str>,
    pub place: Option<(u32, u32)>,
    pub meant: Option<&'a str>,
}

/// How much there is of everything.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Totals {
    pub items: u64,
    pub entries: u64,
    pub reports: u64,
    pub blocks: u32,
}

impl Time {
    pub fn of(when: When) -> Self {
        match when {
            When::Date(date) => Self(Form::Date, date.num_days_from_ce().into(), 0, 0),
            When::Local(local) => {
                let at = local.and_utc();
                Self(Form::Local, at.timestamp(), at.timestamp_subsec_nanos(), 0)
            }
            When::Instant(at) => {
                let ahead = at.offset().local_minus_utc();
                Self(Form::Instant, at.timestamp(), at.timestamp_subsec_nanos(), ahead)
            }
        }
    }

    /// The time; `None` if it is none of the years 0001 to 9999.
    pub fn when(self) -> Option<When> {
        let Self(form, number, nanos, ahead) = self;
        if form == Form::Date {
            return date(i32::try_from(number).ok()?).map(When::Date);
        }
        let at = DateTime::from_timestamp(number, nanos).filter(|at| in_range(at.date_naive()))?;
        if form == Form::Local {
            return Some(When::Local(at.naive_utc()));
        }
        Some(When::Instant(at.with_timezone(&FixedOffset::east_opt(ahead)?)))
    }
}

pub(super) fn date(days: i32) -> Option<NaiveDate> {
    NaiveDate::from_num_days_from_ce_opt(days).filter(|date| in_range(*date))
}
