//! Blocks and threads change nothing.
#![allow(clippy::indexing_slicing, reason = "tests")]

use crate::blocks::tests::{Decoder, check, shown, spoil};
use crate::limits::Limits;
use proptest::prelude::*;

const READ: Decoder =
    |sink, input, headings, limits, extent| crate::csv::read(sink, input, headings, limits, extent);

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
            spoil(format!("{headings}{end}{}", parts.concat()), spoilt.map(|at| headings.len() + 2 + at))
        })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn blocks_and_threads_change_nothing(log in log(), record_bytes in prop::sample::select(vec![1 << 20, 80]), problems in 0_usize..9) {
        check(READ, &log, &Limits { record_bytes, problems, ..Limits::default() });
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
    let expected = shown(READ, log.as_bytes(), &limits, None);
    assert!(expected.contains("unknown-event") && expected.contains("duplicate-id"), "{expected}");
    for (block, threads) in [(500, 1), (500, 3), (40_000, 2), (1 << 19, 1)] {
        let found = shown(READ, log.as_bytes(), &limits, Some((block, threads)));
        assert!(found == expected, "{block} bytes, {threads} threads");
    }
}
