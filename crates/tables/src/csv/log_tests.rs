//! Blocks and threads change nothing: all that can be seen of a book is compared with reading in one block.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests")]

use crate::batch::Sink;
use crate::blocks::Extent;
use crate::error::ReadError;
use crate::limits::Limits;
use crate::mapping::{Columns, Headings, Kind};
use kitlore_engine::{Book, Item, Program, When};
use proptest::prelude::*;
use std::io::Read;
use std::num::NonZeroUsize;

const RULES: &str = "for cameras
  after 3 lens changes in dust or 90 days, inspect sensor
  after 50 frames, clean sensor
  after 4 trips or 2 knocks, inspect strap
";

/// In one block, or in blocks of some bytes by some threads.
type Way = Option<(usize, usize)>;

/// A stream that breaks off.
struct Broken<'a>(&'a [u8]);

impl Read for Broken<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> std::io::Result<usize> {
        match self.0.read(buffer)? {
            0 => Err(std::io::Error::other("the disk is gone")),
            count => Ok(count),
        }
    }
}

fn fill(sink: &mut Sink<'_>, input: impl Read, limits: &Limits, way: Way) -> Result<(), ReadError> {
    let columns = Columns::new();
    let headings = Headings { file: "log.csv", kind: Kind::Log, columns: &columns };
    let (block, threads) = way.unwrap_or((1 << 24, 1));
    let extent = Extent { block, threads: NonZeroUsize::new(threads).unwrap() };
    crate::csv::read(sink, input, &headings, limits, extent)
}

/// All that can be seen of a book after reading a log.
fn shown(input: impl Read, limits: &Limits, way: Way) -> String {
    let rules = Program::parse(RULES).unwrap();
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera").kit("blue bag")).unwrap();
    book.add_item(Item::new("C2", "camera").model("R-1")).unwrap();
    let mut sink = Sink::new(&mut book, "log.csv", limits.problems);
    let read = fill(&mut sink, input, limits, way).map_err(|error| error.to_string());
    sink.finish();
    let found = book.standings(rules.when_is_over(When::parse("2026-06-01").unwrap()));
    let problems: Vec<String> = found.problems().iter().map(|problem| format!("{problem:?}\n")).collect();
    let rows = serde_json::to_string_pretty(&found).unwrap();
    format!("{read:?}\n{} entries\n{rows}\n{}", book.len(), problems.concat())
}

/// Every way gives the same.
fn check(log: &[u8], limits: &Limits) {
    let expected = shown(log, limits, None);
    for block in [1, 2, 7, 30, 64, 200, 1 << 16] {
        for threads in 1..4 {
            assert_eq!(
                shown(log, limits, Some((block, threads))),
                expected,
                "{block} bytes, {threads} threads"
            );
        }
    }
    let expected = shown(Broken(log), limits, None);
    for (block, threads) in [(1, 1), (50, 2), (1 << 16, 3)] {
        assert_eq!(shown(Broken(log), limits, Some((block, threads))), expected, "{block} bytes, broken");
    }
}

fn one(of: &'static [&'static str]) -> impl Strategy<Value = &'static str> {
    prop::sample::select(of)
}

/// A row as logs have it: mostly plain, every field now and then odd.
fn row() -> impl Strategy<Value = String> {
    (
        one(&[
            "2026-01-02",
            "2026-01-02",
            "2026-01-02T03:04:05Z",
            "2026-02-01T10:00",
            "2026-02-30",
            "",
            "1.3.2026",
        ]),
        one(&[
            "lens change",
            "lens change",
            "Lens Changes",
            "frames",
            "trip",
            "knock",
            "dusting",
            " trip ",
            "inspect sensor",
            "void",
            "",
            "\"trip\"",
        ]),
        one(&["C1", "C1", "C2", "blue bag", "R-1", "cameras", "C3", "", "é", "\"C1\"", "\"C\"\"1\""]),
        one(&["", "1", "1", "2.5", "0", "-1", "\"1,200\"", "x", "1e3"]),
        one(&["", "", "dust", "dust;cold", "Dust", "\"dust\""]),
        one(&["", "", "", "", "", "2026-01-03", "E1", "E2"]),
        one(&[
            "",
            "",
            "windy",
            "\"windy, all day\"",
            "\"two\nlines\"",
            "5\" off",
            "\"2026-01-02,trip\n2026-01-02,trip,C1\"",
            "\u{a0}",
        ]),
        one(&["\n", "\n", "\n", "\r\n", "\r", "\n\n", "\n,,\n", ",,,\n", ",x\n", "\""]),
    )
        .prop_map(|(when, event, item, amount, conditions, id, note, end)| {
            format!("{when},{event},{item},{amount},{conditions},{id},{note}{end}")
        })
}

/// Anything that a csv reader may meet.
fn scrap() -> impl Strategy<Value = String> {
    one(&[
        "\"",
        "\"\"",
        ",",
        "\n",
        "\r",
        "\r\n",
        "é",
        "2026-01-02,trip\n",
        "2026-01-02,trip,C1",
        " ",
        "x",
        "1",
    ])
    .prop_map(str::to_owned)
}

fn log() -> impl Strategy<Value = Vec<u8>> {
    let headings = one(&[
        "when,event,item,amount,in,id,note",
        "when,event,item,amount,in,until,note",
        "when,event,item,amount,in,expect,note",
        "event,when,item,amount,in,note,by",
    ]);
    let part =
        prop_oneof![8 => row(), 1 => scrap(), 1 => (1_usize..300).prop_map(|count| "long ".repeat(count))];
    (
        headings,
        one(&["\n", "\r\n", "\r"]),
        prop::collection::vec(part, 0..40),
        prop::option::weighted(0.2, 0_usize..3000),
    )
        .prop_map(|(headings, end, parts, spoilt)| {
            let mut bytes = format!("{headings}{end}{}", parts.concat()).into_bytes();
            if let Some(byte) = spoilt.and_then(|at| bytes.get_mut(headings.len() + 2 + at)) {
                *byte = 0xE9;
            }
            bytes
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn blocks_and_threads_change_nothing(log in log(), record_bytes in prop::sample::select(vec![1 << 20, 80]), problems in 0_usize..9) {
        check(&log, &Limits { record_bytes, problems, ..Limits::default() });
    }
}

/// Enough rows between odd ones that they are filed as columns at once.
#[test]
fn long_runs_of_plain_rows_change_nothing() {
    let events = ["lens change", "frames", "trip", "knock", "dusting", "void", "inspect sensor", "Trips"];
    let items = ["C1", "C2", "blue bag", "cameras", "R-1", "nobody", ""];
    let mut log = "when,event,item,amount,in,id\n".to_owned();
    for row in 0..6_000 {
        let (event, item) = (events[row * 7 % 31 % events.len()], items[row * 5 % 23 % items.len()]);
        let (day, second) = (1 + row * 11 % 28, row % 60);
        let when = if row < 3_000 {
            format!("2026-01-{day:02}T10:00:{second:02}Z")
        } else {
            format!("2026-02-{day:02}")
        };
        let conditions = if row % 3 == 0 { "dust" } else { "" };
        let id = if row % 1_700 == 1_699 { "E1" } else { "" };
        let end = if row % 900 == 0 { "\r\n\n" } else { "\n" };
        log += &format!("{when},{event},\"{item}\",{},{conditions},{id}{end}", row % 9);
    }
    let limits = Limits::default();
    let expected = shown(log.as_bytes(), &limits, None);
    assert!(expected.contains("unknown-event") && expected.contains("duplicate-id"), "{expected}");
    for (block, threads) in [(500, 1), (500, 3), (40_000, 2), (1 << 19, 1)] {
        let found = shown(log.as_bytes(), &limits, Some((block, threads)));
        assert!(found == expected, "{block} bytes, {threads} threads");
    }
}
