//! The table of codes: unique words, and examples that raise exactly their code.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a panic in a test is a failed test"
)]

use kitlore_syntax::codes::Code;
use kitlore_syntax::{NoIncludes, parse};
use std::collections::HashSet;

#[test]
fn words_are_unique_and_in_order() {
    let words: Vec<&str> = Code::ALL.iter().map(|c| c.word()).collect();
    assert!(words.is_sorted(), "not in alphabetical order");
    assert_eq!(words.iter().collect::<HashSet<_>>().len(), words.len());
    for code in Code::ALL {
        assert!(code.word().chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}", code.word());
        assert!(code.about().ends_with('.'), "{}", code.word());
    }
}

#[test]
fn examples_raise_their_code_alone() {
    for code in Code::ALL.iter().filter(|c| !c.example().is_empty()) {
        let list = match parse("t.lore", code.example(), &NoIncludes) {
            Ok(house) => house.doubts,
            Err(mistakes) => mistakes.list,
        };
        let raised: Vec<&str> = list.iter().map(|d| d.code.word()).collect();
        assert_eq!(raised, [code.word()], "the example of {}:\n{}", code.word(), code.example());
    }
}

/// The bounds are too large for an example in the table.
#[test]
fn bounds_raise_their_code() {
    let raised = |text: &str| {
        let list = parse("t.lore", text, &NoIncludes).unwrap_err().list;
        list.iter().map(|d| d.code.word()).collect::<Vec<_>>()
    };
    // What only running an example shows.
    let mut seen = HashSet::from(["example-fails"]);
    let mut expect = |text: String, code: &'static str| {
        assert!(raised(&text).contains(&code), "{code}");
        seen.insert(code);
    };
    expect("#".repeat(4 * 1024 * 1024 + 1), "file-too-large");
    expect(format!("events {}a", "trip, ".repeat(11_000)), "line-too-long");
    expect(format!("after {}1 trip{}, x", "(".repeat(65), ")".repeat(65)), "nested-too-deep");
    expect("x\n".repeat(200), "too-many-mistakes");
    expect("every day, x\n".repeat(100_001), "too-many-rules");
    expect((0..1_001).map(|n| format!("a k-{n} is a k\n")).collect(), "too-many-links");
    expect((0..1_001).map(|n| format!("t-{n} covers t\n")).collect(), "too-many-links");
    let without: HashSet<&str> =
        Code::ALL.iter().filter(|c| c.example().is_empty()).map(|c| c.word()).collect();
    assert_eq!(seen, without);
}
