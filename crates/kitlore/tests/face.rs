//! The default build: what a host gets without any feature.

#![allow(clippy::expect_used, clippy::indexing_slicing, reason = "a test fails by panicking")]

use kitlore::{Book, Entry, Item, Rules, Standing, When, date};

#[test]
fn rules_are_shared_by_threads_and_cheap_to_clone() {
    fn shared<T: Send + Sync + Clone>(_: &T) {}
    let rules = Rules::parse("for cameras\n after 90 days, inspect sensor").expect("rules");
    shared(&rules);
    let answers: Vec<Standing> = std::thread::scope(|scope| {
        let ask = |month: u32| {
            let rules = rules.clone();
            scope.spawn(move || {
                let mut book = Book::new(&rules);
                book.add_item(Item::new("C1", "camera").received(date!(2026 - 01 - 10))).expect("an item");
                let at = When::parse(&format!("2026-{month:02}-10")).expect("a date");
                let found = book.standings(rules.when_is_over(at));
                found.rows().next().expect("a row").standing
            })
        };
        let asked: Vec<_> = [1, 4, 5].map(ask).into_iter().collect();
        asked.into_iter().map(|thread| thread.join().expect("it ends")).collect()
    });
    assert_eq!(answers, [Standing::Clear, Standing::Due, Standing::Overdue]);
}

#[test]
fn a_row_explains_itself() {
    let rules = Rules::parse("for cameras\n after 20 lens changes in dust or 90 days, inspect sensor")
        .expect("rules");
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera").received(date!(2026 - 01 - 10))).expect("an item");
    let place = kitlore::Place::new("log.csv", 3);
    let change =
        Entry::new("2026-02-08", "lens change").item("C1").amount(20).condition("dust").at(place.clone());
    book.record(change).expect("an entry");
    let found = book.standings(rules.when_is_over(When::parse("2026-02-08").expect("a date")));
    let row = found.rows().next().expect("a row");
    let account = row.rules().next().expect("a rule");
    assert_eq!(account.rule.line, 2);
    let parts = account.parts();
    assert_eq!(parts[0].text, "20 lens changes in dust");
    assert_eq!(parts[0].tipped_by, Some(place));
    assert_eq!(parts[1].from, Some(date!(2026 - 01 - 10)));
}

#[cfg(feature = "serde")]
#[test]
fn standings_are_the_json_of_the_command_line() {
    let rules =
        Rules::parse("house \"Kestrel Yard\"\nfor cameras\n after 90 days, inspect sensor").expect("rules");
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera").received(date!(2026 - 01 - 10))).expect("an item");
    let found = book.standings(rules.when_is_over(When::parse("2026-04-10").expect("a date")));
    let value = serde_json::to_value(&found).expect("JSON");
    assert_eq!(value["house"], "Kestrel Yard");
    assert_eq!(value["rows"][0]["due_at"], "2026-04-10T00:00:00+00:00");
    assert_eq!(value["rows"][0]["rules"][0]["parts"][0]["kind"], "interval");
    assert_eq!(value["problems"], serde_json::json!([]));
}

/// Minutes are a number, as short as it can be written.
#[cfg(feature = "serde")]
#[test]
fn the_minutes_a_task_takes_are_a_number() {
    for (takes, minutes) in [("10 minutes", "10"), ("0.5 minutes", "0.5"), ("1.5 hours", "90")] {
        let rules = Rules::parse(&format!("for cameras\n after 90 days, inspect sensor; takes {takes}"));
        let rules = rules.expect("rules");
        let mut book = Book::new(&rules);
        book.add_item(Item::new("C1", "camera").received(date!(2026 - 01 - 10))).expect("an item");
        let found = book.standings(rules.when_is_over(When::parse("2026-04-10").expect("a date")));
        let value = serde_json::to_value(&found).expect("JSON");
        assert_eq!(value["rows"][0]["takes_minutes"].to_string(), minutes, "{takes}");
    }
}
