//! Entries as columns: in pieces, by any number of threads, the same answer as entry by entry.

use crate::answers::{checked_json, end_of};
use crate::tables::PROGRAM;
use arbitrary::{Arbitrary, Result, Unstructured};
use chrono::{DateTime, NaiveDate};
use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Amounts, Codes, Keys, Lines, Ticks, Times};
use kitlore_engine::{Amount, Book, Item, When};
use kitlore_syntax::in_range;
use std::num::NonZeroUsize;

const EVENTS: [&str; 8] =
    ["lens change", "frames", "trip", "capacity", "inspect sensor", "void", "retired", "gallery visit"];
const ITEMS: [&str; 5] = ["C1", "C2", "cameras", "", "nobody"];
const CONDITIONS: [&str; 4] = ["", "dust", "dust; sand", "fog"];

/// What is in the columns: numbers of names, ticks of one unit, amounts.
struct Rows {
    unit: i64,
    local: bool,
    ticks: Vec<i64>,
    events: Vec<u8>,
    items: Vec<u16>,
    conditions: Vec<u32>,
    amounts: Vec<i64>,
    whole: bool,
}

/// A tick near the days of the rules or at an end of what there is.
fn tick(u: &mut Unstructured<'_>, unit: i64) -> Result<i64> {
    Ok(match u.int_in_range(0..=11)? {
        0 => i64::arbitrary(u)?,
        1 => i64::MAX,
        2 => i64::MIN,
        3 => (-62_135_596_800_i64).saturating_mul(unit).saturating_sub(i64::from(bool::arbitrary(u)?)),
        4 => 253_402_300_799_i64.saturating_mul(unit).saturating_add(i64::from(i8::arbitrary(u)?)),
        _ => {
            (1_774_738_800 + i64::from(i16::arbitrary(u)?) * 60).saturating_mul(unit)
                + i64::from(i8::arbitrary(u)?)
        }
    })
}

fn rows(u: &mut Unstructured<'_>) -> Result<Rows> {
    let count = u.int_in_range(0..=30)?;
    let unit = *u.choose(&[1, 1_000, 1_000_000, 1_000_000_000])?;
    let several = |u: &mut Unstructured<'_>, most: u32| -> Result<Vec<u32>> {
        (0..count).map(|_| u.int_in_range(0..=most)).collect()
    };
    let amount = |u: &mut Unstructured<'_>| -> Result<i64> {
        Ok(match u.int_in_range(0..=8)? {
            0 => i64::arbitrary(u)?,
            1 => 1_000_000_000_000 - i64::from(bool::arbitrary(u)?),
            2 => -1,
            _ => i64::from(u8::arbitrary(u)?),
        })
    };
    Ok(Rows {
        unit,
        local: u.arbitrary()?,
        ticks: (0..count).map(|_| tick(u, unit)).collect::<Result<_>>()?,
        // One number beyond the list: a name without a key.
        events: several(u, 8)?.into_iter().map(|n| n as u8).collect(),
        items: several(u, 5)?.into_iter().map(|n| n as u16).collect(),
        conditions: several(u, 4)?,
        amounts: (0..count).map(|_| amount(u)).collect::<Result<_>>()?,
        whole: u.arbitrary()?,
    })
}

impl Rows {
    /// The time of a row, worked out plainly.
    fn when(&self, row: usize) -> Option<When> {
        let (seconds, rest) = (self.ticks[row].div_euclid(self.unit), self.ticks[row].rem_euclid(self.unit));
        let nanos = u32::try_from(rest * (1_000_000_000 / self.unit)).unwrap();
        let at = DateTime::from_timestamp(seconds, nanos).filter(|at| in_range(at.date_naive()))?;
        Some(if self.local { When::Local(at.naive_utc()) } else { When::Instant(at.fixed_offset()) })
    }

    fn amount(&self, row: usize) -> Option<Amount> {
        let stated = self.amounts[row];
        if self.whole {
            stated.checked_mul(1_000_000).filter(|_| stated.abs() < 1_000_000_000_000)
        } else {
            Some(stated)
        }
        .map(Amount::from_micros)
    }
}

pub(crate) fn columns(data: &[u8]) {
    let mut u = Unstructured::new(data);
    let Ok(rows) = rows(&mut u) else { return };
    let cut = u.int_in_range(0..=rows.ticks.len()).unwrap_or(0);
    let (one_by_one, refused) = entry_by_entry(&rows);
    for threads in [1, 3] {
        for cut in [0, cut] {
            let (all, refused_as_columns) = as_columns(&rows, cut, threads);
            assert_eq!(
                refused, refused_as_columns,
                "other rows are refused, cut at {cut}, {threads} threads"
            );
            assert_eq!(one_by_one, all, "another answer, cut at {cut}, {threads} threads");
        }
    }
}

fn book() -> Book {
    let mut book = Book::new(&PROGRAM);
    let received = NaiveDate::from_ymd_opt(2026, 1, 10).unwrap();
    for id in ["C1", "C2"] {
        book.add_item(Item::new(id, "camera").received(received)).unwrap();
    }
    book
}

fn answer(mut book: Book) -> (usize, String) {
    let at = end_of(&book, "2026-06-30");
    (book.len(), checked_json(&book.standings(at)))
}

fn entry_by_entry(rows: &Rows) -> ((usize, String), Vec<usize>) {
    let mut book = book();
    let source = book.source("frame");
    let mut refused = Vec::new();
    for row in 0..rows.ticks.len() {
        let event = EVENTS.get(usize::from(rows.events[row])).map(|event| book.event_key(event));
        let item = ITEMS.get(usize::from(rows.items[row])).map(|item| book.item_key(item));
        let conditions = CONDITIONS.get(rows.conditions[row] as usize).map(|list| book.conditions_key(list));
        let (Some(when), Some(event), Some(item), Some(amount), Some(conditions)) =
            (rows.when(row), event, item, rows.amount(row), conditions)
        else {
            refused.push(row);
            continue;
        };
        let times = [when];
        let entry = Batch {
            item: Keys::One(item),
            amount: Amounts::Each(&[Some(amount)]),
            conditions: Keys::One(conditions),
            place: Some((source, Lines::From(row as u32))),
            ..Batch::new(Times::Each(&times), Keys::One(event))
        };
        if !book.record_batches(&[entry], NonZeroUsize::MIN).is_empty() {
            refused.push(row);
        }
    }
    (answer(book), refused)
}

fn as_columns(rows: &Rows, cut: usize, threads: usize) -> ((usize, String), Vec<usize>) {
    let mut book = book();
    let source = book.source("frame");
    let events = EVENTS.map(|event| Some(book.event_key(event)));
    let items = ITEMS.map(|item| Some(book.item_key(item)));
    let conditions = CONDITIONS.map(|list| Some(book.conditions_key(list)));
    let piece = |from: usize, to: usize| {
        let ticks = &rows.ticks[from..to];
        let ticks = match rows.unit {
            1 => Ticks::Seconds(ticks),
            1_000 => Ticks::Millis(ticks),
            1_000_000 => Ticks::Micros(ticks),
            _ => Ticks::Nanos(ticks),
        };
        let amounts = &rows.amounts[from..to];
        Batch {
            item: Keys::Coded(Codes::U16(&rows.items[from..to]), &items),
            amount: if rows.whole { Amounts::Whole(amounts) } else { Amounts::Micros(amounts) },
            conditions: Keys::Coded(Codes::U32(&rows.conditions[from..to]), &conditions),
            place: Some((source, Lines::From(from as u32))),
            ..Batch::new(
                if rows.local { Times::Local(ticks) } else { Times::Instants(ticks) },
                Keys::Coded(Codes::U8(&rows.events[from..to]), &events),
            )
        }
    };
    let pieces = [piece(0, cut), piece(cut, rows.ticks.len())];
    let refused = book.record_batches(&pieces, NonZeroUsize::new(threads).unwrap());
    let refused =
        refused.iter().map(|refused| refused.row + if refused.batch == 0 { 0 } else { cut }).collect();
    (answer(book), refused)
}
