//! Problems in the data, for people.

use crate::screen::{FAINT, Host, paint, plain, wrap};
use kitlore::Problem;
use kitlore::render::{counted, did_you_mean, group};
use std::collections::HashSet;
use std::hash::Hash;

/// Up to this many problems are listed one by one even without `--problems`.
const FEW: usize = 6;

/// How many places are named of problems that are alike.
const PLACES: usize = 5;
/// Up to this many sources, or suggestions, of problems that are alike get a line each.
const APART: usize = 4;
/// How many sorts of problems are shown, each by its first; the rest are only counted.
const SORTS: usize = 40;

/// Reports the problems: all of them, or if there are many the first of each sort.
pub(crate) fn report(problems: &[Problem], all: bool, host: &mut Host<'_>) {
    if problems.is_empty() {
        return;
    }
    host.say(&format!("{} in the data", counted(problems.len(), "problem")));
    if all || problems.len() <= FEW {
        for problem in problems {
            let line = line(problem, host.width, host.colour_err);
            host.say(&line);
        }
        return;
    }
    let groups = groups(problems);
    for group in groups.iter().take(SORTS) {
        if let Some((first, others)) = group.split_first() {
            let line = line(first, host.width, host.colour_err);
            host.say(&line);
            if !others.is_empty() {
                let like = like(first, others);
                host.say(&format!("    {}", wrap(&like, host.width.saturating_sub(4), "").join("\n      ")));
            }
        }
    }
    let rest: usize = groups.iter().skip(SORTS).map(Vec::len).sum();
    if rest > 0 {
        host.say(&format!("  and {} of other sorts", counted(rest, "problem")));
    }
    host.say("`--problems` lists every one");
}

/// Problems that one line can stand for: of one sort (so that the consequence is the same), in one source and with
/// one suggestion. Where sources or suggestions are many they stay together.
fn groups(problems: &[Problem]) -> Vec<Vec<&Problem>> {
    let alike = by(problems.iter(), |problem| problem.sort());
    let source = |problem: &&Problem| problem.place.as_ref().map(|place| place.source.to_string());
    let of_a_source = alike.into_iter().flat_map(|group| apart(group, source));
    of_a_source.flat_map(|group| apart(group, |problem| problem.meant.clone())).collect()
}

/// One group for each key if they are few, else a single group.
fn apart<'a, K: Hash + Eq + Clone>(
    group: Vec<&'a Problem>,
    key: impl Fn(&&'a Problem) -> K,
) -> Vec<Vec<&'a Problem>> {
    let groups = by(group.iter().copied(), key);
    if groups.len() <= APART { groups } else { vec![group] }
}

/// One group for each key, in order of first occurrence.
fn by<'a, K: Hash + Eq + Clone>(
    problems: impl Iterator<Item = &'a Problem>,
    key: impl Fn(&&'a Problem) -> K,
) -> Vec<Vec<&'a Problem>> {
    let groups = group(problems.map(|problem| (key(&problem), problem)));
    groups.into_iter().map(|(_, group)| group).collect()
}

/// How many others are like the first, and where. Those with a suggestion of their own come first.
fn like(first: &Problem, others: &[&Problem]) -> String {
    let mut shown: Vec<&Problem> = Vec::new();
    let mut suggestions: HashSet<&str> = first.meant.as_deref().into_iter().collect();
    let known = suggestions.len();
    for problem in others {
        if problem.meant.as_deref().is_some_and(|meant| suggestions.insert(meant)) && shown.len() < PLACES {
            shown.push(problem);
        }
    }
    let suggestions = suggestions.len() - known;
    if shown.is_empty() {
        shown.extend(others.iter().take(PLACES));
    }
    let dots = if others.len() > shown.len() { ", ..." } else { "" };
    let places: Vec<String> = shown
        .iter()
        .filter_map(|problem| {
            let meant = did_you_mean(problem.meant.as_deref().filter(|_| suggestions > 0));
            let subject = || problem.subject().map(|subject| format!("`{subject}`"));
            place(problem).or_else(subject).map(|at| plain(&format!("{at}{meant}")))
        })
        .collect();
    let with = match suggestions {
        0 => String::new(),
        more => format!(" with {} of their own", counted(more, "suggestion")),
    };
    let at = if places.is_empty() { String::new() } else { format!(": {}{dots}", places.join(", ")) };
    format!("and {} like it{with}{at}", others.len())
}

fn place(problem: &Problem) -> Option<String> {
    problem.place.as_ref().map(|place| format!("{}:{}", plain(&place.source), place.line))
}

/// One problem: place, message, the name that was probably meant, code.
pub(crate) fn line(problem: &Problem, width: usize, colour: bool) -> String {
    let at = place(problem).map_or_else(String::new, |place| format!("{place}: "));
    let code = format!("[{}]", problem.code);
    let text = format!("{at}{} {code}", plain(&problem.words()));
    let text = format!("  {}", wrap(&text, width.saturating_sub(4), "").join("\n    "));
    match text.strip_suffix(code.as_str()) {
        Some(before) => format!("{before}{}", paint(colour, FAINT, &code)),
        None => text,
    }
}
