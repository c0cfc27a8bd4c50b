//! What was meant where a line missed its form or is in doubt: an edit of the text, offered only if the parser takes the
//! edited house with fewer mistakes and no new doubt.
//!
//! `rewrite` has the slips that people make, as exchanges of tokens; `candidates` tries them on a line, the cheapest
//! first, within bounds; `trial` reads the whole house with what was found; `message` says what missed which form where
//! nothing was. No stage uses any of this.

mod candidates;
mod message;
mod names;
mod rewrite;
mod tokens;
mod trial;

pub(crate) use message::explain;

use crate::diagnostic::{Diagnostic, Fix, Severity};
use crate::limits::READ_AGAIN;
use crate::lines::Line as Stretch;
use crate::loader::Loader;
use crate::lower::File;
use crate::parse::{self, Part};
use crate::reading::Reading;
use candidates::{Budget, Candidate, LONGEST_TEXT, search};
use rewrite::Words;
use std::cell::RefCell;
use std::collections::HashMap;
use std::collections::HashSet;
use tokens::Line;
use trial::Trial;

/// Bytes of lines that are tried for all mistakes together.
const LINES_TRIED: usize = 256 * 1024;
/// Of a longer line only what changes is shown.
const SHOWN: usize = 300;
/// So many mistakes or doubts are looked into.
const LOOKED_INTO: usize = 100;

/// Gives each mistake and doubt of a house its correction, where there is one.
pub(crate) fn repair(name: &str, loader: Option<&dyn Loader>, reading: &mut Reading) {
    let loaded = RefCell::new(HashMap::new());
    let trial = Trial { name, loader, loaded, budget: Budget::new(READ_AGAIN) };
    let lines = Budget::new(LINES_TRIED);
    let mut found = reading.found().to_vec();
    let mut searched: HashMap<(u32, usize), Vec<Found>> = HashMap::new();
    for (number, diagnostic) in found.iter_mut().enumerate() {
        let proposed = diagnostic.fix.take();
        // Where reading stopped early, no correction can be shown to leave fewer mistakes.
        if number >= LOOKED_INTO || reading.cut_short || !reading.is_small() {
            continue;
        }
        if let Some(fix) = proposed.filter(|fix| trial.takes(reading, fix).is_some()) {
            diagnostic.fix = Some(fix);
            continue;
        }
        let line = reading.line_of(diagnostic.span);
        let Some((at, range)) = line.filter(|(_, range)| range.len() <= LONGEST_TEXT) else { continue };
        let key = (diagnostic.span.source.0, at);
        let code = reading.codes.get(key.0 as usize).map_or("", |code| &**code);
        let line = Line::of(File { code, id: diagnostic.span.source }, range);
        let several = searched.entry(key).or_insert_with(|| in_line(reading, &trial, &lines, &line, at));
        let gone: Vec<&Found> = several.iter().filter(|found| !found.left.contains(diagnostic)).collect();
        offer(diagnostic, &gone, &line);
    }
    found.sort_by_key(|diagnostic| (diagnostic.span.source, diagnostic.span.start, diagnostic.span.end));
    match reading.mistakes.is_empty() {
        true => reading.house.doubts = found,
        false => {
            reading.mistakes = found;
            // Of what was not understood, doubts would be idle.
            reading.house.doubts.clear();
        }
    }
}

/// A correction that the house takes.
struct Found {
    fix: Fix,
    /// The line as corrected.
    shown: String,
    candidate: Candidate,
    /// What is left of the line's mistakes.
    left: Vec<Diagnostic>,
}

/// What a line was probably meant to be.
fn in_line(
    reading: &Reading,
    trial: &Trial<'_>,
    budget: &Budget,
    line: &Line<'_>,
    number: usize,
) -> Vec<Found> {
    let above = above(reading, line, number);
    let tasks: HashSet<&str> = reading.house.rules.iter().map(|rule| rule.task.key.as_str()).collect();
    let candidates = search(&above, Words::new(line, &tasks), budget);
    let found = candidates.into_iter().take(4).filter_map(|candidate| {
        let fix = Fix { edits: line.edits(&candidate.tokens)? };
        let left = trial.takes(reading, &fix)?;
        Some(Found {
            fix,
            shown: tokens::joined(&candidate.tokens).replace('\n', "` and, on a line of its own, `"),
            candidate,
            left,
        })
    });
    found.collect()
}

/// The line that a line belongs to: the rule of a detail, the head of an example.
fn above(reading: &Reading, line: &Line<'_>, number: usize) -> String {
    let source = line.file().id.0 as usize;
    let lines = reading.lines.get(source).map_or(&[][..], |lines| lines);
    for range in lines.get(..number).unwrap_or(&[]).iter().rev().take(40) {
        if range.len() > LONGEST_TEXT {
            break;
        }
        let read = Stretch { range: range.clone(), broken: false };
        let text = line.file().code.get(range.clone()).unwrap_or("");
        match parse::statement(line.file().code, &read).map(|node| node.part) {
            Some(Part::rule | Part::example) => return text.to_owned(),
            Some(Part::details) => {}
            // A line of an example, or one that was misread.
            Some(Part::bad_line) | None => {}
            Some(_) if parse::example_line(line.file().code, &read).is_some() => {}
            Some(_) => break,
        }
    }
    String::new()
}

/// Gives a diagnostic the correction of its line; of several, only what they are.
fn offer(diagnostic: &mut Diagnostic, found: &[&Found], line: &Line<'_>) {
    let verb = if diagnostic.severity == Severity::Doubt { "did you mean" } else { "write" };
    let end = if diagnostic.severity == Severity::Doubt { "?" } else { "" };
    match found {
        [] => {}
        [found] => {
            message::says(diagnostic, &found.candidate.whys, line);
            diagnostic.help = Some(match found.fix.edits.as_slice() {
                [edit, ..] if found.shown.len() > SHOWN && edit.text.trim().is_empty() => {
                    "leave it out".to_owned()
                }
                [edit, ..] if found.shown.len() > SHOWN => {
                    format!("{verb} `{}` there{end}", edit.text.trim())
                }
                _ => format!("{verb} `{}`{end}", found.shown),
            });
            diagnostic.fix = Some(found.fix.clone());
        }
        [first, ..] => {
            message::says(diagnostic, &first.candidate.whys, line);
            let shown: Vec<String> = found.iter().map(|found| format!("`{}`", found.shown)).collect();
            diagnostic.help = Some(format!("{verb} {}, as is meant", shown.join(" or ")));
        }
    }
}
