//! Blocks and threads change nothing.

use crate::blocks::tests::{Decoder, check, shown, spoil};
use crate::limits::Limits;
use proptest::prelude::*;

const READ: Decoder =
    |sink, input, headings, limits, extent| super::read(sink, input, headings, limits, extent);

fn one(of: &'static [&'static str]) -> impl Strategy<Value = &'static str> {
    prop::sample::select(of)
}

/// A pair of a key and a value, mostly plain, every field now and then odd.
fn pair() -> impl Strategy<Value = &'static str> {
    one(&[
        r#""item": "C1""#,
        r#""item": "C1""#,
        r#""item": "\u00e9""#,
        r#""item": ["C1"]"#,
        r#""item": "C3""#,
        r#""amount": 1"#,
        r#""amount": 2.50"#,
        r#""amount": 1e3"#,
        r#""amount": "1,200""#,
        r#""amount": null"#,
        r#""in": "dust""#,
        r#""in": ["dust", "cold"]"#,
        r#""in": ["a;b"]"#,
        r#""until": "2026-01-03""#,
        r#""until": 7"#,
        r#""id": "E1""#,
        r#""ref": "E1""#,
        r#""note": "two\nlines""#,
        r#""note": {}"#,
        r#""itme": "C1""#,
        r#""remark": true"#,
    ])
}

/// A line: an entry with some pairs, or anything else that may stand there.
fn line() -> impl Strategy<Value = String> {
    let when =
        one(&["2026-01-02", "2026-01-02", "2026-01-02T03:04:05Z", "2026-02-01T10:00", "2026-02-30", ""]);
    let event = one(&[
        "lens change",
        "lens change",
        "Lens Changes",
        "frames",
        "trip",
        "knock",
        "dusting",
        "void",
        "",
    ]);
    let entry =
        (when, event, prop::collection::vec(pair(), 0..4), one(&["\n", "\n", "\n", "\r\n", "\n\n", ""]));
    let entry = entry.prop_map(|(when, event, pairs, end)| {
        let pairs: String = pairs.iter().map(|pair| format!(", {pair}")).collect();
        format!("{{\"when\": \"{when}\", \"event\": \"{event}\"{pairs}}}{end}")
    });
    let other = one(&[
        "[1]\n",
        "{}\n",
        "{\n",
        "\n",
        " \n",
        "\"",
        "\u{1}\n",
        "x\n",
        "[",
        "{\"when\": \"2026-01-02\"}\r\n",
    ]);
    prop_oneof![
        12 => entry,
        1 => other.prop_map(str::to_owned),
        1 => (1_usize..30).prop_map(|count| format!("{{\"note\": \"{}\"}}\n", "long ".repeat(count))),
        1 => (0_usize..9).prop_map(|number| format!("{{\"key {number}\": 1}}\n")),
    ]
}

fn log() -> impl Strategy<Value = Vec<u8>> {
    (prop::collection::vec(line(), 0..30), prop::option::weighted(0.2, 0_usize..3_000))
        .prop_map(|(lines, spoilt)| spoil(lines.concat(), spoilt))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn blocks_and_threads_change_nothing(
        log in log(),
        record_bytes in prop::sample::select(vec![1 << 20, 120]),
        columns in prop::sample::select(vec![16_000, 6]),
        problems in 0_usize..9,
    ) {
        check(READ, &log, &Limits { record_bytes, columns, problems, ..Limits::default() });
    }
}

/// Keys that come late, and a name that each block would be the first to have.
#[test]
fn late_keys_and_names_change_nothing() {
    let mut log = String::new();
    for row in 0..400 {
        let (day, item) =
            (1 + row % 28, ["C1", "C2", "blue bag", "nobody"].iter().cycle().nth(row).unwrap_or(&""));
        let late = if row % 90 == 89 { format!(", \"late {row}\": 1, \"amuont\": 2") } else { String::new() };
        log +=
            &format!("{{\"when\": \"2026-01-{day:02}\", \"event\": \"trip\", \"item\": \"{item}\"{late}}}\n");
    }
    let expected = shown(READ, log.as_bytes(), &Limits::default(), None);
    assert!(expected.contains("unknown-item") && expected.contains("unread-column"), "{expected}");
    check(READ, log.as_bytes(), &Limits::default());
}
