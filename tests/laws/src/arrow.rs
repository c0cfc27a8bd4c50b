//! Record batches: columns of any type that a frame may have, whole and in pieces, are read alike.

use crate::answers::{checked_json, end_of};
use crate::tables::{LIMITS, PROGRAM};
use arbitrary::{Arbitrary, Result, Unstructured};
use arrow_array::builder::{ListBuilder, StringBuilder};
use arrow_array::types::Int32Type;
use arrow_array::{
    ArrayRef, BooleanArray, Date32Array, Date64Array, Decimal128Array, DictionaryArray, Float32Array,
    Float64Array, Int8Array, Int64Array, LargeStringArray, ListArray, NullArray, RecordBatch,
    RecordBatchIterator, StringArray, StringViewArray, TimestampMicrosecondArray, TimestampNanosecondArray,
    TimestampSecondArray, UInt64Array,
};
use kitlore_engine::{Book, Item};
use kitlore_tables::{Columns, Kind, read_batches};
use std::num::NonZeroUsize;
use std::sync::Arc;

const HEADINGS: [&str; 14] = [
    "when", "until", "event", "item", "amount", "reading", "unit", "in", "found", "ref", "id", "by", "kind",
    "maker",
];
const TEXTS: [&str; 16] = [
    "",
    "lens change",
    "inspect sensor",
    "trip",
    "void",
    "frames",
    "C1",
    "cameras",
    "dust;sand",
    "2026-02-07",
    "2026-02-07T09:30:00Z",
    "1,200.5",
    "-1",
    "NaN",
    "1;;2",
    "nobody",
];

/// A cell of a column of numbers or times: often one at an end of what its type holds.
fn number(u: &mut Unstructured<'_>) -> Result<Option<i64>> {
    Ok(match u.int_in_range(0..=9)? {
        0 => None,
        1 => Some(i64::MAX),
        2 => Some(i64::MIN),
        3 => Some(i64::arbitrary(u)?),
        4 => Some(i64::from(i32::arbitrary(u)?)),
        5 => Some(0),
        6 => Some(i64::from(u16::arbitrary(u)?) * 86_400),
        7 => Some(1_770_000_000_000_000 + i64::from(i32::arbitrary(u)?)),
        _ => Some(i64::from(i8::arbitrary(u)?)),
    })
}

fn text(u: &mut Unstructured<'_>) -> Result<Option<&'static str>> {
    Ok(if u.ratio(1, 8)? { None } else { Some(u.choose(&TEXTS)?) })
}

fn narrow<T: TryFrom<i64>>(numbers: &[Option<i64>]) -> Vec<Option<T>> {
    numbers.iter().map(|number| T::try_from((*number)?).ok()).collect()
}

fn column(u: &mut Unstructured<'_>, rows: usize) -> Result<ArrayRef> {
    let sort = u.int_in_range(0..=19)?;
    if sort < 7 {
        let texts = (0..rows).map(|_| text(u)).collect::<Result<Vec<_>>>()?;
        return Ok(match sort {
            0 => Arc::new(LargeStringArray::from(texts)),
            1 => Arc::new(StringViewArray::from(texts)),
            2 => Arc::new(texts.into_iter().collect::<DictionaryArray<Int32Type>>()),
            3 => list(&texts),
            _ => Arc::new(StringArray::from(texts)),
        });
    }
    let numbers = (0..rows).map(|_| number(u)).collect::<Result<Vec<_>>>()?;
    let float = |number: &Option<i64>| number.map(|number| number as f64 / 3.0);
    Ok(match sort {
        7 => Arc::new(Int64Array::from(numbers)),
        8 => Arc::new(Int8Array::from(narrow::<i8>(&numbers))),
        9 => Arc::new(UInt64Array::from(narrow::<u64>(&numbers))),
        10 => Arc::new(Float64Array::from_iter(numbers.iter().map(float))),
        11 => Arc::new(Float32Array::from_iter(
            numbers.iter().map(|number| number.map(|bits| f32::from_bits(bits as u32))),
        )),
        12 => {
            let numbers = Decimal128Array::from_iter(numbers.iter().map(|number| number.map(i128::from)));
            let scale = u.int_in_range(-5..=20)?;
            Arc::new(numbers.with_precision_and_scale(38, scale).expect("within the type"))
        }
        13 => Arc::new(Date32Array::from(narrow::<i32>(&numbers))),
        14 => Arc::new(Date64Array::from(numbers)),
        15 => Arc::new(TimestampSecondArray::from(numbers)),
        16 => Arc::new(TimestampMicrosecondArray::from(numbers).with_timezone("Europe/Lisbon")),
        17 => Arc::new(TimestampNanosecondArray::from(numbers)),
        18 => Arc::new(BooleanArray::from_iter(numbers.iter().map(|number| number.map(|n| n > 0)))),
        _ => Arc::new(NullArray::new(rows)),
    })
}

/// Each text as a list of one, a missing one as an empty list, one text as no list.
fn list(texts: &[Option<&str>]) -> ArrayRef {
    let mut lists = ListBuilder::new(StringBuilder::new());
    for text in texts {
        text.iter().for_each(|text| lists.values().append_value(text));
        lists.append(text.is_none_or(|text| text != "nobody"));
    }
    let lists: ListArray = lists.finish();
    Arc::new(lists)
}

fn batch(u: &mut Unstructured<'_>) -> Result<Option<RecordBatch>> {
    let rows = u.int_in_range(0..=6)?;
    let mut columns: Vec<(&str, ArrayRef)> = Vec::new();
    for _ in 0..u.int_in_range(1..=8)? {
        let heading = *u.choose(&HEADINGS)?;
        columns.push((heading, column(u, rows)?));
    }
    // The fields without which nothing is read at all are there mostly.
    for heading in ["when", "event", "id", "kind"] {
        if !columns.iter().any(|(known, _)| *known == heading) && u.ratio(9, 10)? {
            columns.push((heading, Arc::new(StringArray::from(vec![Some(TEXTS[9]); rows]))));
        }
    }
    Ok(RecordBatch::try_from_iter_with_nullable(
        columns.into_iter().map(|(heading, array)| (heading, array, true)),
    )
    .ok())
}

pub(crate) fn arrow(data: &[u8]) {
    let mut u = Unstructured::new(data);
    let Ok(Some(batch)) = batch(&mut u) else { return };
    let cut = u.int_in_range(0..=batch.num_rows()).unwrap_or(0);
    let pieces = vec![batch.slice(0, cut), batch.slice(cut, batch.num_rows() - cut)];
    for kind in [Kind::Items, Kind::Log] {
        assert_eq!(read(kind, vec![batch.clone()]), read(kind, pieces.clone()), "in pieces, another answer");
    }
}

/// What is answered after reading, or the code of why it cannot be read.
fn read(kind: Kind, batches: Vec<RecordBatch>) -> std::result::Result<(usize, String), &'static str> {
    let schema = batches[0].schema();
    let rows: usize = batches.iter().map(RecordBatch::num_rows).sum();
    let mut book = Book::new(&PROGRAM);
    if kind == Kind::Log {
        book.add_item(Item::new("C1", "camera")).expect("a new item");
    }
    let mut reader = RecordBatchIterator::new(batches.into_iter().map(Ok), schema);
    let threads = NonZeroUsize::MIN.saturating_add(rows % 2);
    read_batches(&mut book, kind, "frame", &mut reader, &Columns::new(), &LIMITS, threads)
        .map_err(|e| e.code())?;
    let at = end_of(&book, "2026-06-30");
    let found = book.standings(at);
    let answer = checked_json(&found);
    let last =
        found.problems().iter().filter_map(|problem| problem.place.as_ref()).map(|place| place.line).max();
    assert!(last.is_none_or(|line| (line as usize) < rows), "row {last:?} of {rows}");
    Ok((book.len(), answer))
}
