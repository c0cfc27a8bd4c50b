//! Engine and plain evaluator give equal answers for random houses, inventories and logs.
//!
//! `KITLORE_CASES_RANDOM` says how many (2,000 if absent), `KITLORE_SEED` where the seeds begin.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use kitlore_engine::Program;
use kitlore_tests::case::{At, Question, shown};
use kitlore_tests::evaluators::{at_of, book, engine_report, engine_report_now, house, plain_report};
use kitlore_tests::plain::problems::reports;
use kitlore_tests::plain::{Problem, Report};
use kitlore_tests::random;
use kitlore_tests::rng::Rng;
use std::collections::BTreeSet;

fn number(name: &str, default: u64) -> u64 {
    std::env::var(name)
        .ok()
        .map_or(default, |text| text.parse().unwrap_or_else(|_| panic!("{name} is no number")))
}

/// Both answers where they differ.
///
/// Problems are compared only `with_problems`, for an instant after all entries: no sentence says which
/// doubts about entries later than `at` are listed.
fn difference(
    program: &Program,
    question: &Question,
    at: &str,
    with_problems: bool,
) -> Option<(Report, Report)> {
    let at = At { when: at.to_owned(), now: with_problems };
    let mut plain = plain_report(program.house(), question, &at);
    let mut book = book(program, question);
    let instant = program.when_is_over(at_of(&at.when));
    let mut engine =
        if at.now { engine_report_now(&mut book, instant) } else { engine_report(&mut book, instant) };
    let idle = std::mem::take(&mut plain.idle);
    plain.problems.retain(|p| !idle.contains(p) || engine.problems.contains(p));
    plain.problems.retain(|_| with_problems);
    engine.problems.retain(|p| with_problems && reports(program.house(), &p.code));
    plain.problems = unreadable_as_one(plain.problems);
    engine.problems = unreadable_as_one(engine.problems);
    (plain != engine).then_some((plain, engine))
}

/// Problems in which it does not matter which mistake of an unreadable row is named: no sentence says.
fn unreadable_as_one(problems: BTreeSet<Problem>) -> BTreeSet<Problem> {
    const UNREADABLE: [&str; 5] =
        ["bad-time", "bad-number", "negative-amount", "until-before-when", "missing-event"];
    let named = |p: Problem| match UNREADABLE.contains(&p.code.as_str()) {
        true => Problem { code: "unreadable".to_owned(), ..p },
        false => p,
    };
    problems.into_iter().map(named).collect()
}

/// The same from the rule text; nothing where it is refused.
fn difference_of(question: &Question, at: &str, with_problems: bool) -> Option<(Report, Report)> {
    difference(&Program::compile(house(&question.rules).ok()?), question, at, with_problems)
}

/// Leaves out what the difference does not need: log rows, items, lines of the rules.
fn shrunk(mut question: Question, at: &str, with_problems: bool) -> Question {
    loop {
        let smaller = smaller(&question).into_iter().find(|q| difference_of(q, at, with_problems).is_some());
        match smaller {
            Some(smaller) => question = smaller,
            None => return question,
        }
    }
}

fn smaller(question: &Question) -> Vec<Question> {
    let mut all = Vec::new();
    for i in 0..question.log.len() {
        let mut one = question.clone();
        one.log.remove(i);
        all.push(one);
    }
    for i in 0..question.items.len() {
        let mut one = question.clone();
        one.items.remove(i);
        all.push(one);
    }
    let lines: Vec<&str> = question.rules.lines().collect();
    for i in 0..lines.len() {
        let without = |line: &str| [&lines[..i], &[line], &lines[i + 1..]].concat().join("\n");
        let mut texts = vec![[&lines[..i], &lines[i + 1..]].concat().join("\n")];
        let parts: Vec<&str> = lines[i].split("; ").collect();
        texts.extend((1..parts.len()).map(|p| without(&[&parts[..p], &parts[p + 1..]].concat().join("; "))));
        all.extend(texts.into_iter().map(|rules| Question { rules, ..question.clone() }));
    }
    all
}

fn described(report: &Report, other: &Report) -> String {
    let mut text = String::new();
    for row in report.rows.iter().filter(|r| !other.rows.contains(r)) {
        let [due, limit, last] = [row.due_at, row.limit_at, row.last_done].map(shown);
        text += &format!("{} | {} | {} | {due} | {limit} | {last}\n", row.item, row.task, row.standing);
        for rule in &row.rules {
            let [due, limit, late] = [rule.due_at, rule.limit_at, rule.late_at].map(shown);
            let reached: Vec<String> = rule.reached.iter().map(|t| shown(*t)).collect();
            text += &format!(
                "#   rule {}: {}, due {due}, limit {limit}, late {late}, atoms {reached:?}, counts {:?}\n",
                rule.rule, rule.standing, rule.counts
            );
        }
    }
    let problem = |p: &Problem| format!("#   {} | {}\n", p.code, p.place);
    text + &report.problems.difference(&other.problems).map(problem).collect::<String>()
}

#[test]
fn engine_and_plain_evaluator_agree() {
    let (count, first) = (number("KITLORE_CASES_RANDOM", 2_000), number("KITLORE_SEED", 1));
    let shows = number("KITLORE_SHOW", 3);
    let (mut refused, mut differing) = (0, 0);
    for seed in first..first + count {
        let (question, ats) = random::question(&mut Rng::new(seed));
        let Ok(house) = house(&question.rules) else {
            refused += 1;
            continue;
        };
        let program = Program::compile(house);
        let last = ats.last();
        let differs = |at: &&String| difference(&program, &question, at, Some(*at) == last).is_some();
        let Some(at) = ats.iter().find(differs) else { continue };
        differing += 1;
        if differing <= shows {
            let small = shrunk(question.clone(), at, Some(at) == last);
            let (plain, engine) = difference_of(&small, at, Some(at) == last).unwrap();
            println!(
                "=== seed {seed}\n{small}--- at {at}\n# plain evaluator\n{}# engine\n{}",
                described(&plain, &engine),
                described(&engine, &plain)
            );
        }
    }
    assert_eq!(differing, 0, "{differing} of {count} random cases differ");
    assert!(
        refused * 50 <= count,
        "{refused} of {count} random rule texts are refused: the generator is out of date"
    );
}
