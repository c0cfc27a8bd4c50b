//! Laws that hold whatever the rules and the log are, tried on random ones with the engine.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use kitlore_engine::{Book, Program};
use kitlore_syntax::key;
use kitlore_tests::case::Question;
use kitlore_tests::evaluators::{add_item, at_of, book, engine_report, house, record};
use kitlore_tests::plain::clock::Clock;
use kitlore_tests::plain::records::{Entry, read_all};
use kitlore_tests::plain::{ItemRow, LogRow, Problem, Report};
use kitlore_tests::random;
use kitlore_tests::rng::Rng;
use std::collections::BTreeSet;

const CASES: u64 = 400;

/// A random question whose rules are accepted, and whose ids are no one's but one entry's.
struct Try {
    question: Question,
    program: Program,
    at: String,
    rng: Rng,
}

fn tries(first_seed: u64) -> impl Iterator<Item = Try> {
    (first_seed..first_seed + CASES).map(|seed| {
        let mut rng = Rng::new(seed);
        let (mut question, ats) = random::question(&mut rng);
        let mut ids = BTreeSet::new();
        question.log.retain(|row| row.id.is_empty() || ids.insert(row.id.clone()));
        let house = house(&question.rules).unwrap_or_else(|e| panic!("seed {seed}: {e}\n{}", question.rules));
        let at = ats[seed as usize % ats.len()].clone();
        Try { program: Program::compile(house), question, at, rng }
    })
}

impl Try {
    fn ask(&self, question: &Question) -> Report {
        let at = self.program.when_is_over(at_of(&self.at));
        engine_report(&mut book(&self.program, question), at)
    }

    fn entries(&self) -> Vec<Entry> {
        read_all(Clock(self.program.house().zone), &self.question.log, &mut BTreeSet::new())
    }
}

/// Another order of arrival in which entries of one instant keep theirs.
fn rearranged(log: &[LogRow], entries: &[Entry], rng: &mut Rng) -> Vec<LogRow> {
    let mut rows = log.to_vec();
    rng.shuffle(&mut rows);
    let instant = |row: &LogRow| entries.iter().find(|e| e.row == row.row).map(|e| e.counts);
    let shuffled = rows.clone();
    for (place, row) in rows.iter_mut().enumerate() {
        let same = |r: &&LogRow| instant(r) == instant(&shuffled[place]);
        let nth = shuffled[..place].iter().filter(same).count();
        *row = log.iter().filter(same).nth(nth).unwrap().clone();
    }
    rows
}

/// Reported once for its name, where it first stands in the order of record.
const ONCE: [&str; 6] =
    ["unknown-finding", "unknown-condition", "before-received", "not-yet-done", "no-effect", "same-twice"];

/// Without the places of what is reported once: where something first stands depends on the order of record.
fn placed(problems: BTreeSet<Problem>) -> BTreeSet<Problem> {
    let placed = |problem: Problem| match ONCE.contains(&problem.code.as_str()) {
        true => Problem { place: String::new(), ..problem },
        false => problem,
    };
    problems.into_iter().map(placed).collect()
}

#[test]
fn arrival_order_never_matters() {
    let mut moved = 0;
    for mut one in tries(100_000) {
        let mut other = one.question.clone();
        other.log = rearranged(&one.question.log, &one.entries(), &mut one.rng);
        moved += u64::from(other.log != one.question.log);
        let [before, after] = [&one.question, &other].map(|question| {
            let report = one.ask(question);
            Report { problems: placed(report.problems), ..report }
        });
        assert_eq!(before, after, "{}\n{}", one.at, one.question);
    }
    assert!(moved > CASES / 2, "only {moved} logs were rearranged");
}

#[test]
fn an_unrelated_entry_changes_no_row() {
    for mut one in tries(200_000) {
        let mut other = one.question.clone();
        let when = one.question.log.first().map_or("2026-02-01".to_owned(), |row| row.when.clone());
        let unrelated = LogRow { row: 999, when, event: "gallery visit".to_owned(), ..LogRow::default() };
        let place = one.rng.range(0, other.log.len() as i64) as usize;
        other.log.insert(place, unrelated);
        assert_eq!(one.ask(&one.question).rows, one.ask(&other).rows, "{}\n{}", one.at, one.question);
    }
}

#[test]
fn items_are_independent() {
    for one in tries(300_000) {
        let mut other = one.question.clone();
        let more = ItemRow { row: 99, id: "Z9".to_owned(), kind: "camera".to_owned(), ..ItemRow::default() };
        other.items.push(more);
        for (row, entry) in (100..).zip(one.question.log.clone()).filter(|(_, e)| e.event != "void") {
            other.log.push(LogRow { row, item: "Z9".to_owned(), id: String::new(), ..entry });
        }
        // What names the kind or the new id when there was none before is for other members now.
        let known = |row: &LogRow| {
            row.event == "void" || row.item.is_empty() || one.question.items.iter().any(|i| i.id == row.item)
        };
        let mut before = one.question.clone();
        before.log.retain(known);
        other.log.retain(|row| known(row) || row.item == "Z9");
        let mut after = one.ask(&other).rows;
        after.retain(|row| row.item != "Z9");
        assert_eq!(one.ask(&before).rows, after, "{}\n{}", one.at, one.question);
    }
}

#[test]
fn a_log_in_pieces_is_the_whole_log() {
    for mut one in tries(400_000) {
        let at = one.program.when_is_over(at_of(&one.at));
        let mut pieces = Book::new(&one.program);
        let mut items = one.question.items.iter();
        for row in &one.question.log {
            if one.rng.chance(30) {
                items.next().into_iter().for_each(|item| add_item(&mut pieces, item));
            }
            record(&mut pieces, row);
            if one.rng.chance(30) {
                engine_report(&mut pieces, at);
            }
        }
        items.for_each(|item| add_item(&mut pieces, item));
        assert_eq!(one.ask(&one.question), engine_report(&mut pieces, at), "{}\n{}", one.at, one.question);
    }
}

#[test]
fn asking_about_one_instant_changes_no_other() {
    for mut one in tries(500_000) {
        let mut asked = book(&one.program, &one.question);
        let at = one.program.when_is_over(at_of(&one.at));
        for row in one.question.log.iter().filter(|_| one.rng.chance(50)) {
            if let Ok(when) = kitlore_syntax::When::parse(&row.when) {
                engine_report(&mut asked, one.program.when_is_over(when));
            }
        }
        assert_eq!(one.ask(&one.question), engine_report(&mut asked, at), "{}\n{}", one.at, one.question);
    }
}

/// Of what begins after the date of `at` only plans (for `before`), life dates and corrections are seen.
#[test]
fn later_entries_are_not_seen() {
    const SEEN: [&str; 3] = ["void", "received", "in service"];
    let mut left_out = 0;
    for one in tries(600_000).filter(|one| !one.question.rules.contains("before")) {
        let clock = Clock(one.program.house().zone);
        let today = clock.date(clock.is_over(at_of(&one.at)));
        let later = |e: &&Entry| clock.date_of(e.when) > today && !SEEN.contains(&e.event.as_str());
        let later: Vec<u32> = one.entries().iter().filter(later).map(|e| e.row).collect();
        // What a correction takes out must be there, or the correction is one of nothing: rows are the same.
        let mut other = one.question.clone();
        other.log.retain(|row| !later.contains(&row.row));
        left_out += later.len();
        assert_eq!(one.ask(&one.question).rows, one.ask(&other).rows, "{}\n{}", one.at, one.question);
    }
    assert!(left_out > 100, "only {left_out} entries were left out");
}

#[test]
fn spelling_of_names_does_not_matter() {
    for one in tries(700_000) {
        let mut other = one.question.clone();
        for row in &mut other.log {
            let spelled = row.event.to_uppercase().replace(' ', "-");
            assert_eq!(key(&spelled), key(&row.event));
            row.event = spelled;
            row.conditions = row.conditions.to_uppercase();
        }
        assert_eq!(one.ask(&one.question), one.ask(&other), "{}\n{}", one.at, one.question);
    }
}

#[test]
fn the_canonical_layout_means_the_same() {
    let mut changed = 0;
    for one in tries(800_000) {
        let mut other = one.question.clone();
        other.rules = kitlore_syntax::tidy("house.lore", &one.question.rules).unwrap();
        changed += u64::from(other.rules != one.question.rules);
        let program = Program::compile(house(&other.rules).unwrap());
        let at = program.when_is_over(at_of(&one.at));
        let after = engine_report(&mut book(&program, &other), at);
        assert_eq!(one.ask(&one.question), after, "{}\n{}\n{}", one.at, one.question, other.rules);
    }
    assert!(changed > CASES / 2, "only {changed} texts were laid out anew");
}

/// A book for some items alone, from a log whose entries it does not all keep, answers for these as a book of the
/// whole log does; books that divide the items between them report together what one book reports.
#[test]
fn a_book_for_some_items_answers_as_the_whole_one() {
    let mut left_out = 0;
    for mut one in tries(1_000_000) {
        let at = one.program.when_is_over(at_of(&one.at));
        let whole = one.ask(&one.question);
        let mut known = BTreeSet::new();
        let first = |id: &String| known.insert(id.clone());
        let ids: Vec<String> =
            one.question.items.iter().map(|item| item.id.trim().to_owned()).filter(first).collect();
        let parts = one.rng.range(1, 3);
        let part_of: Vec<i64> = ids.iter().map(|_| one.rng.range(1, parts)).collect();
        let (mut rows, mut problems) = (Vec::new(), BTreeSet::new());
        for part in 1..=parts {
            let of_part = ids.iter().zip(&part_of).filter(|(_, of)| **of == part).map(|(id, _)| id.as_str());
            let of_part: Vec<&str> = of_part.collect();
            let mut book = Book::new(&one.program);
            one.question.items.iter().for_each(|item| add_item(&mut book, item));
            book.answer_for(of_part.iter().copied());
            one.question.log.iter().for_each(|row| record(&mut book, row));
            let report = engine_report(&mut book, at);
            assert!(report.rows.iter().all(|row| of_part.contains(&row.item.as_str())), "{}", one.question);
            left_out += usize::from(report.rows.len() < whole.rows.len());
            rows.extend(report.rows);
            problems.extend(report.problems);
        }
        rows.sort_by(|one, other| (&one.item, key(&one.task)).cmp(&(&other.item, key(&other.task))));
        assert_eq!(whole.rows, rows, "{}\n{}", one.at, one.question);
        assert_eq!(placed(whole.problems), placed(problems), "{}\n{}", one.at, one.question);
    }
    assert!(left_out > 100, "only {left_out} books had less than all rows");
}
