//! What holds for every answer of a book.

use kitlore_engine::{Book, Instant, Problem, Standings, When};
use std::num::NonZeroUsize;

/// Asks a book at an instant, and tries whatever holds for all answers.
pub(crate) fn answered(book: &mut Book, at: Instant) -> Standings {
    let found = book.standings(at);
    let whole = json(&found);
    assert_eq!(whole, json(&book.standings(at)), "asked again, another answer");
    for threads in [2, 5] {
        let threads = NonZeroUsize::new(threads).unwrap();
        assert_eq!(whole, json(&book.standings_on(at, threads)), "{threads} threads, another answer");
    }
    let rows: Vec<(&str, &str)> = found.rows().map(|row| (row.item, row.task)).collect();
    assert!(rows.windows(2).all(|pair| pair[0].0 <= pair[1].0), "not by item: {rows:?}");
    let mut once = rows.clone();
    once.sort_unstable();
    once.dedup();
    assert_eq!(once.len(), rows.len(), "a row stands twice: {rows:?}");
    for row in found.rows() {
        assert!(row.rules().count() > 0, "a row without a rule: {row:?}");
        assert_eq!(row.rules().map(|account| account.standing).max(), Some(row.standing), "{row:?}");
        assert_eq!(row.rules().filter_map(|account| account.due_at).min(), row.due_at, "{row:?}");
        assert!(row.limit_at.is_none() || row.due_at <= row.limit_at, "due after its limit: {row:?}");
        for part in row.rules().flat_map(|account| account.parts()) {
            assert!(!part.text.is_empty(), "a part without its text");
        }
    }
    let items: Vec<String> = book.items().take(3).map(|item| item.id.clone()).collect();
    for item in items {
        let one = book.standing(&item, at);
        let of = |standings: &Standings| -> Vec<String> {
            standings.rows().filter(|row| row.item == item.trim()).map(|row| to_json(&row)).collect()
        };
        assert_eq!(of(&found), of(&one), "`{item}` asked alone, another answer");
    }
    let rows: Vec<_> = found.rows().collect();
    let account = kitlore_cli::account(&found, rows, true, &[], 60);
    assert_eq!(account.is_empty(), found.rows().next().is_none(), "rows, and no account of them");
    found
}

/// An answer as other programs get it, its problems held against what holds for all of them.
pub(crate) fn checked_json(standings: &Standings) -> String {
    problems(standings.problems());
    json(standings)
}

/// An answer as other programs get it.
pub(crate) fn json(standings: &Standings) -> String {
    to_json(standings)
}

fn to_json(value: &impl serde::Serialize) -> String {
    serde_json::to_string(value).expect("an answer is json")
}

/// Every problem has a code of the tables, words and, where it has a place, a named one. Those that a host
/// reports are as it likes.
fn problems(list: &[Problem]) {
    let of_book = kitlore_engine::codes::Code::ALL.iter().map(|code| code.word());
    let of_tables = kitlore_tables::codes::Code::ALL.iter().map(|code| code.word());
    let known: Vec<&str> = of_book.chain(of_tables).collect();
    for problem in list {
        assert!(known.contains(&&*problem.code), "a code of no table: {problem:?}");
        assert!(!problem.message().is_empty() && !problem.to_string().is_empty(), "no words: {problem:?}");
        let place = problem.place.as_ref();
        assert!(place.is_none_or(|place| !place.source.is_empty()), "a place without a name: {problem:?}");
    }
}

/// The end of a date.
pub(crate) fn end_of(book: &Book, date: &str) -> Instant {
    book.program().when_is_over(When::parse(date).expect("a date"))
}
