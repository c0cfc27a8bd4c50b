//! Conformance cases: reading, running and writing their format (`cases/README.md`).

use crate::plain::clock::Instant;
use crate::plain::{ItemRow, LogRow, Problem};
use chrono::{NaiveTime, SecondsFormat, Utc};
use kitlore_syntax::When;
use kitlore_syntax::key;
use std::collections::BTreeSet;
use std::fmt;
use std::path::{Path, PathBuf};

/// What an evaluator is asked about: a house, its inventory, its log.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Question {
    /// The rule text.
    pub rules: String,
    /// The inventory.
    pub items: Vec<ItemRow>,
    /// The log.
    pub log: Vec<LogRow>,
}

/// One row of an answer, as far as cases state it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Line {
    /// Id of the item.
    pub item: String,
    /// The task as people see it.
    pub task: String,
    /// The word of the standing.
    pub standing: String,
    /// The times.
    pub due_at: Option<Instant>,
    /// See `due_at`.
    pub limit_at: Option<Instant>,
    /// See `due_at`.
    pub last_done: Option<Instant>,
}

impl fmt::Display for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Line { item, task, standing, .. } = self;
        let [due, limit, last] = [self.due_at, self.limit_at, self.last_done].map(shown);
        write!(f, "{item} | {task} | {standing} | {due} | {limit} | {last}")
    }
}

/// A time as cases write it: a bare date is 00:00 UTC, `-` is none.
pub fn shown(time: Option<Instant>) -> String {
    match time {
        None => "-".to_owned(),
        Some(t) if t.time() == NaiveTime::MIN => t.date_naive().to_string(),
        Some(t) => t.to_rfc3339_opts(SecondsFormat::AutoSi, true),
    }
}

fn read_time(text: &str) -> Option<Instant> {
    match When::parse(text) {
        Ok(When::Date(date)) => Some(date.and_time(NaiveTime::MIN).and_utc()),
        Ok(When::Local(local)) => Some(local.and_utc()),
        Ok(When::Instant(instant)) => Some(instant.with_timezone(&Utc)),
        Err(_) if text == "-" => None,
        Err(_) => panic!("`{text}` is no time"),
    }
}

fn read_line(text: &str) -> Line {
    let fields: Vec<&str> = text.split('|').map(str::trim).collect();
    let [item, task, standing, due, limit, last] = fields[..] else {
        panic!("`{text}` has not the six fields item | task | standing | due_at | limit_at | last_done");
    };
    Line {
        item: item.to_owned(),
        task: task.to_owned(),
        standing: standing.to_owned(),
        due_at: read_time(due),
        limit_at: read_time(limit),
        last_done: read_time(last),
    }
}

/// What an evaluator answers: rows and problems, or that it refuses the rules.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    /// Why the rules are refused.
    Refused(String),
    /// Rows in order, and problems.
    Rows(Vec<Line>, BTreeSet<Problem>),
}

/// What a case expects at an instant.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Expected {
    /// The rules are refused.
    Refused,
    /// These rows, in any order.
    Rows(BTreeSet<Line>),
}

/// The instant asked about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct At {
    /// As written.
    pub when: String,
    /// Whether the asker says that it is now.
    pub now: bool,
}

impl At {
    /// An instant that is not said to be now.
    pub fn past(when: &str) -> Self {
        Self { when: when.to_owned(), now: false }
    }
}

/// One case.
#[derive(Debug, Clone)]
pub struct Case {
    /// File and line.
    pub place: String,
    /// The title.
    pub title: String,
    /// What is asked about.
    pub question: Question,
    /// Each instant with the rows expected.
    pub asks: Vec<(At, Expected)>,
    /// The problems expected at the last instant, if the case states them.
    pub problems: Option<BTreeSet<Problem>>,
}

/// The cases of a text.
pub fn read_cases(name: &str, text: &str) -> Vec<Case> {
    let mut cases = Vec::new();
    let mut lines = text.lines().enumerate().skip_while(|(_, l)| !l.starts_with("=== ")).peekable();
    while let Some((number, title)) = lines.next() {
        let mut sections = vec![("rules".to_owned(), Vec::new())];
        while let Some((_, line)) = lines.next_if(|(_, l)| !l.starts_with("=== ")) {
            match line.strip_prefix("--- ") {
                Some(heading) => sections.push((heading.trim().to_owned(), Vec::new())),
                None => sections.last_mut().unwrap().1.push(line),
            }
        }
        let title = title.trim_start_matches("=== ").trim();
        cases.push(read_case(format!("{name}:{}", number + 1), title, sections));
    }
    cases
}

fn read_case(place: String, title: &str, sections: Vec<(String, Vec<&str>)>) -> Case {
    let mut case = Case {
        place,
        title: title.to_owned(),
        question: Question { items: default_items(), ..Question::default() },
        asks: Vec::new(),
        problems: None,
    };
    for (heading, lines) in sections {
        let full = || lines.iter().map(|l| l.trim()).filter(|l| !l.is_empty() && !l.starts_with('#'));
        match heading.split_once(' ').unwrap_or((&heading, "")) {
            ("rules", _) => case.question.rules = lines.join("\n"),
            ("items", _) => case.question.items = read_items(&full().collect::<Vec<_>>().join("\n")),
            ("log", _) => case.question.log = read_log(&full().collect::<Vec<_>>().join("\n")),
            (word @ ("at" | "now"), when) => {
                let at = At { when: when.trim().to_owned(), now: word == "now" };
                case.asks.push((at, read_expected(full())));
            }
            ("problems", _) => {
                case.problems = Some(full().filter(|l| *l != "none").map(read_problem).collect())
            }
            _ => panic!("{}: `--- {heading}` is no section of a case", case.place),
        }
    }
    case
}

/// The item of a case that states none.
fn default_items() -> Vec<ItemRow> {
    read_items("id,kind,received\nC1,camera,2026-01-01")
}

fn read_expected<'a>(lines: impl Iterator<Item = &'a str>) -> Expected {
    let mut rows = BTreeSet::new();
    for line in lines {
        match line {
            "error" => return Expected::Refused,
            "none" => {}
            row => assert!(rows.insert(read_line(row)), "`{row}` stands twice"),
        }
    }
    Expected::Rows(rows)
}

/// `code | log 3`, `code | items 2` or `code | -`.
fn read_problem(line: &str) -> Problem {
    let (code, place) = line.split_once('|').unwrap_or_else(|| panic!("`{line}` is no `code | place`"));
    Problem { code: code.trim().to_owned(), place: place.trim().to_owned() }
}

/// The rows of a table as heading and value.
fn table(text: &str) -> Vec<(u32, Vec<(String, String)>)> {
    let mut reader = csv::ReaderBuilder::new().flexible(true).from_reader(text.as_bytes());
    let headings = reader.headers().expect("a heading line").clone();
    let read = |record: csv::StringRecord| {
        headings.iter().zip(&record).map(|(h, v)| (h.to_owned(), v.to_owned())).collect()
    };
    (2..).zip(reader.records()).map(|(row, record)| (row, read(record.expect("a row of a table")))).collect()
}

/// An inventory from csv text.
pub fn read_items(text: &str) -> Vec<ItemRow> {
    let mut items = Vec::new();
    for (row, columns) in table(text) {
        let mut item = ItemRow { row, ..ItemRow::default() };
        for (heading, value) in columns {
            match key(&heading).as_str() {
                "id" => item.id = value,
                "kind" => item.kind = value,
                "received" => item.received = value,
                "in service" => item.in_service = value,
                "retired" => item.retired = value,
                "kit" => item.kit = value,
                "model" => item.model = value,
                _ => item.attributes.push((heading, value)),
            }
        }
        items.push(item);
    }
    items
}

/// A log from csv text.
pub fn read_log(text: &str) -> Vec<LogRow> {
    let mut log = Vec::new();
    for (row, columns) in table(text) {
        let mut entry = LogRow { row, ..LogRow::default() };
        for (heading, value) in columns {
            *column(&mut entry, &heading) = value;
        }
        log.push(entry);
    }
    log
}

fn column<'a>(entry: &'a mut LogRow, heading: &str) -> &'a mut String {
    match heading.trim() {
        "when" => &mut entry.when,
        "until" => &mut entry.until,
        "item" => &mut entry.item,
        "event" => &mut entry.event,
        "amount" => &mut entry.amount,
        "reading" => &mut entry.reading,
        "unit" => &mut entry.unit,
        "in" => &mut entry.conditions,
        "found" => &mut entry.found,
        "ref" => &mut entry.reference,
        "id" => &mut entry.id,
        "by" => &mut entry.by,
        "note" => &mut entry.note,
        "expect" => &mut entry.expect,
        other => panic!("`{other}` is no column of a log"),
    }
}

/// The headings of a log, in their order.
pub const LOG: [&str; 14] = [
    "when", "until", "item", "event", "amount", "reading", "unit", "in", "found", "ref", "id", "by", "note",
    "expect",
];

impl fmt::Display for Question {
    /// As the format of the cases, up to `--- log`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        writeln!(f, "{}\n--- items", self.rules.trim_end())?;
        let mut headings: Vec<&str> = Vec::new();
        for (heading, _) in self.items.iter().flat_map(|i| &i.attributes) {
            if !headings.contains(&heading.as_str()) {
                headings.push(heading);
            }
        }
        let known = ["id", "kind", "received", "in_service", "retired", "kit", "model"];
        writeln!(f, "{}", row(known.iter().chain(&headings).copied()))?;
        for i in &self.items {
            let known = [&i.id, &i.kind, &i.received, &i.in_service, &i.retired, &i.kit, &i.model];
            let value = |h: &&str| i.attributes.iter().find(|(n, _)| n == h).map_or("", |(_, v)| v.as_str());
            writeln!(f, "{}", row(known.into_iter().map(String::as_str).chain(headings.iter().map(value))))?;
        }
        let mut log = self.log.clone();
        let used = |h: &&str| self.log.iter().any(|e| !column(&mut e.clone(), h).is_empty());
        let headings: Vec<&str> = LOG.into_iter().filter(used).collect();
        if log.is_empty() {
            return Ok(());
        }
        writeln!(f, "--- log\n{}", row(headings.iter().copied()))?;
        for entry in &mut log {
            let values: Vec<String> = headings.iter().map(|h| column(entry, h).clone()).collect();
            writeln!(f, "{}", row(values.iter().map(String::as_str)))?;
        }
        Ok(())
    }
}

fn row<'a>(values: impl Iterator<Item = &'a str>) -> String {
    let mut writer = csv::WriterBuilder::new().from_writer(Vec::new());
    writer.write_record(values).unwrap();
    String::from_utf8(writer.into_inner().unwrap()).unwrap().trim_end().to_owned()
}

/// Every case of the `.txt` files of a folder, by file name.
pub fn read_folder(folder: &Path) -> Vec<Case> {
    let entries = std::fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    let mut files: Vec<PathBuf> = entries.map(|e| e.unwrap().path()).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "txt"));
    files.sort();
    let read = |file: &PathBuf| {
        let text = std::fs::read_to_string(file).unwrap();
        read_cases(&file.file_name().unwrap().to_string_lossy(), &text)
    };
    files.iter().flat_map(read).collect()
}

/// Every mismatch of a case with an evaluator that reports problems of some codes only.
pub fn run(
    case: &Case,
    evaluate: &dyn Fn(&Question, &At) -> Answer,
    reports: &dyn Fn(&Question, &str) -> bool,
) -> Vec<String> {
    let mut mismatches = Vec::new();
    let mut said = |at: &str, what: String| {
        mismatches.push(format!("{} ({}) at {at}\n{what}", case.place, case.title));
    };
    let mut last_problems = BTreeSet::new();
    for (at, expected) in &case.asks {
        match (expected, evaluate(&case.question, at)) {
            (Expected::Refused, Answer::Refused(_)) => {}
            (Expected::Refused, Answer::Rows(..)) => {
                said(&at.when, "  the rules should be refused".to_owned())
            }
            (Expected::Rows(_), Answer::Refused(why)) => {
                said(&at.when, format!("  the rules are refused: {why}"))
            }
            (Expected::Rows(rows), Answer::Rows(found, problems)) => {
                last_problems = problems;
                let doubled = found.len() != found.iter().collect::<BTreeSet<_>>().len();
                let missing = rows.iter().filter(|r| !found.contains(r)).map(|r| format!("  expected  {r}"));
                let wrong = found.iter().filter(|r| !rows.contains(r)).map(|r| format!("  found     {r}"));
                let lines: Vec<String> = missing.chain(wrong).collect();
                if doubled || !lines.is_empty() {
                    said(&at.when, lines.join("\n"));
                }
            }
        }
    }
    if let Some(expected) = &case.problems {
        let fits = |e: &Problem, f: &Problem| e.code == f.code && (e.place == "-" || e.place == f.place);
        let reported = |p: &&Problem| reports(&case.question, &p.code);
        let shown = |what: &str, p: &Problem| format!("  {what}  {} | {}", p.code, p.place);
        let missing = expected.iter().filter(reported).filter(|e| !last_problems.iter().any(|f| fits(e, f)));
        let wrong = last_problems.iter().filter(|f| !expected.iter().any(|e| fits(e, f)));
        let missing = missing.map(|p| shown("expected", p));
        let lines: Vec<String> = missing.chain(wrong.map(|p| shown("found   ", p))).collect();
        if !lines.is_empty() {
            said("the last instant", lines.join("\n"));
        }
    }
    mismatches
}
