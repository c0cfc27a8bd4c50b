//! Small sets of pictures as files, and what is reported of them: `photos/cases.txt`. Every code has a case.

#![cfg(unix)]
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "tests: a panic is a failure"
)]

use kitlore_engine::{Item, Number, Problem, Time};
use kitlore_photos::PictureCode;
use kitlore_photos::{Folders, PhotoReport, Pictures, Settings, parse_shift, zone};
use kitlore_tests::pictures::Taken;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};

struct Case {
    title: String,
    sections: BTreeMap<String, Vec<String>>,
}

impl Case {
    fn section(&self, name: &str) -> impl Iterator<Item = &str> {
        self.sections.get(name).into_iter().flatten().map(String::as_str)
    }
}

fn cases() -> Vec<Case> {
    let text = include_str!("../../photos/cases.txt");
    let case = |text: &str| {
        let mut lines = text.lines();
        let title = lines.next().unwrap_or_default().to_owned();
        let mut sections: BTreeMap<String, Vec<String>> = BTreeMap::new();
        let mut within = None;
        for line in lines.map(str::trim).filter(|line| !line.is_empty()) {
            match line.strip_prefix("--- ") {
                Some(name) => {
                    let known = ["pictures", "folders", "items", "settings", "entries", "problems"];
                    assert!(known.contains(&name), "{title}: no section `{name}`");
                    sections.entry(name.to_owned()).or_default();
                    within = Some(name);
                }
                None => sections.get_mut(within.unwrap()).unwrap().push(line.to_owned()),
            }
        }
        Case { title, sections }
    };
    text.split("\n=== ").skip(1).map(case).collect()
}

/// Writes a file as its line says; whether it is to be gone before it is read.
fn write(path: &Path, says: &str, root: &Path) -> bool {
    let mut taken = Taken::default();
    let mut bytes: Option<Vec<u8>> = None;
    let (mut cut, mut tiff, mut gone) = (None, false, false);
    for said in says.split("; ").map(str::trim) {
        let value = |name: &str| said.strip_prefix(name).map(|value| value.trim().to_owned());
        match said {
            "gone" => gone = true,
            "tiff" => tiff = true,
            "no exif" => bytes = Some(b"\xff\xd8\xff\xd9".to_vec()),
            _ if said.starts_with("times ") => {}
            _ => {
                if let Some(text) = value("text") {
                    bytes = Some(text.into());
                } else if let Some(to) = value("link to ") {
                    std::os::unix::fs::symlink(root.join(to), path).unwrap();
                    return false;
                } else if let Some(length) = value("cut ") {
                    cut = Some(length.parse().unwrap());
                } else if let Some(tenths) = value("temperature ") {
                    taken.temperature = Some(tenths.parse().unwrap());
                } else {
                    let fields = [
                        ("make ", &mut taken.make),
                        ("body ", &mut taken.model),
                        ("serial ", &mut taken.serial),
                        ("lens serial ", &mut taken.lens_serial),
                        ("lens ", &mut taken.lens),
                        ("time ", &mut taken.time),
                        ("fraction ", &mut taken.fraction),
                        ("offset ", &mut taken.offset),
                    ];
                    let field = fields.into_iter().find_map(|(name, field)| Some((value(name)?, field)));
                    let (text, field) = field.unwrap_or_else(|| panic!("`{said}` is nothing a picture says"));
                    *field = text;
                }
            }
        }
    }
    let mut bytes = bytes.unwrap_or_else(|| if tiff { taken.tiff() } else { taken.jpeg() });
    bytes.truncate(cut.unwrap_or(usize::MAX));
    fs::write(path, bytes).unwrap();
    gone
}

fn report_of(case: &Case) -> PhotoReport {
    let root = tempfile::tempdir().unwrap();
    let mut gone = Vec::new();
    for line in case.section("pictures") {
        let (name, says) = line.split_once(':').unwrap();
        let times = says.split("; ").find_map(|said| said.trim().strip_prefix("times "));
        for number in 1..=times.map_or(1, |times| times.parse().unwrap()) {
            let path = root.path().join(name.replace('#', &number.to_string()));
            fs::create_dir_all(path.parent().unwrap()).unwrap();
            if write(&path, says, root.path()) {
                gone.push(path);
            }
        }
    }
    let mut settings = Settings::default();
    let mut follow = false;
    for line in case.section("settings") {
        match line.split_once(' ').unwrap() {
            ("follow", "links") => follow = true,
            ("zone", name) => settings.zone = Some(zone(name).unwrap()),
            ("mark", mark) => settings.conditions.push(mark.parse().unwrap()),
            ("shift", shift) => {
                let (item, span) = shift.split_once(' ').unwrap();
                settings.shifts.insert(item.to_owned(), parse_shift(span).unwrap());
            }
            _ => panic!("{}: no setting `{line}`", case.title),
        }
    }
    let item = |line: &str| {
        let mut columns = line.split(',');
        let mut next = || columns.next().filter(|value| !value.is_empty());
        let mut item = Item::new(next().unwrap(), next().unwrap());
        item.model = next().map(str::to_owned);
        if let Some(serial) = next() {
            item = item.attribute("serial", serial);
        }
        item.received = next().map(|date| date.parse().unwrap());
        item.retired = next().map(|date| date.parse().unwrap());
        item
    };
    let items: Vec<Item> = case.section("items").map(item).collect();
    let folders: Vec<PathBuf> = match case.section("folders").next() {
        None => vec![root.path().to_owned()],
        Some(_) => case.section("folders").map(|folder| root.path().join(folder)).collect(),
    };
    // Between being found and being read.
    let folders = Folders::new(&folders, follow).retain(|path| {
        gone.iter().filter(|gone| *gone == path).for_each(|gone| fs::remove_file(gone).unwrap());
        true
    });
    let mut pictures = Pictures::default();
    pictures.read(folders, NonZeroUsize::new(2).unwrap(), |_| true).unwrap();
    let mut report = pictures.report(&items, &settings).unwrap();
    let root = format!("{}/", root.path().display());
    for problem in &mut report.problems {
        *problem = Problem::new(problem.code.clone(), problem.message().replace(&root, ""));
    }
    report
}

fn entries(report: &PhotoReport) -> Vec<String> {
    let entries = report.entries.iter().map(|entry| {
        let fields = entry.fields();
        let time = |time| if let Time::Text(text) = time { text } else { "" };
        let amount = if let Number::Text(text) = fields.amount { text } else { "" };
        let (when, until) = (time(fields.when), time(fields.until));
        let row = [when, until, fields.item, fields.event, amount, fields.conditions, fields.note];
        row.join(" | ").trim_end_matches([' ', '|']).to_owned()
    });
    entries.collect()
}

fn problems(report: &PhotoReport) -> Vec<String> {
    report.problems.iter().map(|problem| format!("{} | {}", problem.code, problem.message())).collect()
}

/// Whether lines are those expected; `...` stands for any number of them.
fn are(lines: &[String], expected: &[&str]) -> bool {
    match expected.split_first() {
        None => lines.is_empty(),
        Some((&"...", rest)) => (0..=lines.len()).any(|from| are(&lines[from..], rest)),
        Some((first, rest)) => {
            lines.split_first().is_some_and(|(line, lines)| line == first && are(lines, rest))
        }
    }
}

#[test]
fn each_case_gives_the_report_it_names() {
    let mut wrong = Vec::new();
    for case in cases() {
        let report = report_of(&case);
        for (section, lines) in [("entries", entries(&report)), ("problems", problems(&report))] {
            let expected: Vec<&str> = case.section(section).collect();
            if case.sections.contains_key(section) && !are(&lines, &expected) {
                wrong.push(format!("=== {}\n--- {section}\n{}\n", case.title, lines.join("\n")));
            }
        }
    }
    assert!(wrong.is_empty(), "another report:\n{}", wrong.join("\n"));
}

#[test]
fn every_code_has_a_case() {
    let known: BTreeSet<&str> = PictureCode::ALL.iter().map(|code| code.word()).collect();
    assert_eq!(known.len(), PictureCode::ALL.len(), "two codes share a word");
    let cases = cases();
    let lines = cases.iter().flat_map(|case| case.section("problems"));
    let raised: BTreeSet<&str> = lines.filter_map(|line| Some(line.split_once(" | ")?.0)).collect();
    assert_eq!(known.difference(&raised).collect::<Vec<_>>(), Vec::<&&str>::new(), "codes without a case");
    assert_eq!(raised.difference(&known).collect::<Vec<_>>(), Vec::<&&str>::new(), "codes not in the table");
    assert!(cases.iter().all(|case| case.sections.contains_key("problems")), "each says its problems");
}
