//! Laws of trips that hold whatever the rules and the log are, tried on random ones.
//!
//! What a finding on the way may call for is worked out a second time, slowly: the finding is recorded in a
//! copy of the book, and the copy is asked what has become due.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use chrono::{Days, NaiveDate};
use kitlore_engine::{Book, Entry, Instant, Program, Standing, When};
use kitlore_planning::{Journey, Trip, TripAsk, TripTask, trip};
use kitlore_syntax::key;
use kitlore_tests::evaluators::{at_of, book, house};
use kitlore_tests::random;
use kitlore_tests::rng::Rng;
use kitlore_tests::scene::{CONDITIONS, FINDINGS};
use std::collections::BTreeSet;

const CASES: u64 = 400;

/// A random house with a trip of one of its items.
struct Try {
    place: String,
    program: Program,
    /// With the trip in it.
    book: Book,
    trip: Trip,
    leave: Instant,
    end: Instant,
}

fn tries(first_seed: u64) -> impl Iterator<Item = Try> {
    (first_seed..first_seed + CASES).filter_map(|seed| {
        let mut rng = Rng::new(seed);
        let (mut question, ats) = random::question(&mut rng);
        // So that there is something to pack for: every rule needs a tool of its own or a common one.
        question.rules = with_needs(&question.rules);
        let program = Program::compile(house(&question.rules).ok()?);
        let at = program.when_is_over(at_of(&ats[seed as usize % ats.len()]));
        let from = program.local(at).date_naive().checked_add_days(Days::new(rng.range(1, 6) as u64))?;
        let to = from.checked_add_days(Days::new(rng.range(0, 12) as u64))?;
        let (item, condition) = (question.items[0].id.clone(), CONDITIONS[seed as usize % 3]);
        let ask = TripAsk::new(Journey::Described {
            event: "trip".to_owned(),
            from,
            to,
            item: item.clone(),
            conditions: vec![condition.to_owned()],
        });
        let mut book = book(&program, &question);
        let trip = trip(&mut book, at, &ask).ok()?;
        book.record(Entry::new(from, "trip").until(to).item(item).condition(condition)).unwrap();
        let before = program.when_is_over(When::Date(from.pred_opt()?));
        let end = program.when_is_over(When::Date(to));
        let place = format!("seed {seed}, at {}, {from} to {to}\n{question}", ats[seed as usize % ats.len()]);
        Some(Try { place, program, book, trip, leave: before.max(at), end })
    })
}

/// Gives the rules of a random house needs.
fn with_needs(rules: &str) -> String {
    let first = ["after", "every", "each", "at", "when", "before", "on", "instead"];
    let is_rule = |line: &str| {
        let word = line.trim_start().split([' ', ',']).next().unwrap_or_default();
        line.contains(", ")
            && (first.contains(&word) || word.starts_with(|c: char| c.is_ascii_digit() || c == '('))
    };
    let mut text = String::new();
    for (number, line) in rules.lines().enumerate() {
        text.push_str(line);
        if is_rule(line) && !line.contains("needs") {
            text.push_str(&format!("; needs blower, tool-{}", ["a", "b", "c", "d"][number % 4]));
        }
        text.push('\n');
    }
    text
}

fn complete(book: &mut Book, task: &TripTask, at: Instant) {
    let when = book.program().local(at).to_rfc3339();
    book.record(Entry::new(when, task.task.as_str()).item(task.item.as_str())).unwrap();
}

/// The tasks of an item that are due at an instant.
fn due(book: &mut Book, item: &str, at: Instant) -> BTreeSet<String> {
    let standings = book.standing(item, at);
    standings.rows().filter(|row| row.due_at.is_some_and(|due| due <= at)).map(|row| key(row.task)).collect()
}

#[test]
fn no_tool_of_a_follow_up_is_missing() {
    let mut met = 0;
    for one in tries(700_000) {
        let mut done = one.book.clone();
        for task in &one.trip.before {
            complete(&mut done, &task.task, one.leave);
        }
        let packed: BTreeSet<String> = one.trip.pack.iter().map(|packed| key(&packed.need)).collect();
        let at_home: BTreeSet<&str> = one.trip.leave_at_home.iter().map(|left| left.item.as_str()).collect();
        let on_the_way = one.trip.on_the_way.iter().map(|way| &way.task);
        let follow_ups = one.trip.follow_ups.iter().map(|follow| &follow.task);
        let listed: Vec<&TripTask> = on_the_way.chain(follow_ups).collect();
        for task in listed.iter().filter(|task| task.by.is_none()) {
            for need in &task.needs {
                assert!(packed.contains(&key(need)), "`{need}` of `{}` is missing\n{}", task.task, one.place);
            }
        }
        for item in one.trip.items.iter().filter(|item| !at_home.contains(item.item.as_str())) {
            if one.book.clone().standing(&item.item, one.leave).items().next().is_none() {
                continue;
            }
            let known = due(&mut done, &item.item, one.end);
            let mut doable: Vec<String> = vec!["finding".to_owned()];
            let own = listed.iter().filter(|task| task.item == item.item && task.by.is_none());
            doable.extend(own.map(|task| task.task.clone()));
            for (doing, finding) in doable.iter().flat_map(|doing| FINDINGS.map(|finding| (doing, finding))) {
                let mut found = done.clone();
                let first =
                    one.program.when_is_over(When::Local(one.trip.from.and_hms_opt(8, 0, 0).unwrap()));
                let when = one.program.local(first.max(one.leave).min(one.end)).to_rfc3339();
                let entry = Entry::new(when, doing.as_str()).item(item.item.as_str()).found(finding);
                found.record(entry).unwrap();
                for task in due(&mut found, &item.item, one.end).difference(&known) {
                    met += 1;
                    let is_listed =
                        listed.iter().any(|other| other.item == item.item && key(&other.task) == *task);
                    assert!(
                        is_listed,
                        "{doing} finding {finding} calls for `{task}` on {}\n{}",
                        item.item, one.place
                    );
                }
            }
        }
    }
    assert!(met > 50, "only {met} follow-ups were met");
}

#[test]
fn nothing_is_asked_for_twice() {
    let mut met = 0;
    for one in tries(710_000) {
        let mut seen = BTreeSet::new();
        for packed in &one.trip.pack {
            assert!(seen.insert(key(&packed.need)), "`{}` twice\n{}", packed.need, one.place);
            let reasons: BTreeSet<(&str, &str)> =
                packed.reasons.iter().map(|reason| (reason.item.as_str(), reason.task.as_str())).collect();
            assert_eq!(reasons.len(), packed.reasons.len(), "{}", one.place);
            assert_eq!(reasons.len(), packed.uses as usize, "{}", one.place);
            met += reasons.len();
        }
    }
    assert!(met > 100, "only {met} reasons were met");
}

#[test]
fn grounded_things_are_never_packed() {
    let mut met = 0;
    for mut one in tries(720_000) {
        let items: Vec<String> = one.trip.items.iter().map(|item| item.item.clone()).collect();
        for item in items {
            let standings = one.book.standing(&item, one.leave);
            if !standings.rows().any(|row| row.standing == Standing::Grounded) {
                continue;
            }
            met += 1;
            let trip = &one.trip;
            assert!(trip.leave_at_home.iter().any(|left| left.item == item), "{item}\n{}", one.place);
            let way = trip.on_the_way.iter().map(|way| &way.task.item);
            let follow_ups = trip.follow_ups.iter().map(|follow| &follow.task.item);
            let back = trip.on_return.iter().map(|back| &back.task.item);
            let hands = trip.pack.iter().flat_map(|packed| &packed.at_hand).map(|hand| &hand.item);
            let reasons = trip.pack.iter().flat_map(|packed| &packed.reasons).map(|reason| &reason.item);
            let instead = trip.leave_at_home.iter().flat_map(|left| &left.instead).map(|other| &other.item);
            let mut all = way.chain(follow_ups).chain(back).chain(hands).chain(reasons).chain(instead);
            assert!(all.all(|other| *other != item), "{item} comes along\n{}", one.place);
        }
    }
    assert!(met > 20, "only {met} grounded items were met");
}

#[test]
fn every_task_before_is_due_by_the_end() {
    let mut met = 0;
    for one in tries(730_000) {
        for (number, task) in one.trip.before.iter().enumerate() {
            met += 1;
            let is_due = |book: &Book| {
                let standings = book.clone().standing(&task.task.item, one.leave);
                let mut rows = standings.rows().filter(|row| row.task == task.task.task);
                rows.any(|row| row.standing >= Standing::Due || row.due_at.is_some_and(|due| due <= one.end))
            };
            // A task that another one calls for is due once that one is done.
            let mut after = one.book.clone();
            for (other, done) in one.trip.before.iter().enumerate() {
                if other != number {
                    complete(&mut after, &done.task, one.leave);
                }
            }
            let likely = task.chance >= 0.5;
            assert!(is_due(&one.book) || is_due(&after) || likely, "{}\n{}", task.task.task, one.place);
            assert!(task.chance <= 1.0, "{}", one.place);
            if task.standing >= Standing::Due {
                assert!(is_due(&one.book) || is_due(&after), "{}\n{}", task.task.task, one.place);
            }
        }
    }
    assert!(met > 100, "only {met} tasks were met");
}

#[test]
fn the_same_question_has_the_same_answer_and_changes_no_book() {
    for one in tries(740_000).take(60) {
        let from: NaiveDate = one.trip.from;
        let ask = TripAsk::new(Journey::Described {
            event: "trip".to_owned(),
            from,
            to: one.trip.to,
            item: one.trip.items[0].item.clone(),
            conditions: Vec::new(),
        });
        let mut book = one.book;
        let at = one.program.when_is_over(When::Date(one.trip.at));
        let answer = trip(&mut book, at, &ask);
        let again = trip(&mut book, at, &ask);
        assert_eq!(answer.ok(), again.ok(), "{}", one.place);
    }
}
