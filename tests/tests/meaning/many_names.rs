//! Names by the ten thousand cost what they are worth: what grows with the square would take minutes here.

#![allow(clippy::unwrap_used, reason = "a test: a panic is its failure")]

use kitlore_engine::{Book, Entry, Item, Program, When};
use std::fmt::Write;
use std::time::{Duration, Instant};

/// Far above what linear work takes, far below what quadratic work would.
const PATIENCE: Duration = Duration::from_secs(20);

fn ask(rules: &str, entries: usize) -> usize {
    let begun = Instant::now();
    let rules = Program::parse(rules).unwrap();
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera")).unwrap();
    for number in 0..entries {
        let entry = Entry::new("2026-02-01", format!("tirps-{number}")).item("C1");
        book.record(entry.condition(&format!("d-{number}")).found(&format!("e-{number}"))).unwrap();
    }
    let rows = book.standings(rules.when_is_over(When::parse("2026-02-02").unwrap())).rows().count();
    assert!(begun.elapsed() < PATIENCE, "took {:?}", begun.elapsed());
    rows
}

fn lines(count: usize, line: impl Fn(usize) -> String) -> String {
    (0..count).fold(String::new(), |mut text, number| {
        writeln!(text, "{}", line(number)).unwrap();
        text
    })
}

#[test]
fn many_rules_and_many_unknown_names() {
    let count = 20_000;
    assert_eq!(ask(&lines(count, |n| format!("after 3 trips, task-{n}")), count), count);
    assert_eq!(ask(&lines(count, |n| format!("after 3 trips-{n} in c-{n}, task-{n}")), count), count);
}

#[test]
fn many_filters_and_many_values() {
    let count = 20_000;
    let rules = lines(count, |n| {
        format!("for cameras where maker is orl-{n} and makr-{n} is x\n  after 3 trips, check")
    });
    let begun = Instant::now();
    let rules = Program::parse(&rules).unwrap();
    let mut book = Book::new(&rules);
    for number in 0..count {
        let made = Item::new(format!("C{number}"), "lens").attribute("maker", format!("orla-{number}"));
        book.add_item(made).unwrap();
    }
    assert!(!book.standings(rules.when_is_over(When::parse("2026-02-02").unwrap())).problems().is_empty());
    assert!(begun.elapsed() < PATIENCE, "took {:?}", begun.elapsed());
}

#[test]
fn many_inspections_that_no_rule_asks_for() {
    let count = 20_000;
    assert_eq!(ask(&lines(count, |n| format!("when inspct-{n} finds dust, inspect-{n}")), 10), count);
}

#[test]
fn long_chains_of_kinds_and_covers() {
    let chain = lines(1_000, |n| format!("a k-{n} is a k-{}", n + 1));
    assert_eq!(ask(&format!("{chain}after 3 trips, check"), 10), 1);
    let chain = lines(1_000, |n| format!("t-{n} covers t-{}", n + 1));
    assert_eq!(ask(&format!("{chain}after 3 trips, t-1000"), 10), 1);
}
