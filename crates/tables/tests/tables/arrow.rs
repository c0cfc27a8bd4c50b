//! Record batches: the same answer as from text, typed columns, and problems with what cannot be used.

#![cfg(feature = "arrow")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a test: a panic is its failure")]

use arrow_array::types::{Int32Type, UInt8Type};
use arrow_array::{
    ArrayRef, DictionaryArray, Float64Array, Int64Array, RecordBatch, RecordBatchIterator, StringArray,
    StringViewArray, TimestampMillisecondArray,
};
use arrow_schema::{ArrowError, SchemaRef};
use kitlore_engine::{Book, Program, When};
use kitlore_tables::{Columns, Kind, Limits, ReadError, Table, read_batches, read_items, read_log};
use std::num::NonZeroUsize;
use std::sync::Arc;

const RULES: &str = "time zone Europe/Lisbon\nfor cameras\n  after 20 lens changes in dust, inspect sensor\n  when unused for 30 days, exercise shutter";
const ITEMS: &[u8] = b"id,kind,received\nC1,camera,2026-01-10\n";
const LOG: &[u8] = b"when,item,event,amount,in\n2026-07-07T09:30:00,C1,lens change,12,dust\n2026-07-08T00:00:00,,lens change,8.5,dust;rain\n";

fn batch(columns: Vec<(&str, ArrayRef)>) -> RecordBatch {
    RecordBatch::try_from_iter_with_nullable(columns.into_iter().map(|(name, array)| (name, array, true)))
        .unwrap()
}

/// Rows and problems of a log over the items, in words.
fn reported(log: impl FnOnce(&mut Book) -> Result<(), ReadError>) -> Vec<String> {
    let rules = Program::parse(RULES).unwrap();
    let mut book = Book::new(&rules);
    read_items(
        &mut book,
        Table::from_bytes("items.csv", ITEMS).unwrap(),
        &Columns::new(),
        &Limits::default(),
    )
    .unwrap();
    log(&mut book).unwrap();
    let found = book.standings(rules.when_is_over(When::parse("2026-07-08").unwrap()));
    let rows = found.rows().map(|row| {
        let counts: Vec<String> = row
            .rules()
            .flat_map(|account| account.parts())
            .map(|part| {
                let place = part.tipped_by.map(|place| place.line);
                format!("{:?} {:?} {place:?}", part.count.map(|count| count.to_string()), part.reached_at)
            })
            .collect();
        format!("{} {} {:?} {counts:?}", row.item, row.task, row.standing)
    });
    let problems = found
        .problems()
        .iter()
        .map(|problem| format!("{} {:?}", problem.code, problem.place.as_ref().map(|place| place.line)));
    rows.chain(problems).collect()
}

fn read(
    book: &mut Book,
    schema: SchemaRef,
    batches: Vec<Result<RecordBatch, ArrowError>>,
) -> Result<(), ReadError> {
    let mut batches = RecordBatchIterator::new(batches, schema);
    read_batches(book, Kind::Log, "log", &mut batches, &Columns::new(), &Limits::default(), NonZeroUsize::MIN)
}

fn reported_of(batches: Vec<RecordBatch>) -> Vec<String> {
    reported(|book| read(book, batches[0].schema(), batches.into_iter().map(Ok).collect()))
}

/// From text, with the row numbers that a frame has.
fn from_text() -> Vec<String> {
    let reported = reported(|book| {
        read_log(book, Table::from_bytes("log.csv", LOG).unwrap(), &Columns::new(), &Limits::default())
    });
    reported.iter().map(|line| line.replace("Some(3)", "Some(1)").replace("Some(2)", "Some(0)")).collect()
}

const SEVENTH: i64 = 1_783_416_600_000;
const EIGHTH: i64 = 1_783_468_800_000;

fn typed() -> RecordBatch {
    let events: DictionaryArray<UInt8Type> = ["lens change", "lens change"].into_iter().collect();
    batch(vec![
        ("when", Arc::new(TimestampMillisecondArray::from(vec![SEVENTH, EIGHTH]))),
        ("item", Arc::new(StringViewArray::from(vec![Some("C1"), None]))),
        ("event", Arc::new(events)),
        ("amount", Arc::new(Float64Array::from(vec![12.0, 8.5]))),
        ("in", Arc::new(StringArray::from(vec!["dust", "dust;rain"]))),
    ])
}

#[test]
fn typed_columns_say_what_text_says() {
    let text = from_text();
    assert!(text.iter().any(|line| line.contains("20.5")), "{text:?}");
    assert_eq!(reported_of(vec![typed()]), text);
}

#[test]
fn the_cut_into_batches_changes_nothing() {
    assert_eq!(reported_of(vec![typed().slice(0, 1), typed().slice(1, 1)]), reported_of(vec![typed()]));
}

#[test]
fn midnights_alone_are_dates() {
    let of = |times: Vec<i64>| {
        let rows = times.len();
        batch(vec![
            ("when", Arc::new(TimestampMillisecondArray::from(times)) as ArrayRef),
            ("event", Arc::new(StringArray::from(vec!["inspect sensor"; rows]))),
            ("item", Arc::new(StringArray::from(vec!["C1"; rows]))),
        ])
    };
    // A completion that is dated without time, beside timed uses, is reported; one at 00:00 is not.
    let uses = |book: &mut Book| {
        let log = b"when,item,event\n2026-07-08T10:00:00,C1,lens change\n";
        read_log(book, Table::from_bytes("uses.csv", log).unwrap(), &Columns::new(), &Limits::default())
    };
    let doubts = |batches: Vec<RecordBatch>| {
        let reported = reported(|book| {
            uses(book)?;
            read(book, batches[0].schema(), batches.into_iter().map(Ok).collect())
        });
        reported.iter().filter(|line| line.starts_with("same-day-order")).count()
    };
    assert_eq!(doubts(vec![of(vec![EIGHTH])]), 1);
    assert_eq!(doubts(vec![of(vec![EIGHTH]), of(vec![EIGHTH - 86_400_000])]), 1);
    assert_eq!(doubts(vec![of(vec![EIGHTH]), of(vec![SEVENTH])]), 0);
    // Midnights among clock times are reported where they are many.
    let reported = |times: Vec<i64>| {
        reported_of(vec![of(times)]).iter().filter(|line| line.starts_with("midnights")).count()
    };
    assert_eq!(reported(vec![EIGHTH, SEVENTH]), 0);
    assert_eq!(reported(vec![EIGHTH, EIGHTH - 86_400_000, SEVENTH]), 1);
    assert_eq!(reported([vec![EIGHTH; 2], vec![SEVENTH; 18]].concat()), 1);
    assert_eq!(reported([vec![EIGHTH; 2], vec![SEVENTH; 19]].concat()), 0);
}

#[test]
fn what_cannot_be_used_is_told_by_row() {
    let log = batch(vec![
        (
            "when",
            Arc::new(TimestampMillisecondArray::from(vec![
                Some(SEVENTH),
                None,
                Some(i64::MAX),
                Some(SEVENTH),
            ])),
        ),
        (
            "event",
            Arc::new(StringArray::from(vec![
                None,
                Some("lens change"),
                Some("lens change"),
                Some("lens change"),
            ])),
        ),
        ("amount", Arc::new(Float64Array::from(vec![1.0, 1.0, 1.0, f64::NAN]))),
    ]);
    let reported = reported_of(vec![log]);
    let problems: Vec<&str> = reported[2..].iter().map(String::as_str).collect();
    assert_eq!(
        problems,
        ["missing-event Some(0)", "bad-time Some(1)", "bad-time Some(2)", "bad-number Some(3)"]
    );
}

/// Batches that share a dictionary and use other texts of it each, and one with a dictionary of its own whose
/// numbers mean other texts.
#[test]
fn a_dictionary_shared_by_batches_is_that_of_each() {
    let shared: ArrayRef = Arc::new(StringArray::from(vec!["C1", "C9", "", "C8"]));
    let other: ArrayRef = Arc::new(StringArray::from(vec!["C9", "C1", "C1", "C1"]));
    let runs: [(&ArrayRef, Vec<Option<i32>>); 4] = [
        (&shared, vec![Some(1), Some(0)]),
        (&shared, vec![Some(3), None, Some(0)]),
        (&other, vec![Some(0), Some(1)]),
        (&shared, vec![Some(2), Some(0)]),
    ];
    let texts = |(values, keys): &(&ArrayRef, Vec<Option<i32>>)| -> ArrayRef {
        let list: &StringArray = values.as_any().downcast_ref().unwrap();
        let text = |key: &Option<i32>| key.map(|key| list.value(usize::try_from(key).unwrap()));
        Arc::new(keys.iter().map(text).collect::<StringArray>())
    };
    let coded = |(values, keys): &(&ArrayRef, Vec<Option<i32>>)| -> ArrayRef {
        Arc::new(DictionaryArray::<Int32Type>::new(keys.clone().into(), Arc::clone(values)))
    };
    let log = |item: ArrayRef| {
        let rows = item.len();
        batch(vec![
            ("when", Arc::new(TimestampMillisecondArray::from(vec![SEVENTH; rows])) as ArrayRef),
            ("event", Arc::new(StringArray::from(vec!["lens change"; rows]))),
            ("amount", Arc::new(Int64Array::from(vec![3; rows]))),
            ("in", Arc::new(StringArray::from(vec!["dust"; rows]))),
            ("item", item),
        ])
    };
    let reported = reported_of(runs.iter().map(|run| log(coded(run))).collect());
    assert_eq!(reported, reported_of(runs.iter().map(|run| log(texts(run))).collect()));
    assert!(
        reported.iter().any(|line| line.contains("inspect sensor") && line.contains("18")),
        "{reported:?}"
    );
    assert_eq!(reported.iter().filter(|line| line.starts_with("unknown-item")).count(), 3, "{reported:?}");
}

/// After so many rows all texts of a dictionary are known, and are so still when another one came between.
#[test]
fn a_dictionary_of_many_rows_is_that_of_each() {
    const MANY: usize = 1 << 21;
    let shared: ArrayRef =
        Arc::new(StringArray::from(vec!["lens change", "exercise shutter", "inspect sensor"]));
    let other: ArrayRef = Arc::new(StringArray::from(vec!["exercise shutter", "lens change"]));
    let coded = |numbers: Vec<u8>, texts: &ArrayRef| -> ArrayRef {
        Arc::new(DictionaryArray::<UInt8Type>::new(numbers.into(), Arc::clone(texts)))
    };
    let same =
        |text: &str, rows: usize| coded(vec![0; rows], &(Arc::new(StringArray::from(vec![text])) as _));
    let log = |numbers: Vec<u8>, events: &ArrayRef| {
        let rows = numbers.len();
        batch(vec![
            ("when", Arc::new(TimestampMillisecondArray::from(vec![SEVENTH; rows])) as ArrayRef),
            ("event", coded(numbers, events)),
            ("item", same("C1", rows)),
            ("in", same("dust", rows)),
        ])
    };
    let reported = reported_of(vec![
        log((0..3).cycle().take(MANY).collect(), &shared),
        log(vec![0, 0], &shared),
        log(vec![0, 1], &other),
        log(vec![2, 0, 1, 0], &shared),
    ]);
    let exercised = format!("Some({})", MANY + 7);
    assert_eq!(reported.len(), 2, "{reported:?}");
    assert!(reported[0].contains("exercise shutter") && reported[0].contains(&exercised), "{reported:?}");
    assert!(reported[1].contains("inspect sensor") && reported[1].contains("\\\"2\\\""), "{reported:?}");
}

#[test]
fn an_empty_dictionary_is_empty_texts() {
    let items =
        DictionaryArray::<Int32Type>::new(vec![None].into(), Arc::new(StringArray::from(Vec::<&str>::new())));
    let log = |item: ArrayRef| {
        batch(vec![
            ("when", Arc::new(TimestampMillisecondArray::from(vec![SEVENTH]))),
            ("event", Arc::new(StringArray::from(vec!["lens change"]))),
            ("item", item),
        ])
    };
    assert_eq!(
        reported_of(vec![log(Arc::new(items))]),
        reported_of(vec![log(Arc::new(StringArray::from(vec![""])))])
    );
}

#[test]
fn a_frame_that_cannot_be_read_is_an_error() {
    let rules = Program::parse(RULES).unwrap();
    let of = |batch: RecordBatch, then: Vec<Result<RecordBatch, ArrowError>>| {
        let schema = batch.schema();
        let mut all = vec![Ok(batch)];
        all.extend(then);
        read(&mut Book::new(&rules), schema, all).unwrap_err()
    };
    let missing = of(batch(vec![("when", Arc::new(Int64Array::from(vec![1])))]), vec![]);
    assert_eq!(missing.code(), "missing-column");
    let inner = batch(vec![("day", Arc::new(Int64Array::from(vec![1])))]);
    let when: ArrayRef = Arc::new(arrow_array::StructArray::from(inner));
    let wrong = of(batch(vec![("when", when), ("event", Arc::new(StringArray::from(vec!["x"])))]), vec![]);
    assert_eq!(wrong.code(), "column-type");
    let stopped =
        of(typed(), vec![Err(ArrowError::IoError("gone".to_owned(), std::io::Error::other("gone")))]);
    assert_eq!(stopped.code(), "batches-failed");
}
