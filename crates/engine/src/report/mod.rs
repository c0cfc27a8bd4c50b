//! What the log and the inventory as a whole have that cannot be used or is doubtful, whatever `at` is.

mod corrections;
mod entries;
mod filters;
mod items;
mod kinds;
mod later;
mod limits;
mod names;
mod once;
mod twice;
mod values;
mod whom;

pub(crate) use later::not_yet_done;
pub(crate) use names::unused_names;

use crate::log::{Groups, Ledger};
use crate::problem::Problem;

/// The problems of entries, of corrections, of names; `groups` says whom entries for several items are for.
pub(crate) fn of_log(ledger: &Ledger, groups: &Groups) -> Vec<Problem> {
    let mut problems: Vec<Problem> = ledger.reports.iter().map(|(_, problem)| problem.clone()).collect();
    let doubts = entries::doubts(ledger);
    problems.extend(doubts.of_entries);
    corrections::report(ledger, &mut problems);
    problems.extend(doubts.unknown_events);
    items::unknown_items(ledger, &mut problems);
    items::unknown_tasks(ledger, groups, &mut problems);
    items::bad_kits(ledger, &mut problems);
    whom::no_item(ledger, &mut problems);
    whom::no_member(ledger, groups, &mut problems);
    whom::before_received(ledger, &mut problems);
    names::slips(ledger, &mut problems);
    names::unknown_kinds(ledger, &mut problems);
    values::report(ledger, &mut problems);
    twice::same_twice(ledger, &mut problems);
    kinds::no_such_kind(ledger, &mut problems);
    filters::report(ledger, &mut problems);
    problems
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use crate::{Book, Entry, Item, Program, When};

    /// All problems of a log of C1 and C17, in words.
    fn reported(rules: &str, log: Vec<Entry>) -> Vec<String> {
        let rules = Program::parse(rules).unwrap();
        let mut book = Book::new(&rules);
        for id in ["C1", "C17", "C1703"] {
            book.add_item(Item::new(id, "camera")).unwrap();
        }
        log.into_iter().for_each(|entry| book.record(entry).unwrap());
        let found = book.standings(rules.when_is_over(When::parse("2026-02-08").unwrap()));
        found.problems().iter().map(ToString::to_string).collect()
    }

    fn of(item: &str) -> Entry {
        Entry::new("2026-02-07", "shoot").item(item)
    }

    #[test]
    fn ids_of_three_letters_or_fewer_are_only_taken_for_others_in_another_spelling() {
        let log = ["c-17", "C18", "C1704", "B2"].map(of).to_vec();
        assert_eq!(
            reported("for cameras\n after 9 shoots, wipe body", log),
            [
                "the inventory has no item, kit, model or kind `c-17` (did you mean `C17`?)",
                "the inventory has no item, kit, model or kind `C18`",
                "the inventory has no item, kit, model or kind `C1704` (did you mean `C1703`?)",
                "the inventory has no item, kit, model or kind `B2`",
            ]
        );
    }

    #[test]
    fn a_value_is_suggested_as_it_is_spelled() {
        let rules = Program::parse("for cameras where owner is Innes\n after 9 shoots, wipe body").unwrap();
        let mut book = Book::new(&rules);
        book.add_item(Item::new("C1", "camera").attribute("owner", "Ines")).unwrap();
        let found = book.standings(rules.when_is_over(When::parse("2026-02-08").unwrap()));
        let words: Vec<String> = found.problems().iter().map(ToString::to_string).collect();
        assert!(words.iter().any(|words| words.ends_with("(did you mean `Ines`?)")), "{words:?}");
    }

    #[test]
    fn a_name_that_stands_in_another_column_is_told_with_that_column() {
        let rules = "for cameras
  when inspect sensor finds dust or scratch, clean sensor
  after 9 shoots, inspect sensor";
        let never = "the finding `dust` of the rules never occurs in the data";
        let found = of("C1").found("scratch");
        let other = format!("{never}, and `dust` does as a condition");
        assert_eq!(reported(rules, vec![found.clone().condition("dust")]), [other]);
        let both = reported(rules, vec![found.found("dusk")]);
        assert_eq!(
            both,
            [
                format!("{never} (did you mean `dusk`?)"),
                "no rule knows the finding `dusk`; if it is right, declare it with a `findings` line (did you mean `dust`?)".to_owned()
            ]
        );
    }
}
