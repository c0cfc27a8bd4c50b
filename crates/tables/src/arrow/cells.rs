//! Cells of Arrow columns: which types are read, and what a cell says.

use crate::batch::Value;
use crate::mapping::Field;
use arrow_array::cast::AsArray;
use arrow_array::types::{
    Date32Type, Date64Type, Decimal32Type, Decimal64Type, Decimal128Type, Decimal256Type, DecimalType,
    Float16Type, Float32Type, Float64Type, Int8Type, Int16Type, Int32Type, Int64Type,
    TimestampMicrosecondType, TimestampMillisecondType, TimestampNanosecondType, TimestampSecondType,
    UInt8Type, UInt16Type, UInt32Type, UInt64Type,
};
use arrow_array::{Array, ArrayRef, RecordBatch};
use arrow_schema::{DataType, TimeUnit};
use chrono::{DateTime, NaiveDate, NaiveDateTime, NaiveTime};
use kitlore_engine::{Instant, Program};
use kitlore_syntax::{When, in_range};
use std::fmt::{self, Write};

const DAY: i64 = 86_400;

/// Whether a column of a type can be read at all.
pub(crate) fn is_read(data_type: &DataType) -> bool {
    use DataType::*;
    match data_type {
        Dictionary(_, values) => !matches!(**values, Dictionary(..)) && is_read(values),
        List(inner) | LargeList(inner) => is_text(inner.data_type()),
        Null | Boolean | Int8 | Int16 | Int32 | Int64 | UInt8 | UInt16 | UInt32 | UInt64 | Float16
        | Float32 | Float64 | Decimal32(..) | Decimal64(..) | Decimal128(..) | Decimal256(..) | Date32
        | Date64 | Timestamp(..) => true,
        other => is_text(other),
    }
}

pub(crate) fn is_text(data_type: &DataType) -> bool {
    matches!(data_type, DataType::Utf8 | DataType::LargeUtf8 | DataType::Utf8View)
}

/// Whether a field can be read from columns of a type: lists only where several names may stand.
pub(crate) fn suits(field: Field, data_type: &DataType) -> bool {
    let several = matches!(field, Field::In | Field::Found | Field::Kit);
    is_read(data_type) && (several || !matches!(data_type, DataType::List(_) | DataType::LargeList(_)))
}

/// The text of a cell of a column of texts.
pub(crate) fn text(array: &dyn Array, row: usize) -> Option<&str> {
    if array.is_null(row) {
        return None;
    }
    match array.data_type() {
        DataType::Utf8 => Some(array.as_string::<i32>().value(row)),
        DataType::LargeUtf8 => Some(array.as_string::<i64>().value(row)),
        DataType::Utf8View => Some(array.as_string_view().value(row)),
        _ => None,
    }
}

/// The entry of its dictionary that a row of a dictionary column has.
fn entry(array: &dyn Array, row: usize) -> Option<(&ArrayRef, usize)> {
    let dictionary = array.as_any_dictionary_opt()?;
    let number = match integer(dictionary.keys(), row)? {
        Integer::Signed(number) => usize::try_from(number).ok()?,
        Integer::Unsigned(number) => usize::try_from(number).ok()?,
    };
    let values = dictionary.values();
    (number < values.len() && values.is_valid(number)).then_some((values, number))
}

/// A cell of a column; `dates` says that its local times are all midnights and mean dates. What the column does
/// not hold as a text is written to `buffer`, whose earlier content goes.
pub(crate) fn cell<'a>(
    array: &'a dyn Array,
    row: usize,
    dates: bool,
    rules: &Program,
    buffer: &'a mut String,
) -> Value<'a> {
    if array.is_null(row) {
        return Value::Absent;
    }
    if let Some(text) = text(array, row) {
        return Value::Text(text);
    }
    buffer.clear();
    match array.data_type() {
        DataType::Dictionary(..) => match entry(array, row) {
            Some((values, number)) => cell(values, number, dates, rules, buffer),
            None => Value::Absent,
        },
        DataType::Boolean => Value::Text(if array.as_boolean().value(row) { "true" } else { "false" }),
        DataType::List(_) => joined(&array.as_list::<i32>().value(row), buffer),
        DataType::LargeList(_) => joined(&array.as_list::<i64>().value(row), buffer),
        _ => match time(array, row, dates) {
            Some(Ok(when)) => {
                // As the house's clocks show it: its date is then the house's date.
                let when = match when {
                    When::Instant(at) => When::Instant(rules.local(Instant::from(at))),
                    when => when,
                };
                // A text takes whatever is written to it.
                let _ = write!(buffer, "{when}");
                Value::Time(when, buffer)
            }
            Some(Err(text)) => {
                *buffer = text;
                Value::Text(buffer)
            }
            None => match write_number(array, row, buffer) {
                Some(_) => Value::Number(buffer),
                None => Value::Absent,
            },
        },
    }
}

/// The texts of a list, joined as in a csv cell.
fn joined<'a>(list: &ArrayRef, buffer: &'a mut String) -> Value<'a> {
    let mut texts = (0..list.len()).filter_map(|row| text(list, row));
    buffer.push_str(texts.next().unwrap_or(""));
    for text in texts {
        buffer.push(';');
        buffer.push_str(text);
    }
    Value::Text(buffer)
}

pub(crate) enum Integer {
    Signed(i64),
    Unsigned(u64),
}

/// A cell of a column of integers.
pub(crate) fn integer(array: &dyn Array, row: usize) -> Option<Integer> {
    if array.is_null(row) {
        return None;
    }
    Some(match array.data_type() {
        DataType::Int8 => Integer::Signed(array.as_primitive::<Int8Type>().value(row).into()),
        DataType::Int16 => Integer::Signed(array.as_primitive::<Int16Type>().value(row).into()),
        DataType::Int32 => Integer::Signed(array.as_primitive::<Int32Type>().value(row).into()),
        DataType::Int64 => Integer::Signed(array.as_primitive::<Int64Type>().value(row)),
        DataType::UInt8 => Integer::Unsigned(array.as_primitive::<UInt8Type>().value(row).into()),
        DataType::UInt16 => Integer::Unsigned(array.as_primitive::<UInt16Type>().value(row).into()),
        DataType::UInt32 => Integer::Unsigned(array.as_primitive::<UInt32Type>().value(row).into()),
        DataType::UInt64 => Integer::Unsigned(array.as_primitive::<UInt64Type>().value(row)),
        _ => return None,
    })
}

/// Writes a number as text: the shortest decimal of a binary fraction, no zeros at the end. `None` for a
/// column of something else.
fn write_number(array: &dyn Array, row: usize, buffer: &mut String) -> Option<fmt::Result> {
    Some(match array.data_type() {
        DataType::Float16 => write!(buffer, "{}", f32::from(array.as_primitive::<Float16Type>().value(row))),
        DataType::Float32 => write!(buffer, "{}", array.as_primitive::<Float32Type>().value(row)),
        DataType::Float64 => write!(buffer, "{}", array.as_primitive::<Float64Type>().value(row)),
        DataType::Decimal32(precision, scale) => {
            buffer.write_str(&decimal::<Decimal32Type>(array, row, *precision, *scale))
        }
        DataType::Decimal64(precision, scale) => {
            buffer.write_str(&decimal::<Decimal64Type>(array, row, *precision, *scale))
        }
        DataType::Decimal128(precision, scale) => {
            buffer.write_str(&decimal::<Decimal128Type>(array, row, *precision, *scale))
        }
        DataType::Decimal256(precision, scale) => {
            buffer.write_str(&decimal::<Decimal256Type>(array, row, *precision, *scale))
        }
        _ => match integer(array, row)? {
            Integer::Signed(number) => write!(buffer, "{number}"),
            Integer::Unsigned(number) => write!(buffer, "{number}"),
        },
    })
}

fn decimal<T: DecimalType>(array: &dyn Array, row: usize, precision: u8, scale: i8) -> String {
    let text = T::format_decimal(array.as_primitive::<T>().value(row), precision, scale);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// How many times of a column without zone are midnights, and how many are not.
pub(crate) fn midnights(array: &dyn Array) -> (usize, usize) {
    let (DataType::Timestamp(unit, None), Some(ticks)) = (array.data_type(), ticks(array)) else {
        return (0, 0);
    };
    let per_day = DAY * per_second(*unit);
    let is_one = |(row, ticks): (usize, &i64)| ticks % per_day == 0 && array.is_valid(row);
    let count = ticks.iter().enumerate().filter(|one| is_one(*one)).count();
    (count, array.len() - array.null_count() - count)
}

/// Whether a column holds clock times without a zone.
pub(crate) fn is_local(data_type: &DataType) -> bool {
    matches!(data_type, DataType::Timestamp(_, None))
}

/// Whether a timestamp lies in the years 0001 to 9999.
pub(crate) fn in_years(ticks: i64, unit: TimeUnit) -> bool {
    /// The first second of the year 0001, and the last of 9999.
    const SECONDS: std::ops::RangeInclusive<i64> = -62_135_596_800..=253_402_300_799;
    SECONDS.contains(&ticks.div_euclid(per_second(unit)))
}

/// The stored numbers of a column of timestamps.
pub(crate) fn ticks(array: &dyn Array) -> Option<&[i64]> {
    let DataType::Timestamp(unit, _) = array.data_type() else {
        return None;
    };
    Some(match unit {
        TimeUnit::Second => array.as_primitive::<TimestampSecondType>().values(),
        TimeUnit::Millisecond => array.as_primitive::<TimestampMillisecondType>().values(),
        TimeUnit::Microsecond => array.as_primitive::<TimestampMicrosecondType>().values(),
        TimeUnit::Nanosecond => array.as_primitive::<TimestampNanosecondType>().values(),
    })
}

pub(crate) fn per_second(unit: TimeUnit) -> i64 {
    match unit {
        TimeUnit::Second => 1,
        TimeUnit::Millisecond => 1_000,
        TimeUnit::Microsecond => 1_000_000,
        TimeUnit::Nanosecond => 1_000_000_000,
    }
}

/// The time of a cell of a column of times; `None` for other columns and nulls, a text where the years
/// 0001 to 9999 do not hold it.
pub(crate) fn time(array: &dyn Array, row: usize, dates: bool) -> Option<Result<When, String>> {
    if array.is_null(row) {
        return None;
    }
    let days = |days: i64| {
        let date = DateTime::from_timestamp(days.checked_mul(DAY)?, 0)?.date_naive();
        in_range(date).then_some(When::Date(date))
    };
    Some(match array.data_type() {
        DataType::Date32 => {
            let number = i64::from(array.as_primitive::<Date32Type>().value(row));
            days(number).ok_or_else(|| format!("{number} days after 1970-01-01"))
        }
        DataType::Date64 => {
            let number = array.as_primitive::<Date64Type>().value(row).div_euclid(DAY * 1_000);
            days(number).ok_or_else(|| format!("{number} days after 1970-01-01"))
        }
        DataType::Timestamp(unit, zone) => {
            let ticks = *ticks(array)?.get(row)?;
            timestamp(ticks, *unit, zone.is_some(), dates)
                .ok_or_else(|| format!("{} seconds after 1970-01-01", ticks.div_euclid(per_second(*unit))))
        }
        _ => return None,
    })
}

/// The time of a timestamp; `None` outside the years 0001 to 9999.
pub(crate) fn timestamp(ticks: i64, unit: TimeUnit, zoned: bool, dates: bool) -> Option<When> {
    let per_second = per_second(unit);
    let (seconds, rest) = (ticks.div_euclid(per_second), ticks.rem_euclid(per_second));
    let nanos = u32::try_from(rest * (1_000_000_000 / per_second)).ok()?;
    let at = DateTime::from_timestamp(seconds, nanos)?;
    let date: NaiveDate = at.date_naive();
    if !in_range(date) {
        return None;
    }
    let local: NaiveDateTime = at.naive_utc();
    Some(match (zoned, dates) {
        (true, _) => When::Instant(at.fixed_offset()),
        (false, true) if local.time() == NaiveTime::MIN => When::Date(date),
        (false, _) => When::Local(local),
    })
}

/// How the cells of a frame are read one by one.
pub(crate) struct Cells {
    /// By column: whether it can be read.
    pub is_read: Vec<bool>,
    /// By column: all its local times so far were midnights.
    pub dates: Vec<bool>,
    pub rules: Program,
}

impl Cells {
    /// Where what cells say is written, by column.
    pub fn buffers(&self) -> Vec<String> {
        vec![String::new(); self.is_read.len()]
    }

    /// The cells of a row.
    pub fn row<'c>(&self, batch: &'c RecordBatch, row: usize, buffers: &'c mut [String]) -> Vec<Value<'c>> {
        let columns = batch.columns().iter().zip(buffers);
        columns
            .zip(self.is_read.iter().zip(&self.dates))
            .map(|((array, buffer), (is_read, dates))| match is_read {
                true => cell(array, row, *dates, &self.rules, buffer),
                false => Value::Absent,
            })
            .collect()
    }

    pub fn look_for_midnights(&mut self, batch: &RecordBatch) {
        for (dates, column) in self.dates.iter_mut().zip(batch.columns()).filter(|(dates, _)| **dates) {
            *dates = midnights(column).1 == 0;
        }
    }
}
