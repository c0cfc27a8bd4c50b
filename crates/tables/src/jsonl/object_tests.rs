//! What is read without serde is what serde reads.
#![allow(clippy::unwrap_used, reason = "tests")]

use super::{Object, Pairs, Plain};
use proptest::prelude::*;

fn plain(text: &str) -> Option<Pairs<'_>> {
    let mut pairs = Pairs::new();
    (Plain { text, at: 0 }).object(&mut pairs)?;
    Some(pairs)
}

fn by_serde(text: &str) -> Option<Pairs<'_>> {
    let object: Object<'_> = serde_json::from_str(text).ok()?;
    Some(object.0.into_iter().map(|(key, value)| (key, value.get())).collect())
}

/// Pieces of JSON and of what is nearly so, in any order.
fn scraps() -> impl Strategy<Value = String> {
    let scrap = prop::sample::select(vec![
        "{", "}", "\"", "\\", ":", ",", " ", "\t", "\r", "\n", "\"a\":", "\"b\" : ", "\"é\"", "\"x\"", "0",
        "1", "-", "-0", "01", "1.5", "1.", ".5", "1e3", "true", "false", "null", "nul", "[", "]", "[1]",
        "{}", "\u{1}", "\u{7f}", "\\n", "\u{2028}",
    ]);
    prop::collection::vec(scrap, 0..12).prop_map(|scraps| scraps.concat())
}

/// Objects with values of every sort.
fn objects() -> impl Strategy<Value = String> {
    let value = prop::sample::select(vec![
        "\"\"",
        "\"two words\"",
        "\"é\"",
        "\"a\\\"b\"",
        "0",
        "-0",
        "12",
        "00",
        "-1.50",
        "1e9",
        "1.",
        "-",
        "true",
        "null",
        "tru",
        "[\"a\"]",
        "{}",
        "\"a\tb\"",
        "",
    ]);
    let blank = prop::sample::select(vec!["", "", " ", "\t ", "\r"]);
    let pair = (prop::sample::select(vec!["a", "b", "é", "a\\u0062", ""]), blank, value)
        .prop_map(|(key, blank, value)| format!("{blank}\"{key}\"{blank}:{blank}{value}{blank}"));
    prop::collection::vec(pair, 0..4).prop_map(|pairs| format!("{{{}}}", pairs.join(",")))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn what_is_plain_is_as_serde_reads_it(text in prop_oneof![scraps(), objects()]) {
        if let Some(pairs) = plain(&text) {
            prop_assert_eq!(Some(pairs), by_serde(&text), "{}", text);
        }
    }
}

/// Which objects are taken as plain: else the comparison above could compare nothing.
#[test]
fn plain_objects() {
    for text in [
        r#"{"when":"2026-01-02","amount":1.50}"#,
        r#" { "a" : -0 , "b":true,"c": null }"#,
        "{\"é\":\"\u{7f}\"}\r",
    ] {
        assert!(plain(text).is_some_and(|pairs| Some(pairs) == by_serde(text)), "{text}");
    }
    for text in
        ["{}", r#"{"a":1e3}"#, r#"{"a":"\n"}"#, r#"{"a":[1]}"#, r#"{"a":{}}"#, r#"{"a":01}"#, r#"{"a":1} x"#]
    {
        assert!(plain(text).is_none(), "{text}");
    }
}
