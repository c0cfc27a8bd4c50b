//! Version 1 of a saved book: what its blocks hold.

mod load;
mod save;

pub(super) use load::load;
pub(super) use save::save;

use chrono::{DateTime, Datelike, FixedOffset, NaiveDate};
use kitlore_syntax::{When, in_range};
use serde::{Deserialize, Serialize};

/// What one block holds. Names come before what uses their numbers; numbers count from 0 over all blocks of
/// a sort.
#[derive(Serialize, Deserialize)]
enum Block<'a> {
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
enum Sort {
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
struct ItemForm<'a> {
    id: &'a str,
    kind: &'a str,
    received: Option<i32>,
    in_service: Option<i32>,
    retired: Option<i32>,
    #[serde(borrow)]
    kits: Vec<&'a str>,
    model: Option<&'a str>,
    #[serde(borrow)]
    attributes: Vec<(&'a str, &'a str)>,
    place: Option<(u32, u32)>,
}

/// Entries in order of record, by column, and what hosts reported between them.
#[derive(Serialize, Deserialize, Default)]
struct Log<'a> {
    /// How times are written, for how many entries.
    forms: Vec<(u32, Form)>,
    /// Days or seconds, each less the one before.
    times: Vec<i64>,
    /// Nanoseconds; empty if all are 0.
    nanos: Vec<u32>,
    events: Vec<u32>,
    items: Vec<u32>,
    conditions: Vec<u32>,
    /// All amounts are whole, and given so; else in millionths.
    whole: bool,
    amounts: Vec<i64>,
    /// Source and first line, for how many entries; their lines follow each other.
    places: Vec<(u32, Option<(u32, u32)>)>,
    /// By row, what few entries have.
    #[serde(borrow)]
    rare: Vec<(u32, Rare<'a>)>,
    /// By the row before which it came.
    #[serde(borrow)]
    reports: Vec<(u32, Report<'a>)>,
}

/// How a time is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
enum Form {
    Date,
    Local,
    Instant,
}

/// What few entries have. The amount stands here and not in the column.
#[derive(PartialEq, Serialize, Deserialize, Default)]
struct Rare<'a> {
    /// Seconds by which the clock of `when` is ahead of UTC.
    ahead: i32,
    until: Option<Time>,
    amount: Option<i64>,
    reading: Option<i64>,
    unit: Option<u32>,
    found: Vec<u32>,
    reference: Option<u32>,
    /// Events and millionths a day.
    expect: Vec<(u32, i64)>,
    /// What is wrong with what it expects.
    bad_expect: Option<&'a str>,
    id: &'a str,
    by: &'a str,
    note: &'a str,
    /// The rules of then refused it, and whether the host reported that.
    refused: Option<bool>,
}

/// A time: how it is written, days or seconds, nanoseconds, seconds ahead of UTC.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
struct Time(Form, i64, u32, i32);

/// A problem that a host reported.
#[derive(Serialize, Deserialize)]
struct Report<'a> {
    code: &'a str,
    message: &'a str,
    place: Option<(u32, u32)>,
    meant: Option<&'a str>,
}

/// How much there is of everything.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
struct Totals {
    items: u64,
    entries: u64,
    reports: u64,
    blocks: u32,
}

impl Time {
    fn of(when: When) -> Self {
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
    fn when(self) -> Option<When> {
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

fn date(days: i32) -> Option<NaiveDate> {
    NaiveDate::from_num_days_from_ce_opt(days).filter(|date| in_range(*date))
}
