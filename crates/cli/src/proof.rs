//! `kitlore proof`: proofreads a rule file, runs its examples, and compares its names with the data.

use crate::args::ProofArgs;
use crate::screen::{Host, plain, push_line, wrap};
use crate::stop::Stop;
use crate::{drawing, load, problems};
use kitlore::codes::{MistakeCode, ProblemCode, TableCode};
use kitlore::language::{Diagnostic, Failure, Severity};
use kitlore::render::{counted, without_rule};
use kitlore::tables::{RulesFileError, load_rules};
use kitlore::{Book, Problem, Rules};

/// Problems that may come from a slip in a name.
const NAMES: [ProblemCode; 5] = [
    ProblemCode::NeverSeen,
    ProblemCode::UnknownCondition,
    ProblemCode::UnknownEvent,
    ProblemCode::UnknownFinding,
    ProblemCode::UnknownKind,
];

/// Runs the command. What it finds is its result and goes to standard output.
pub(crate) fn proof(args: &ProofArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let rules = match load_rules(&args.rules) {
        Ok(rules) => rules,
        Err(RulesFileError::Mistakes(mistakes)) => {
            let text = drawing::all(&mistakes.list, &mistakes.sources, host.width, host.colour_out);
            host.print(&text)?;
            return Ok(1);
        }
        Err(error) => return Err(Stop::data(error)),
    };
    let house = rules.house();
    let failures: Vec<Diagnostic> = rules.run_examples().into_iter().map(as_diagnostic).collect();
    let found: Vec<Diagnostic> = house.doubts.iter().cloned().chain(failures.iter().cloned()).collect();
    let mut text = String::new();
    for diagnostic in &found {
        text.push_str(&drawing::draw(diagnostic, &house.sources, host.width, host.colour_out));
        text.push_str("\n\n");
    }
    text.push_str(&silenced(&rules));
    text.push_str(&summary(&rules, house.doubts.len(), failures.len()));
    host.print(&text)?;
    against_data(args, &rules, host)?;
    Ok(u8::from(!failures.is_empty()))
}

fn as_diagnostic(failure: Failure) -> Diagnostic {
    Diagnostic {
        code: MistakeCode::ExampleFails,
        severity: Severity::Error,
        message: format!("the example `{}` does not hold: {}", failure.example, failure.message),
        span: failure.span,
        second: None,
        help: None,
        fix: None,
    }
}

/// Which rules each `instead` replaces.
fn silenced(rules: &Rules) -> String {
    let house = rules.house();
    let place = |rule: &kitlore::language::tree::Rule| {
        format!("{}:{}", plain(house.sources.name(rule.span)), house.sources.line_column(rule.span).0)
    };
    let mut text = String::new();
    for rule in house.rules.iter().filter(|rule| rule.instead) {
        let others = house.rules.iter().filter(|other| !other.instead && other.task.key == rule.task.key);
        let others: Vec<String> = others.map(place).collect();
        let names = if others.is_empty() { "no other rule".to_owned() } else { others.join(", ") };
        text.push_str(&format!("{}: for its items, `instead` silences {names}\n", place(rule)));
    }
    if !text.is_empty() {
        text.push('\n');
    }
    text
}

fn summary(rules: &Rules, doubts: usize, failures: usize) -> String {
    let house = rules.house();
    let claims: usize = house.examples.iter().map(|example| example.claims.len()).sum();
    let files = house.sources.iter().count();
    let examples = match house.examples.len() {
        0 => "no examples".to_owned(),
        count => format!("{} with {}", counted(count, "example"), counted(claims, "claim")),
    };
    let fails = match failures {
        0 => String::new(),
        1 => "; 1 line of the examples does not hold".to_owned(),
        count => format!("; {count} lines of the examples do not hold"),
    };
    let doubts = if doubts == 0 { "no doubts".to_owned() } else { counted(doubts, "doubt") };
    format!(
        "{} in {}, {examples}: no mistakes, {doubts}{fails}\n",
        counted(house.rules.len(), "rule"),
        counted(files, "file")
    )
}

/// Names in the rules that never occur in the data, and names in the data that no rule mentions.
fn against_data(args: &ProofArgs, rules: &Rules, host: &mut Host<'_>) -> Result<(), Stop> {
    if args.items.is_none() && args.log.is_none() {
        return Ok(());
    }
    let columns = load::columns(&args.columns)?;
    let mut book = Book::new(rules);
    if let Some(items) = &args.items {
        load::items(&mut book, items, &columns)?;
    }
    if let Some(log) = &args.log {
        load::log(&mut book, log, &columns)?;
    }
    let standings = book.standings(host.now);
    let is_name = |problem: &&Problem| {
        let is_any = |codes: &[ProblemCode]| codes.iter().any(|code| problem.is(*code));
        // Without an inventory every item is unknown.
        is_any(&NAMES)
            || problem.is(TableCode::UnknownHeading)
            || problem.is(TableCode::UnreadColumn)
            || args.items.is_some() && is_any(&[ProblemCode::UnknownItem, ProblemCode::UnknownTaskForItem])
    };
    let names: Vec<Problem> = standings.problems().iter().filter(is_name).cloned().collect();
    let mut text = match names.len() {
        0 => "no name in the data is doubtful\n".to_owned(),
        count => format!("{} in the data\n", counted(count, "doubtful name")),
    };
    for problem in &names {
        text.push_str(&problems::line(problem, host.width, host.colour_out));
        text.push('\n');
    }
    text.push_str(&unused(args, &book, host.width));
    if let Some(items) = without_rule(&standings).filter(|_| args.items.is_some()) {
        wrap(&items, host.width, "").iter().for_each(|line| push_line(&mut text, line));
    }
    host.print(&text)
}

/// What the rules mention and the given data never contain.
fn unused(args: &ProofArgs, book: &Book, width: usize) -> String {
    let unused = book.unused_names();
    let mut text = String::new();
    for (sort, title) in
        [("kind", "kinds"), ("event", "events"), ("condition", "conditions"), ("finding", "findings")]
    {
        let given = if sort == "kind" { args.items.is_some() } else { args.log.is_some() };
        let names: Vec<String> = unused
            .iter()
            .filter(|(of, _)| given && *of == sort)
            .map(|(_, name)| format!("`{}`", plain(name)))
            .collect();
        if !names.is_empty() {
            let line = format!("{title} in the rules that never occur: {}", names.join(", "));
            wrap(&line, width, "  ").iter().for_each(|line| push_line(&mut text, line));
        }
    }
    text
}
