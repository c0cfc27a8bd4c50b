//! The search for what a line was probably meant to be: rewrites, the cheapest first, until the parser takes the line.
//!
//! Only the line itself is read here, below the line that it belongs to; whether the whole house takes what was found
//! is the business of `trial`.

use super::rewrite::{Step, Why, Words, rewrites};
use super::tokens::{Token, joined};
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::misread::Misread;
use crate::reading::Reading;
use crate::source::Span;
use crate::tree::House;
use std::cell::Cell;
use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashSet};

/// A line of more tokens is not searched.
const LONGEST: usize = 80;
/// Nor is one of more bytes.
pub(super) const LONGEST_TEXT: usize = 2_000;
/// Nor is one of more brackets: those within others take long to read.
const MOST_BRACKETS: usize = 3;
/// So many lines are tried for one mistake.
const TRIED: usize = 240;
/// More than so much is too far from what was written to have been meant.
const COSTLIEST: u32 = 14;

/// How much may still be tried.
#[derive(Debug)]
pub(super) struct Budget(Cell<usize>);

impl Budget {
    /// In bytes that are read.
    pub fn new(bytes: usize) -> Self {
        Self(Cell::new(bytes))
    }

    /// Whether so much is left, which is then spent.
    pub fn spend(&self, bytes: usize) -> bool {
        let left = self.0.get().checked_sub(bytes);
        self.0.set(left.unwrap_or(0));
        left.is_some()
    }
}

/// What a line may have been meant to be.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    pub tokens: Vec<Token>,
    /// What was changed, in the order of changes.
    pub whys: Vec<Why>,
    /// Mistakes and doubts that are left.
    left: (usize, usize),
    cost: u32,
}

/// The mistakes and doubts of a line below the one that it belongs to.
fn judge(above: &str, line: &str, budget: &Budget) -> Option<(usize, usize)> {
    // What is doubtful about a section is so where it has a rule.
    let rule = if line.starts_with("for ") { "\nevery trip, wipe body" } else { "" };
    let text = format!("{above}\n{line}{rule}");
    if !budget.spend(text.len()) {
        return None;
    }
    // Only how many there are is asked.
    fn counted(misread: &Misread, _: &str, _: &House) -> Diagnostic {
        let span = Span { source: misread.file, start: misread.missed.start(), end: misread.missed.start() };
        Diagnostic::error(Code::UnknownStatement, span, "")
    }
    let reading = Reading::of("", &text, None, counted);
    let own = |list: &[Diagnostic]| list.iter().filter(|d| d.span.start as usize > above.len()).count();
    Some((own(&reading.mistakes), own(&reading.house.doubts)))
}

/// The best that a line may have been meant to be: several where they are equally near.
pub(super) fn search(above: &str, words: Words<'_>, budget: &Budget) -> Vec<Candidate> {
    let start = words.tokens.clone();
    let text = joined(&start);
    let brackets = start.iter().filter(|token| &*token.text == "(").count();
    if start.len() > LONGEST || text.len() > LONGEST_TEXT || brackets > MOST_BRACKETS {
        return Vec::new();
    }
    let Some(given) = judge(above, &text, budget) else { return Vec::new() };
    let mut best: Vec<Candidate> = Vec::new();
    let mut seen = HashSet::from([text]);
    let mut states = vec![Candidate { tokens: start, whys: Vec::new(), left: given, cost: 0 }];
    let mut ahead = BinaryHeap::from([(Reverse(0_u32), Reverse(0_usize))]);
    let mut tried = 0;
    while let Some((_, Reverse(number))) = ahead.pop() {
        let Some(state) = states.get(number).cloned() else { break };
        // What is right already is not made better by more changes.
        let enough = |best: &[Candidate], cost: u32| {
            best.first().is_some_and(|best| best.left == (0, 0) && best.cost < cost)
        };
        for Step { tokens, cost, why } in rewrites(&words.with(&state.tokens)) {
            let cost = state.cost + cost;
            let text = joined(&tokens);
            if cost > COSTLIEST
                || enough(&best, cost)
                || tokens.len() > 2 * LONGEST
                || !seen.insert(text.clone())
            {
                continue;
            }
            tried += 1;
            let Some(left) = (tried <= TRIED).then(|| judge(above, &text, budget)).flatten() else {
                return best;
            };
            let whys = state.whys.iter().cloned().chain([why]).collect();
            let next = Candidate { tokens, whys, left, cost };
            // A phrase that says which part is meant is no part of a name.
            let whole = !next.tokens.iter().any(|token| &*token.low == "whichever");
            if whole && !next.tokens.is_empty() && better(left, given) {
                keep_best(&mut best, &next);
            }
            // What brought the line nearer to the language goes on first.
            let hope = cost + 2 * u32::try_from(left.0).unwrap_or(u32::MAX / 4);
            ahead.push((Reverse(hope), Reverse(states.len())));
            states.push(next);
        }
    }
    best
}

/// Whether there are fewer mistakes and no new doubt, or fewer doubts and no mistake.
fn better(left: (usize, usize), given: (usize, usize)) -> bool {
    left.1 <= given.1 && left.0 < given.0 || left.0 == 0 && given.0 == 0 && left.1 < given.1
}

fn keep_best(best: &mut Vec<Candidate>, next: &Candidate) {
    let rank = |candidate: &Candidate| (candidate.left, candidate.cost);
    match best.first().map(|first| rank(next).cmp(&rank(first))) {
        Some(std::cmp::Ordering::Greater) => return,
        Some(std::cmp::Ordering::Less) => best.clear(),
        _ => {}
    }
    best.push(next.clone());
}
