//! One entry at a time, on items of long history: what is kept between questions changes no answer.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use kitlore_engine::{Book, Entry, Item, Problem, Program};
use kitlore_tests::case::Question;
use kitlore_tests::evaluators::{at_of, book, house, record};
use kitlore_tests::plain::LogRow;
use kitlore_tests::random;
use kitlore_tests::rng::Rng;

/// Entries of one question are few; those of so many make a history that is worth a checkpoint.
const LOGS: u64 = 60;

fn one_item(book: &mut Book, item: &str, at: &str) -> (String, Vec<Problem>) {
    let at = book.program().when_is_over(at_of(at));
    let standings = book.standing(item, at);
    (serde_json::to_string(&standings).unwrap(), standings.problems().to_vec())
}

/// The log of many questions, for the items of the first.
fn long_log(rng: &mut Rng) -> (Question, Vec<String>, Vec<LogRow>) {
    let (question, mut ats) = random::question(rng);
    let mut log = question.log.clone();
    for _ in 0..LOGS {
        let (other, more) = random::question(rng);
        log.extend(other.log);
        ats.push(rng.pick(&more.iter().map(String::as_str).collect::<Vec<_>>()).to_owned());
    }
    for (row, number) in log.iter_mut().zip(2..) {
        row.row = number;
        // Ids of different logs are different entries; a few name each other across logs.
        if !row.id.is_empty() && rng.chance(90) {
            row.id = format!("{}-{number}", row.id);
        }
        if row.event == "void" || rng.chance(3) {
            row.reference = format!("e{}-{}", rng.range(1, 15), rng.range(2, 900));
        }
    }
    (question, ats, log)
}

#[test]
fn what_is_kept_between_questions_changes_no_answer() {
    let (mut asked, mut long, mut voided) = (0, 0, 0);
    for seed in 700_000..700_016 {
        let mut rng = Rng::new(seed);
        let (mut question, ats, log) = long_log(&mut rng);
        let program = Program::compile(house(&question.rules).unwrap());
        // Most comes in order of time; the rest is late, and in between somebody asks.
        let mut log = log;
        log.sort_by(|a, b| a.when.cmp(&b.when));
        let (first, rest) = log.split_at(log.len() * 2 / 3);
        question.log = first.to_vec();
        let mut kept = book(&program, &question);
        let mut rest = rest.to_vec();
        if rng.chance(60) {
            rng.shuffle(&mut rest);
        }
        let latest = ats.iter().max().unwrap().clone();
        for mut row in rest {
            let ids: Vec<String> =
                question.log.iter().map(|row| row.id.clone()).filter(|id| !id.is_empty()).collect();
            if rng.chance(10) && !ids.is_empty() {
                // Also of corrections, and of entries of other items.
                row.event = "void".to_owned();
                row.reference = ids[rng.range(0, ids.len() as i64 - 1) as usize].clone();
                voided += 1;
            }
            record(&mut kept, &row);
            question.log.push(row);
            if !rng.chance(12) {
                continue;
            }
            let at = if rng.chance(70) { &latest } else { &ats[rng.range(0, ats.len() as i64 - 1) as usize] };
            for item in &question.items {
                let mut fresh = book(&program, &question);
                let answer = one_item(&mut kept, &item.id, at);
                assert_eq!(
                    answer,
                    one_item(&mut fresh, &item.id, at),
                    "seed {seed}, {} at {at}\n{question}",
                    item.id
                );
                asked += 1;
                long += u64::from(question.log.iter().filter(|row| row.item == item.id).count() >= 256);
            }
        }
    }
    assert!(
        long > asked / 4 && voided > 50,
        "{long} of {asked} answers were of a long history; {voided} entries taken out"
    );
}

/// The answer for one item is its part of the answer for all.
#[test]
fn one_item_stands_as_among_all() {
    let mut doubts = 0;
    for seed in 710_000..710_005 {
        let mut rng = Rng::new(seed);
        let (mut question, ats, log) = long_log(&mut rng);
        question.log = log;
        let program = Program::compile(house(&question.rules).unwrap());
        let mut book = book(&program, &question);
        let at = program.when_is_over(at_of(&ats[0]));
        let rows = |standings: &kitlore_engine::Standings, item: &str| -> Vec<String> {
            standings
                .rows()
                .filter(|row| row.item == item)
                .map(|row| serde_json::to_string(&row).unwrap())
                .collect()
        };
        let all = book.standings(at);
        for item in &question.items {
            for _ in 0..2 {
                let one = book.standing(&item.id, at);
                assert_eq!(
                    rows(&one, &item.id),
                    rows(&all, &item.id),
                    "seed {seed}, {}\n{question}",
                    item.id
                );
                assert!(one.rows().all(|row| row.item == item.id));
                doubts += one.problems().len();
                for problem in one.problems() {
                    // Among all, an entry for several items is reported once, by the name of one of them.
                    let is_it =
                        |other: &Problem| other.sort() == problem.sort() && other.place == problem.place;
                    assert!(all.problems().iter().any(is_it), "seed {seed}, {}: {problem}", item.id);
                }
            }
        }
    }
    assert!(doubts > 20, "only {doubts} doubts");
}

/// However many stand at its 00:00.
#[test]
fn plans_of_today_are_seen_again() {
    let rules = Program::parse("for cameras\n before every trip, pack").unwrap();
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera")).unwrap();
    for _ in 0..300 {
        book.record(Entry::new("2026-02-01", "trip").item("C1")).unwrap();
    }
    let at = rules.when_is_over(at_of("2026-02-01T12:00:00"));
    for _ in 0..2 {
        let found = book.standing("C1", at);
        let standings: Vec<&str> = found.rows().map(|row| row.standing.word()).collect();
        assert_eq!(standings, ["overdue"]);
    }
}
