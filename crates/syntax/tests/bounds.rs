//! No text costs more than its size is worth: 1 MiB of anything is answered within 2 seconds by a release build.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a panic in a test is a failed test"
)]

use kitlore_syntax::{NoIncludes, parse, tidy};
use std::time::{Duration, Instant};

const MIB: usize = 1024 * 1024;

/// `unit` again and again, 1 MiB in all.
fn much(unit: &str) -> String {
    unit.repeat(MIB / unit.len())
}

/// Lines of 60 KiB, 1 MiB in all.
fn long_lines(start: &str, unit: &str, end: &str) -> String {
    let line = format!("{start}{}{end}\n", unit.repeat((60 * 1024 - start.len() - end.len()) / unit.len()));
    line.repeat(MIB / line.len())
}

#[test]
fn a_mebibyte_of_anything() {
    let deep = |inner: &str| format!("{}{inner}{}", "(".repeat(60), ")".repeat(60));
    // Unoptimised code on a machine that does other work as well takes some times as long.
    let allowed = Duration::from_secs(if cfg!(debug_assertions) { 10 } else { 2 });
    let texts = [
        ("(", much("(")),
        (")", much(")")),
        ("()", much("()")),
        ("or", much("or")),
        ("or and a blank", much("or ")),
        ("one long word", much("x")),
        ("NUL", much("\0")),
        ("a and a blank", much("a ")),
        ("quotes", much("\"")),
        ("quotes with a backslash", much("\"\\")),
        ("lines", much("\n")),
        ("comments", much("#\n")),
        ("bad lines", much("a\n")),
        ("lines that go on", much("or\n")),
        ("brackets that go on", much("(\n")),
        ("commas", much(",")),
        ("digits", much("1")),
        ("marks", format!("e{}", much("\u{301}"))),
        ("unclosed brackets in triggers", much("after (")),
        ("a long list", long_lines("after 1 x in ", "a1 or ", "b, y")),
        ("a long list with a bad end", long_lines("after 1 x in ", "a1 or ", "90 days in b, y")),
        ("verbs", long_lines("when ", "finds ", "is, y")),
        ("verbs that covers could be", long_lines("", "covers ", "; y")),
        ("weights with a bad end", long_lines("after 1 x (", "in a count 1, ", "in b), y")),
        ("a filter with a bad end", long_lines("for x where ", "a is b or ", "c")),
        (
            "a filter in brackets",
            long_lines(
                &format!("for x where {}", "(".repeat(60)),
                "a is b or ",
                &format!("a{}", ")".repeat(60)),
            ),
        ),
        (
            "a trigger in brackets",
            long_lines(&format!("after {}", "(".repeat(60)), "1 x, ", &format!("{}, y", ")".repeat(60))),
        ),
        ("brackets in brackets", format!("after {}, y\n", deep("1 x ,y")).repeat(MIB / 140)),
        ("an item line", format!("example \"x\"\n{}", long_lines("", "a ", ""))),
        ("a task", long_lines("every day, ", "a ", "and b")),
        ("details", long_lines("every day, x", "; caution", "")),
    ];
    for (what, text) in texts {
        let start = Instant::now();
        let answer = parse("t.lore", &text, &NoIncludes);
        let took = start.elapsed();
        assert!(took < allowed, "{what}: {took:?}");
        let harmless = ["lines", "comments", "a long list"].contains(&what);
        assert_eq!(answer.is_ok(), harmless, "{what}");
        if let Err(mistakes) = answer {
            assert!(mistakes.list.len() <= 101, "{what}");
            let long =
                mistakes.list.iter().map(|d| d.message.len() + d.help.as_deref().unwrap_or("").len()).max();
            assert!(long < Some(1500), "{what}: a message of {long:?} bytes");
        }
    }
}

#[test]
fn nesting_up_to_the_bound_is_read() {
    let nested = |depth: usize| format!("after {}1 trip{}, x", "(".repeat(depth), ")".repeat(depth));
    assert!(parse("t", &nested(64), &NoIncludes).is_ok());
    assert!(parse("t", &nested(65), &NoIncludes).is_err());
    assert!(tidy("t", &nested(64)).is_ok());
}

#[test]
fn mistakes_are_capped_with_a_note() {
    let list = parse("t", &"x\n".repeat(5000), &NoIncludes).unwrap_err().list;
    assert_eq!(list.len(), 101);
    assert_eq!(list.last().map(|d| d.code), Some("too-many-mistakes"));
}
