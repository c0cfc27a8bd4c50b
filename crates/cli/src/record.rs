//! `kitlore record`: checks one entry and appends it to the log.

use crate::args::RecordArgs;
use crate::fit::fit;
use crate::load;
use crate::screen::{Host, paint, plain, style_of};
use crate::stop::Stop;
use kitlore::codes::ProblemCode;
use kitlore::language::{closest, key};
use kitlore::render::{did_you_mean, listed};
use kitlore::tables::{Columns, append_entry};
use kitlore::{Book, Entry, Instant, Place, Problem, Rules, Standing, Standings, When};
use std::path::Path;

/// Problems that make an entry useless. With any other problem the entry is recorded and the problem reported.
const REFUSED: [ProblemCode; 14] = [
    ProblemCode::BadExpect,
    ProblemCode::UnknownItem,
    ProblemCode::UnknownEvent,
    ProblemCode::UnknownTaskForItem,
    ProblemCode::UnknownCondition,
    ProblemCode::UnknownFinding,
    ProblemCode::UnitDiffers,
    ProblemCode::DuplicateId,
    ProblemCode::VoidUnknown,
    ProblemCode::VoidLoop,
    ProblemCode::MissingReading,
    ProblemCode::ReadingOverAmount,
    ProblemCode::NegativeAmount,
    ProblemCode::UntilBeforeWhen,
];

/// The source under which the new entry is checked.
const NEW: &str = "this entry";

/// At most this many changed rows are listed.
const FEW: usize = 12;

/// Runs the command.
pub(crate) fn record(args: &RecordArgs, host: &mut Host<'_>) -> Result<u8, Stop> {
    let rules = load::rules(&args.files.rules, host)?;
    let columns = load::columns(&args.files.columns)?;
    let mut book = Book::new(&rules);
    load::items(&mut book, &args.files.items, &columns)?;
    // A log that does not exist yet is created.
    if Path::new(&args.files.log).exists() {
        load::log(&mut book, &args.files.log, &columns)?;
    }
    let when = match &args.when {
        Some(when) => when.trim().to_owned(),
        None => rules.local(host.now).format("%Y-%m-%dT%H:%M:%S%:z").to_string(),
    };
    let entry = entry(args, &when);
    let before = book.standings(host.now);
    let (after, doubts) = check(&mut book, &rules, entry.clone(), &when, host.now)?;
    let line = append(&args.files.log, &columns, &entry)?;
    let log = Path::new(&args.files.log)
        .file_name()
        .map_or_else(String::new, |name| name.to_string_lossy().into_owned());
    let item = if args.item.trim().is_empty() { "every item" } else { args.item.trim() };
    let recorded =
        format!("{}:{line}: {} {} {}\n", plain(&log), plain(&when), plain(item), plain(args.event.trim()));
    let changes = changes(&before, &after, host.colour_out);
    host.print(&fit(&(recorded + &changes), host.text_width()))?;
    for doubt in &doubts {
        host.say(&format!("  note: {} [{}]", plain(&doubt.message()), doubt.code));
    }
    Ok(0)
}

fn entry(args: &RecordArgs, when: &str) -> Entry {
    let text = |text: &Option<String>| text.as_deref().map(str::trim).unwrap_or_default().to_owned();
    let mut entry = Entry::new(when, args.event.trim())
        .until(text(&args.until))
        .item(args.item.trim())
        .amount(text(&args.amount))
        .reading(text(&args.reading))
        .unit(text(&args.unit))
        .expect(text(&args.expect))
        .reference(text(&args.reference))
        .id(text(&args.id))
        .by(text(&args.by))
        .note(text(&args.note));
    for condition in &args.conditions {
        entry = entry.condition(condition.trim());
    }
    for finding in &args.found {
        entry = entry.found(finding.trim());
    }
    entry
}

/// Records the entry in the book, or explains why not. Gives the standings afterwards, and what is doubtful.
fn check(
    book: &mut Book,
    rules: &Rules,
    entry: Entry,
    when: &str,
    now: Instant,
) -> Result<(Standings, Vec<Problem>), Stop> {
    let refuse = |problem: &Problem, book: &Book| {
        let meant = problem.meant.as_deref().or_else(|| meant(problem, &entry, rules, book));
        Stop::Data(format!("not recorded: {}{}", problem.message(), did_you_mean(meant)))
    };
    let task_of = |after: &Standings| {
        let wanted = key(entry.fields().event);
        let items: Vec<String> = after
            .rows()
            .filter(|row| key(row.task) == wanted)
            .map(|row| format!("`{}`", row.item))
            .take(6)
            .collect();
        let event = entry.fields().event.to_owned();
        let whose = if items.is_empty() {
            "no item now".to_owned()
        } else {
            listed(items.iter().map(String::as_str), "and")
        };
        Stop::Data(format!(
            "not recorded: no rule for `{event}` applies to `{}`; it is a task of {whose}",
            entry.fields().item
        ))
    };
    if let Err(problem) = book.record(entry.clone().at(Place::new(NEW, 1))) {
        return Err(refuse(&problem, book));
    }
    let after = book.standings(now);
    // An entry in the future has effect only from then on.
    let ahead = When::parse(when).ok().map(|when| rules.when_is_over(when)).filter(|at| *at > now);
    let seen = ahead.map(|at| book.standings(at));
    let own: Vec<Problem> = seen
        .as_ref()
        .unwrap_or(&after)
        .problems()
        .iter()
        .filter(|problem| problem.place.as_ref().is_some_and(|place| &*place.source == NEW))
        .cloned()
        .collect();
    match own.iter().find(|problem| REFUSED.iter().any(|code| problem.is(*code))) {
        Some(problem) if problem.is(ProblemCode::UnknownTaskForItem) => Err(task_of(&after)),
        Some(problem) => Err(refuse(problem, book)),
        None => Ok((after, own)),
    }
}

/// A similar name where the engine suggests none: a person at a keyboard can judge it.
fn meant<'a>(problem: &Problem, entry: &Entry, rules: &'a Rules, book: &'a Book) -> Option<&'a str> {
    let fields = entry.fields();
    if problem.is(ProblemCode::UnknownItem) {
        return closest(fields.item, book.items().map(|item| item.id.as_str()));
    }
    if problem.is(ProblemCode::UnknownEvent) {
        let house = rules.house();
        let tasks = house.rules.iter().map(|rule| rule.task.text.as_str());
        let events = house.events.iter().flatten().map(|name| name.text.as_str());
        return closest(fields.event, tasks.chain(events));
    }
    None
}

fn append(log: &str, columns: &Columns, entry: &Entry) -> Result<u32, Stop> {
    append_entry(log, columns, entry).map_err(|error| Stop::Data(format!("not recorded: {error}")))
}

/// The rows whose standing the entry changes, before and after.
fn changes(before: &Standings, after: &Standings, colour: bool) -> String {
    let rows = |standings: &Standings| -> Vec<((String, String), Standing)> {
        standings.rows().map(|row| ((row.item.to_owned(), row.task.to_owned()), row.standing)).collect()
    };
    let old: std::collections::BTreeMap<_, _> = rows(before).into_iter().collect();
    let new: std::collections::BTreeMap<_, _> = rows(after).into_iter().collect();
    let painted = |standing: Standing| paint(colour, style_of(standing), standing.word());
    let mut lines = Vec::new();
    for (name @ (item, task), standing) in &new {
        let was = old.get(name);
        if was == Some(standing) {
            continue;
        }
        let was = was.map_or_else(|| "new".to_owned(), |was| painted(*was));
        lines.push(format!("  {} {}: {was} -> {}", plain(item), plain(task), painted(*standing)));
    }
    let mut gone: Vec<&String> =
        old.keys().filter(|name| !new.contains_key(*name)).map(|(item, _)| item).collect();
    gone.dedup();
    lines.extend(gone.iter().map(|item| format!("  {}: retired, no more tasks", plain(item))));
    let more = lines.len().saturating_sub(FEW);
    lines.truncate(FEW);
    if more > 0 {
        lines.push(format!("  and {more} more"));
    }
    lines.iter().map(|line| format!("{line}\n")).collect()
}
