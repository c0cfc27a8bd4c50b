//! Why a row stands as it does.

use kitlore_engine::{Book, Entry, Item, Program, When};
use kitlore_render::words::{Days, reasons};

/// The reasons of the one row of a camera that was received in January 2026.
fn said(rule: &str, at: &str, entries: &[Entry]) -> Vec<String> {
    let rules = Program::parse(&format!("for cameras\n  {rule}")).unwrap();
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera").received("2026-01-10".parse().unwrap())).unwrap();
    for entry in entries {
        book.record(entry.clone().item("C1")).unwrap();
    }
    let found = book.standings(rules.when_is_over(When::parse(at).unwrap()));
    let row = found.rows().next().unwrap();
    reasons(&row, &Days::new(&rules, found.at()))
}

#[test]
fn what_stops_an_item_is_said_where_the_rule_held_it_off_too() {
    let rule = "after 2 weeks, inspect sensor\n    do not use until done\n    at most every 30 days";
    let done = Entry::new("2026-03-30", "inspect sensor");
    assert_eq!(said(rule, "2026-05-02", &[done]), ["2 weeks since last done 2026-03-30"]);
}

#[test]
fn a_limit_says_that_it_is_one_and_the_trigger_speaks_where_it_was_first() {
    let rule = "after 90 days, inspect sensor\n    no later than after 3 trips";
    let trips = [Entry::new("2026-02-01", "trip").amount(3)];
    assert_eq!(said(rule, "2026-02-02", &trips), ["no later than 3 of 3 trips, reached 2026-02-01"]);
    assert_eq!(said(rule, "2026-05-02", &[]), ["90 days since 2026-01-10, not done yet"]);
}

#[test]
fn single_uses_have_no_count_and_a_name_with_a_number_is_a_name() {
    let film = [Entry::new("2026-02-01", "35mm roll")];
    assert_eq!(said("after every \"35mm roll\", wipe body", "2026-02-02", &film), ["35mm roll 2026-02-01"]);
    assert_eq!(
        said("after 1 trip, wipe body", "2026-02-02", &[Entry::new("2026-02-01", "trip")]),
        ["1 of 1 trip, reached 2026-02-01"]
    );
}
