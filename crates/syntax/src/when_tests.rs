use super::{When, WhenError, common};
use proptest::prelude::*;

/// Texts near the forms that are read: every part may be right, at its edge or wrong.
fn near() -> impl Strategy<Value = String> {
    let one = |parts: &'static [&'static str]| prop::sample::select(parts);
    (
        one(&[
            "2026", "0001", "0000", "9999", "2024", "1900", "026", "20é6", "2a26", ":026", "+026", "20260",
        ]),
        one(&["-", "-", "-", "/", ""]),
        one(&["01", "02", "12", "00", "13", "2", "0a"]),
        one(&["-01", "-28", "-29", "-30", "-31", "-32", "-00", "-1", " 01"]),
        one(&["", "", "T", "T", "t", " ", "  ", "_"]),
        one(&["", "00:00", "23:59", "24:00", "12:60", "1:30", "12:3", "0030", "é:00"]),
        one(&["", "", ":00", ":59", ":60", ":61", ":5", ":05.25", ":05.", ":05.1234567891"]),
        one(&["", "", "Z", "z", "+01:00", "-23:59", "+24:00", "+01", " ", "ZZ"]),
    )
        .prop_map(|(a, b, c, d, e, f, g, h)| [a, b, c, d, e, f, g, h].concat())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(20_000))]

    #[test]
    fn the_quick_way_reads_as_the_general_way(text in near()) {
        if let Some(quick) = common(text.as_bytes()) {
            prop_assert_eq!(Ok(quick), When::parse_any(&text));
        }
    }
}

#[test]
fn the_quick_way_is_taken_by_the_usual_forms() {
    for text in
        ["2026-01-02", "2026-01-02T03:04", "2026-01-02 03:04:05", "2026-01-02T03:04Z", "2026-01-02T03:04:05Z"]
    {
        assert_eq!(common(text.as_bytes()), When::parse_any(text).ok(), "{text}");
        assert!(common(text.as_bytes()).is_some(), "{text}");
    }
}

#[test]
fn every_form_is_read() {
    for (text, shown) in [
        ("2026-01-02", "2026-01-02"),
        ("2026-01-02t03:04z", "2026-01-02T03:04:00+00:00"),
        ("2026-01-02 03:04:05.25", "2026-01-02T03:04:05.250"),
        ("2026-01-02T03:04:05.1234567891", "2026-01-02T03:04:05.123456789"),
        ("2026-01-02T23:59:60", "2026-01-02T23:59:59.999999999"),
        ("2026-01-02T03:04:05+23:00", "2026-01-02T03:04:05+23:00"),
        ("2026-01-02T03:04:05-05:59", "2026-01-02T03:04:05-05:59"),
    ] {
        assert_eq!(When::parse(text).map(|when| when.to_string()).as_deref(), Ok(shown), "{text}");
    }
}

#[test]
fn what_is_no_time_is_no_time_to_either_way() {
    for (text, error) in [
        ("2a26-01-02", WhenError::Malformed),
        (":026-01-02", WhenError::Malformed),
        ("2026-0:-02", WhenError::Malformed),
        ("0000-01-02", WhenError::NoSuchDate),
        ("0001-01-01T00:30+01:00", WhenError::NoSuchDate),
        ("9999-12-31T23:30-01:00", WhenError::NoSuchDate),
        ("2026-01-02T03:04:05.", WhenError::Malformed),
        ("2026-01-02T03:04:05.2a", WhenError::Malformed),
        ("2026-01-02T03:04:05.2:", WhenError::Malformed),
        ("2026-01-02T24:00", WhenError::NoSuchTime),
        ("2026-01-02T03:04+24:00", WhenError::NoSuchTime),
        ("2026-01-02T03:04+01:60", WhenError::NoSuchTime),
    ] {
        assert_eq!(When::parse(text), Err(error), "{text}");
    }
}
