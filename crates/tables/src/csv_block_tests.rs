#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

use super::{Block, Clock, Learnt, NAMES, Parsed, Parser, Run, Shape, Whens};
use crate::columns::Columns;
use crate::field::Kind;
use crate::layout::Headings;
use kitlore_engine::When;
use proptest::prelude::*;

/// What a block is taken for: plain runs by their rows, odd ones by their text, and what is left.
fn shown(text: &str, last: bool) -> String {
    let headings = ["when", "event", "item", "amount", "in", "until", "id", "note", "expect"];
    let columns = Columns::new();
    let layout =
        Headings { file: "log.csv", kind: Kind::Log, columns: &columns }.layout(&headings, 1).unwrap();
    let shape = Shape::new(&layout, b',', 60);
    let learnt: [Learnt; NAMES] = Default::default();
    let Parsed { block, runs, complete, .. } =
        Parser::new(&shape, &learnt).parse(Block { bytes: text.as_bytes().to_vec(), last });
    let text = |from, to| String::from_utf8_lossy(&block.bytes[from..to]).into_owned();
    let mut parts: Vec<String> = runs
        .iter()
        .map(|run| match run {
            Run::Plain { rows, lines, dense, .. } => {
                format!("plain {} of {lines}{}", rows.len(), if *dense { "" } else { ", gaps" })
            }
            Run::Odd { start, end } => format!("odd {:?}", text(*start, *end)),
        })
        .collect();
    if complete < block.bytes.len() {
        parts.push(format!("left {:?}", text(complete, block.bytes.len())));
    }
    parts.join("; ")
}

#[test]
fn rows_are_plain_where_nothing_is_to_be_told() {
    for (text, expected) in [
        ("2026-01-02,trip\n2026-01-02,trip,C1,1,dust,,,windy\r\n", "plain 2 of 2"),
        ("2026-01-02,\"a trip\",\"C1\",\"1\"\n\n\"2026-01-02\",trip\n", "plain 2 of 3, gaps"),
        ("\n\r\n2026-01-02,trip\n\n", "plain 1 of 4, gaps"),
        ("2026-01-02,trip,C1,,,,E1\n2026-01-02,trip\n", r#"odd "2026-01-02,trip,C1,,,,E1\n"; plain 1 of 1"#),
        ("2026-01-02,trip,C1,,,,,,frames 9\n", r#"odd "2026-01-02,trip,C1,,,,,,frames 9\n""#),
        ("2026-01-02,trip,C1,-1\n,,\n", r#"odd "2026-01-02,trip,C1,-1\n,,\n""#),
        ("2026-01-02,trip,,,,,,\"a\nb\"\n", r#"odd "2026-01-02,trip,,,,,,\"a\nb\"\n""#),
        ("2026-01-02,trip,,,,,,,,,x\n", r#"odd "2026-01-02,trip,,,,,,,,,x\n""#),
        ("2026-01-02,trip\n2026-01", r#"plain 1 of 1; left "2026-01""#),
        ("2026-01-02,trip\r", r#"left "2026-01-02,trip\r""#),
        ("2026-01-02,trip\n\"2026", r#"plain 1 of 1; left "\"2026""#),
        (
            "2026-01-02,trip,,,,,,a note with more bytes than the limit of sixty\n",
            r#"odd "2026-01-02,trip,,,,,,a note with more bytes than the limit of sixty\n""#,
        ),
    ] {
        assert_eq!(shown(text, false), expected, "{text:?}");
    }
    assert_eq!(shown("2026-01-02,trip\r2026-01-02,trip", true), r#"plain 1 of 1; odd "2026-01-02,trip""#);
}

#[test]
fn times_are_narrow_until_one_is_not() {
    let (mut whens, mut clock) = (Whens::default(), Clock::default());
    for text in ["2026-01-01T00:00:00Z", "2026-01-01T01:00:00+01:00", "2026-01-01T00:00:00Z"] {
        whens.push(clock.read(text).unwrap());
    }
    assert!(matches!(&whens, Whens::Instants(seconds) if seconds == &[1_767_225_600; 3]));
    whens.push(clock.read("2026-01-02").unwrap());
    let Whens::Each(each) = whens else { panic!("a date is no second") };
    let expected = ["2026-01-01T00:00:00Z", "2026-01-01T00:00:00Z", "2026-01-01T00:00:00Z", "2026-01-02"];
    assert_eq!(each, expected.map(|text| When::parse(text).unwrap()));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(5_000))]

    #[test]
    fn the_clock_reads_what_is_read_of_each_text_alone(
        texts in prop::collection::vec(
            (
                prop::sample::select(vec!["2026-01-01", "2026-01-02", "0001-01-01", "9999-12-31", "2026-02-30", "\0\0\0\0\0\0\0\0\0\0"]),
                prop::sample::select(vec!["T00", "T23", "T24", "T2:", " 01", ""]),
                prop::sample::select(vec![":00:00", ":59:59", ":60:00", ":00:60", ":00", ":0/:00", ":00:00.5", ""]),
                prop::sample::select(vec!["Z", "Z", "Z", "", "z", "+05:30", "-23:59"]),
            ),
            1..9,
        ),
    ) {
        let mut clock = Clock::default();
        for (date, hour, rest, zone) in texts {
            let text = [date, hour, rest, zone].concat();
            let instant = |when| match when {
                When::Instant(at) => When::Instant(at.to_utc().fixed_offset()),
                when => when,
            };
            let read = clock.read(&text).map(|moment| instant(moment.when()));
            prop_assert_eq!(read, When::parse(&text).ok().map(instant), "{}", text);
        }
    }
}
