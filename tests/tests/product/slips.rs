//! Slips in data (`slips/`): each is used as it was meant, or reported; never neither.
//!
//! `KITLORE_BLESS=1` writes what comes out into the files; read the difference before keeping it.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test: a panic is its failure"
)]

use kitlore_engine::{Book, Program, When};
use kitlore_tables::{Columns, Limits, ReadError, Table, read_items, read_log};
use std::collections::BTreeSet;
use std::fs;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

/// Codes that stand for a way in which a slip could have become silent.
const MUST_OCCUR: [&str; 11] = [
    "no-item",
    "no-member",
    "unknown-finding",
    "unknown-condition",
    "unread-column",
    "before-received",
    "not-yet-done",
    "no-effect",
    "same-twice",
    "no-such-kind",
    "point-or-group",
];

/// A heading such as `items`, `log dives.jsonl` or `at 2026-02-10`, and the lines below it.
#[derive(Debug, Clone)]
struct Part {
    heading: String,
    body: String,
}

impl Part {
    fn is(&self, word: &str) -> bool {
        self.heading.split_whitespace().next() == Some(word)
    }

    fn rest(&self) -> &str {
        self.heading.split_once(' ').map_or("", |(_, rest)| rest.trim())
    }
}

fn parts(text: &str) -> Vec<Part> {
    let mut parts: Vec<Part> = Vec::new();
    for line in text.lines() {
        match line.strip_prefix("--- ") {
            Some(heading) => parts.push(Part { heading: heading.to_owned(), body: String::new() }),
            None => parts.last_mut().into_iter().for_each(|part| part.body += &format!("{line}\n")),
        }
    }
    parts
}

/// One slip: a table in a house, the rows that were meant, and what is said to come out.
#[derive(Debug)]
struct Slip {
    title: String,
    input: String,
    /// What stands after `=>`.
    outcome: String,
}

/// What a house shows: its rows as `item | task | standing | last done | counts`, and its problems as people see them.
#[derive(Debug, Default)]
struct Shown {
    rows: Vec<String>,
    problems: Vec<String>,
    codes: BTreeSet<String>,
}

impl Shown {
    fn has(&self, row: &str) -> bool {
        self.rows
            .iter()
            .any(|own| own.strip_prefix(row).is_some_and(|rest| rest.is_empty() || rest.starts_with(" |")))
    }

    fn refused(&mut self, error: &ReadError) {
        self.problems.push(format!("{}: {error}", error.code()));
        self.codes.insert(error.code().to_string());
    }
}

/// What the parts of a house come to; a part of a slip takes the place of the house's items, or follows its log.
fn shown(house: &[Part], slip: &[Part]) -> Shown {
    let all = |word: &str| house.iter().chain(slip).filter(|p| p.is(word)).cloned().collect::<Vec<_>>();
    let rules = all("rules").pop().expect("a house has rules").body;
    let mut book = Book::new(&Program::parse(&rules).unwrap());
    let mut shown = Shown::default();
    let columns = all("columns").pop().map_or_else(Columns::new, |part| Columns::parse(&part.body).unwrap());
    let items = all("items").pop().into_iter();
    for (part, is_log) in items.map(|p| (p, false)).chain(all("log").into_iter().map(|p| (p, true))) {
        let name = match part.rest() {
            "" if is_log => "log.csv",
            "" => "items.csv",
            name => name,
        };
        let table = Table::from_bytes(name, part.body.as_bytes());
        let (columns, limits) = (&columns, &Limits::default());
        let read = |table| {
            if is_log {
                read_log(&mut book, table, columns, limits).map(drop)
            } else {
                read_items(&mut book, table, columns, limits).map(drop)
            }
        };
        if let Err(error) = table.and_then(read) {
            shown.refused(&error);
        }
    }
    let asked = [all("at"), all("now")].concat().pop().expect("a house is looked at");
    let at = book.program().when_is_over(When::parse(asked.rest()).unwrap());
    let found = if asked.is("now") { book.standings_now(at, NonZeroUsize::MIN) } else { book.standings(at) };
    let date = |time: Option<kitlore_engine::Instant>| {
        time.map_or("-".to_owned(), |t| t.utc().date_naive().to_string())
    };
    for row in found.rows() {
        let counts = row.rules().flat_map(|rule| rule.parts()).filter_map(|part| part.count);
        let counts: Vec<String> = counts.map(|count| count.to_string()).collect();
        let done = date(row.last_done);
        shown.rows.push(format!(
            "{} | {} | {} | {done} | {}",
            row.item,
            row.task,
            row.standing,
            counts.join(", ")
        ));
    }
    shown.rows.extend(found.awaited().map(|a| format!("{} comes {}", a.item, a.there_from)));
    for problem in found.problems() {
        let place = problem.place.as_ref().map(|place| format!("{}:{} ", place.source, place.line));
        let meant = problem.meant.as_ref().map(|meant| format!(" [meant {meant}]")).unwrap_or_default();
        let place = place.unwrap_or_default();
        shown.problems.push(format!("{place}{}: {}{meant}", problem.code, problem.message()));
        shown.codes.insert(problem.code.to_string());
    }
    shown
}

/// The verdict and, below it, what is reported because of the slip.
fn outcome(house: &[Part], slip: &Slip, codes: &mut BTreeSet<String>) -> String {
    let tables = parts(&slip.input);
    let (right, tables): (Vec<Part>, Vec<Part>) = tables.into_iter().partition(|part| part.is("right"));
    let [right] = &right[..] else { panic!("{}: one part says what is right", slip.title) };
    let right: Vec<&str> = right.body.lines().map(str::trim).filter(|line| !line.is_empty()).collect();
    assert!(!right.is_empty(), "{}: nothing is right", slip.title);
    let without = shown(house, &[]);
    assert_eq!(without.problems, Vec::<String>::new(), "{}: the house has problems of its own", slip.title);
    let holds = |shown: &Shown| right.iter().all(|row| shown.has(row));
    assert!(!holds(&without), "{}: what is right holds without the slip's table", slip.title);
    let with = shown(house, &tables);
    codes.extend(with.codes.iter().cloned());
    let verdict = match (holds(&with), with.problems.is_empty()) {
        (true, true) => "used right",
        (true, false) => "used right, reported",
        (false, false) => "reported",
        (false, true) => "neither",
    };
    let lines = with.problems.iter().map(|line| format!("{line}\n"));
    format!("{verdict}\n{}", lines.collect::<String>())
}

fn files() -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("slips");
    let mut files: Vec<PathBuf> = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "txt"));
    files.sort();
    files
}

/// The house of a file as text, and its slips.
fn read(text: &str) -> (String, Vec<Slip>) {
    let mut sections = text.split("\n=== ");
    let house = sections.next().unwrap_or_default().to_owned();
    let slip = |section: &str| {
        let (input, outcome) = section.split_once("\n=> ").unwrap_or((section.trim_end(), ""));
        let (title, input) = input.split_once('\n').unwrap_or((input, ""));
        Slip { title: title.to_owned(), input: input.to_owned(), outcome: outcome.trim().to_owned() }
    };
    (house, sections.map(slip).collect())
}

#[test]
fn every_slip_is_used_right_or_reported() {
    let (mut wrong, mut titles, mut codes) = (Vec::new(), BTreeSet::new(), BTreeSet::new());
    for path in files() {
        let text = fs::read_to_string(&path).unwrap();
        let (intro, slips) = read(&text);
        let house = parts(&intro);
        let mut blessed = intro.clone();
        for slip in &slips {
            let actual = outcome(&house, slip, &mut codes);
            blessed += &format!("\n=== {}\n{}\n=> {actual}", slip.title, slip.input);
            assert!(titles.insert(slip.title.clone()), "{}: this title stands twice", slip.title);
            let title = format!("{}: {}", path.file_name().unwrap().to_string_lossy(), slip.title);
            if actual.starts_with("neither") {
                wrong.push(format!("{title}\nneither used right nor reported"));
            } else if actual.trim() != slip.outcome {
                wrong.push(format!("{title}\nsaid:\n{}\ncomes out:\n{actual}", slip.outcome));
            }
        }
        if std::env::var_os("KITLORE_BLESS").is_some() {
            fs::write(&path, blessed).unwrap();
        }
    }
    assert!(titles.len() >= 60, "only {} slips", titles.len());
    assert!(wrong.is_empty(), "{} of {} slips\n\n{}", wrong.len(), titles.len(), wrong.join("\n\n"));
    let never: Vec<&&str> = MUST_OCCUR.iter().filter(|code| !codes.contains(**code)).collect();
    assert!(never.is_empty(), "no slip is reported as {never:?}");
}
