//! No text costs more than its size is worth: 1 MiB of anything is answered within 2 seconds by a release build.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a panic in a test is a failed test"
)]

use kitlore_syntax::{Loaded, Loader, NoIncludes, parse, tidy};
use std::cell::Cell;
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

/// The only mistake of a text: what is said, and the text it is about.
fn reported(text: &str) -> (String, String) {
    let mistakes = parse("t", text, &NoIncludes).unwrap_err();
    assert_eq!(mistakes.list.len(), 1, "{mistakes}");
    (mistakes.list[0].message.clone(), mistakes.sources.text(mistakes.list[0].span).to_owned())
}

#[test]
fn nesting_up_to_the_bound_is_read() {
    let nested = |depth: usize| format!("after {}1 trip{}, x", "(".repeat(depth), ")".repeat(depth));
    assert!(parse("t", &nested(64), &NoIncludes).is_ok());
    assert_eq!(reported(&nested(65)), ("brackets are nested more than 64 deep".to_owned(), "(".to_owned()));
    assert!(tidy("t", &nested(64)).is_ok());
}

#[test]
fn statements_and_files_up_to_the_bound_are_read() {
    let statement =
        |bytes: usize| format!("# one\nevents {}\nevery day, x", "a".repeat(bytes - "events ".len()));
    assert!(parse("t", &statement(64 * 1024), &NoIncludes).is_ok());
    let long = "this statement is longer than 64 KiB".to_owned();
    assert_eq!(reported(&statement(64 * 1024 + 1)), (long, "e".to_owned()));
    assert!(parse("t", &"\n".repeat(4 * MIB), &NoIncludes).is_ok());
    assert_eq!(reported(&"\n".repeat(4 * MIB + 1)).0, "`t` is larger than 4 MiB");
}

#[test]
fn links_up_to_the_bound_are_read() {
    let many = |links: usize, line: &dyn Fn(usize) -> String| (0..links).map(line).collect::<String>();
    let kinds = |n: usize| format!("a k-{n} is a k\n");
    let covers = |n: usize| format!("t-{n} covers t\n");
    for line in [&kinds as &dyn Fn(usize) -> String, &covers] {
        assert!(parse("t", &many(1_000, line), &NoIncludes).is_ok());
        assert_eq!(
            reported(&many(1_001, line)).0,
            "the house has more than 1000 narrower kinds or covered tasks"
        );
    }
}

/// Files named by a number: the text of each, and how many were asked for.
struct Numbered<'a>(&'a dyn Fn(usize) -> String, Cell<usize>);

impl Loader for Numbered<'_> {
    fn load(&self, path: &str, _from: &str) -> Result<Loaded, String> {
        self.1.set(self.1.get() + 1);
        let number: usize = path.parse().map_err(|_| "no number")?;
        Ok(Loaded { name: path.to_owned(), text: self.0(number) })
    }
}

#[test]
fn files_up_to_the_bound_are_read() {
    let row =
        |last: usize| move |n: usize| if n < last { format!("include \"{}\"", n + 1) } else { String::new() };
    let in_a_row = |files: usize| parse("1", "include \"2\"", &Numbered(&row(files), Cell::default()));
    assert!(in_a_row(32).is_ok());
    assert_eq!(in_a_row(33).unwrap_err().list[0].message, "with `33` the house has too many files");

    let side_by_side = |files: usize| {
        let text: String = (2..=files).map(|n| format!("include \"{n}\"\n")).collect();
        parse("1", &text, &Numbered(&|_| String::new(), Cell::default()))
    };
    assert!(side_by_side(1_000).is_ok());
    assert_eq!(side_by_side(1_001).unwrap_err().list[0].message, "with `1001` the house has too many files");
}

#[test]
fn reading_stops_where_mistakes_are_too_many() {
    let loader = Numbered(&|_| String::new(), Cell::default());
    let codes = |text: &str| {
        let list = parse("t", text, &loader).unwrap_err().list;
        (list.len(), list.last().map(|d| d.code.word()))
    };
    assert_eq!(codes(&("x\n".repeat(99) + "include \"1\"")), (99, Some("unknown-statement")));
    assert_eq!(loader.1.get(), 1);
    assert_eq!(codes(&("x\n".repeat(100) + "include \"1\"")), (101, Some("too-many-mistakes")));
    assert_eq!(loader.1.get(), 1, "another file was asked for");
    let three_in_a_line = "every day, x; takes 1 hour; takes 2 hours; takes 3 hours; takes 4 hours";
    assert_eq!(codes(&("x\n".repeat(99) + three_in_a_line)), (101, Some("too-many-mistakes")));
    // What stands behind an open bracket is found twice and reported once.
    assert_eq!(
        codes(&("after (1 x,\n§ y\n".to_owned() + &"x\n".repeat(200))),
        (100, Some("too-many-mistakes"))
    );
}

#[test]
fn mistakes_are_capped_with_a_note() {
    let list = parse("t", &"x\n".repeat(5000), &NoIncludes).unwrap_err().list;
    assert_eq!(list.len(), 101);
    assert_eq!(list.last().map(|d| d.code.word()), Some("too-many-mistakes"));
}
