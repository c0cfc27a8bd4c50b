//! Every conformance case through both evaluators.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use kitlore_tests::case::{Answer, At, Case, Question, read_folder, run};
use kitlore_tests::evaluators::{self, house};
use kitlore_tests::plain::problems::reports;
use std::path::Path;

/// The cases of this project and, if `KITLORE_CASES` names a folder, those in it.
fn cases() -> Vec<Case> {
    let mut cases = read_folder(&Path::new(env!("CARGO_MANIFEST_DIR")).join("cases"));
    assert!(cases.len() >= 150, "only {} cases were found", cases.len());
    if let Ok(folder) = std::env::var("KITLORE_CASES") {
        cases.extend(read_folder(Path::new(&folder)));
    }
    cases
}

fn all_hold(evaluate: &dyn Fn(&Question, &At) -> Answer, reports: &dyn Fn(&Question, &str) -> bool) {
    let cases = cases();
    let mismatches: Vec<String> = cases.iter().flat_map(|case| run(case, evaluate, reports)).collect();
    assert!(
        mismatches.is_empty(),
        "{} mismatches in {} cases\n\n{}",
        mismatches.len(),
        cases.len(),
        mismatches.join("\n\n")
    );
}

#[test]
fn plain_evaluator() {
    all_hold(&evaluators::plain, &|question, code| {
        house(&question.rules).is_ok_and(|house| reports(&house, code))
    });
}

#[test]
fn engine() {
    all_hold(&evaluators::engine, &|_, _| true);
}
