//! Whether an entry counts as it is meant, tried in a book that holds the log.

use crate::stop::Stop;
use kitlore::codes::ProblemCode;
use kitlore::fields::Time;
use kitlore::language::{closest, key};
use kitlore::render::{did_you_mean, listed};
use kitlore::{Book, Entry, Instant, Place, Problem, Standings, When};

/// Problems that make an entry useless. With any other problem the entry is recorded and the problem reported.
const REFUSED: [ProblemCode; 14] = [
    ProblemCode::BadExpect,
    ProblemCode::NoItem,
    ProblemCode::UnknownItem,
    ProblemCode::NoMember,
    ProblemCode::UnknownEvent,
    ProblemCode::UnknownTaskForItem,
    ProblemCode::UnitDiffers,
    ProblemCode::DuplicateId,
    ProblemCode::VoidUnknown,
    ProblemCode::VoidLoop,
    ProblemCode::MissingReading,
    ProblemCode::ReadingOverAmount,
    ProblemCode::NegativeAmount,
    ProblemCode::UntilBeforeWhen,
];

/// Problems that make an entry useless unless it is meant as it is.
const DOUBTED: [ProblemCode; 2] = [ProblemCode::UnknownCondition, ProblemCode::UnknownFinding];

/// The source under which the new entry is checked.
const NEW: &str = "this entry";

/// At most this many items are named.
const FEW: usize = 6;

/// Records the entry in the book, or explains why not. Gives the standings afterwards, and what is doubtful.
pub(super) fn check(
    book: &mut Book,
    entry: &Entry,
    as_it_is: bool,
    now: Instant,
) -> Result<(Standings, Vec<Problem>), Stop> {
    if let Err(problem) = book.record(entry.clone().at(Place::new(NEW, 1))) {
        return Err(refuse(&problem, entry, book, now));
    }
    let after = book.standings(now);
    // An entry in the future has effect only from then on.
    let when = match entry.fields().when {
        Time::Text(when) => When::parse(when).ok(),
        _ => None,
    };
    let ahead = when.map(|when| book.program().when_is_over(when)).filter(|at| *at > now);
    let seen = ahead.map(|at| book.standings(at));
    let problems = seen.as_ref().unwrap_or(&after).problems().iter();
    let is_own = |problem: &&Problem| problem.place.as_ref().is_some_and(|place| &*place.source == NEW);
    let own: Vec<Problem> = problems.filter(is_own).cloned().collect();
    let doubted = if as_it_is { &[][..] } else { &DOUBTED };
    // Whom an entry is for comes first: what happened is looked for in the words that are left.
    let of_code = |code: &ProblemCode| own.iter().find(|problem| problem.is(*code));
    match REFUSED.iter().chain(doubted).find_map(of_code) {
        Some(problem) => Err(refuse(problem, entry, book, now)),
        None => Ok((after, own)),
    }
}

fn refuse(problem: &Problem, entry: &Entry, book: &Book, now: Instant) -> Stop {
    if problem.is(ProblemCode::UnknownTaskForItem) {
        return of_others(entry, book, now);
    }
    let meant = problem.meant.as_deref().or_else(|| meant(problem, entry, book));
    Stop::Data(format!("not recorded: {}{}", problem.message(), did_you_mean(meant)))
}

/// The task is one of other items.
fn of_others(entry: &Entry, book: &Book, now: Instant) -> Stop {
    let fields = entry.fields();
    let wanted = key(fields.event);
    // The book may answer for one item alone.
    let mut all = Book::new(book.program());
    for item in book.items() {
        // The book took them, so that none is refused.
        let _ = all.add_item(item.clone());
    }
    let standings = all.standings(now);
    let of_task = standings.rows().filter(|row| key(row.task) == wanted);
    let items: Vec<String> = of_task.map(|row| format!("`{}`", row.item)).take(FEW).collect();
    let whose = match items.is_empty() {
        true => "no item now".to_owned(),
        false => listed(items.iter().map(String::as_str), "and"),
    };
    let (event, item) = (fields.event, fields.item);
    Stop::Data(format!("not recorded: no rule for `{event}` applies to `{item}`; it is a task of {whose}"))
}

/// A similar name where the engine suggests none: a person at a keyboard can judge it.
fn meant<'a>(problem: &Problem, entry: &Entry, book: &'a Book) -> Option<&'a str> {
    let fields = entry.fields();
    if problem.is(ProblemCode::UnknownItem) {
        return closest(fields.item, book.items().map(|item| item.id.as_str()));
    }
    if problem.is(ProblemCode::UnknownEvent) {
        let house = book.program().house();
        let tasks = house.rules.iter().map(|rule| rule.task.text.as_str());
        let events = house.events.iter().flatten().map(|name| name.text.as_str());
        return closest(fields.event, tasks.chain(events));
    }
    None
}
