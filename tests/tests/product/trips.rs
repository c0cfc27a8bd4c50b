//! Trips as data: every case of `trips/`, in the form of `trips/README.md`.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use kitlore_engine::Program;
use kitlore_planning::{Journey, Trip, TripAsk, trip};
use kitlore_render::words::{calls, note};
use kitlore_tests::case::{Question, read_items, read_log};
use kitlore_tests::evaluators::{at_of, book, house};
use std::path::Path;

/// A case: its place and title, and its sections by heading.
struct Case {
    place: String,
    sections: Vec<(String, Vec<String>)>,
}

impl Case {
    fn lines(&self, heading: &str) -> Option<&[String]> {
        self.sections.iter().find(|(known, _)| known == heading).map(|(_, lines)| lines.as_slice())
    }

    fn rest(&self, word: &str) -> Option<&str> {
        self.sections.iter().find_map(|(heading, _)| heading.strip_prefix(word)).map(str::trim)
    }

    fn table(&self, heading: &str) -> String {
        self.lines(heading).unwrap_or_default().join("\n")
    }
}

fn cases() -> Vec<Case> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("trips");
    let mut files: Vec<_> = std::fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    files.retain(|file| file.extension().is_some_and(|ending| ending == "txt"));
    files.sort();
    let mut cases: Vec<Case> = Vec::new();
    for file in files {
        let name = file.file_name().unwrap().to_string_lossy().into_owned();
        for line in std::fs::read_to_string(&file).unwrap().lines() {
            if let Some(title) = line.strip_prefix("=== ") {
                let sections = vec![("rules".to_owned(), Vec::new())];
                cases.push(Case { place: format!("{name}: {title}"), sections });
            } else if let Some(case) = cases.last_mut().filter(|case| case.place.starts_with(&name)) {
                match line.strip_prefix("--- ") {
                    Some(heading) => case.sections.push((heading.trim().to_owned(), Vec::new())),
                    None if line.trim().is_empty() => {}
                    None => case.sections.last_mut().unwrap().1.push(line.to_owned()),
                }
            }
        }
    }
    cases
}

fn ask(case: &Case) -> TripAsk {
    let trip = case.rest("trip ").unwrap_or_else(|| panic!("{}: no trip", case.place));
    let journey = match trip.split_whitespace().collect::<Vec<_>>()[..] {
        ["from", from, "to", to, "item", item] => {
            let lines = case.lines(&format!("trip {trip}")).unwrap();
            let option =
                |word: &str| lines.iter().find_map(|line| line.strip_prefix(word)).map(str::to_owned);
            Journey::Described {
                event: option("event ").unwrap_or("trip".to_owned()),
                from: from.parse().unwrap(),
                to: to.parse().unwrap(),
                item: item.to_owned(),
                conditions: option("in ").into_iter().collect(),
            }
        }
        _ => Journey::Logged(trip.to_owned()),
    };
    let ask = TripAsk::new(journey);
    match case.rest("expect ") {
        Some(expect) => ask.expecting(expect).unwrap(),
        None => ask,
    }
}

/// A list of an answer as the cases write it.
fn as_in_cases(trip: &Trip, list: &str) -> Vec<String> {
    let or_nothing = |text: String| if text.is_empty() { "-".to_owned() } else { text };
    match list {
        "before" => trip
            .before
            .iter()
            .map(|one| {
                let due = or_nothing(one.due.map(|due| due.to_string()).unwrap_or_default());
                format!("{} | {} | {} | {due}", one.task.item, one.task.task, one.standing)
            })
            .collect(),
        "on the way" => trip
            .on_the_way
            .iter()
            .map(|one| {
                let chance = (one.chance * 100.0).round();
                format!("{} | {} | {} | {chance} %", one.task.item, one.task.task, one.day)
            })
            .collect(),
        "follow-ups" => trip
            .follow_ups
            .iter()
            .map(|one| format!("{} | {} | {}", one.task.item, one.task.task, calls(&one.when)))
            .collect(),
        "on return" => trip
            .on_return
            .iter()
            .map(|one| format!("{} | {} | {}", one.task.item, one.task.task, one.due))
            .collect(),
        "pack" => trip
            .pack
            .iter()
            .map(|one| {
                let reasons: Vec<String> =
                    one.reasons.iter().map(|reason| format!("{} {}", reason.item, reason.task)).collect();
                let short = if one.short { " short" } else { "" };
                let stock = or_nothing(one.stock.map(|stock| format!("{stock}{short}")).unwrap_or_default());
                let at_hand: Vec<&str> = one.at_hand.iter().map(|hand| hand.item.as_str()).collect();
                let at_hand = or_nothing(at_hand.join(", "));
                format!("{} | {} | {stock} | {at_hand}", one.need, reasons.join("; "))
            })
            .collect(),
        "leave at home" => trip
            .leave_at_home
            .iter()
            .map(|one| {
                let tasks: Vec<&str> = one.tasks.iter().map(|held| held.task.task.as_str()).collect();
                let instead: Vec<&str> = one.instead.iter().map(|other| other.item.as_str()).collect();
                let instead = or_nothing(instead.join(", "));
                format!("{} | {} | {} | {instead}", one.item, tasks.join(", "), one.since)
            })
            .collect(),
        "cautions" => trip.cautions.clone(),
        "notes" => trip.notes.iter().map(note).collect(),
        other => panic!("`--- {other}` is no section of a trip"),
    }
}

/// What differs from what a case states.
fn differences(case: &Case) -> Vec<String> {
    let rules = case.lines("rules").unwrap().join("\n");
    let house = house(&rules).unwrap_or_else(|error| panic!("{}: {error}", case.place));
    let program = Program::compile(house);
    let question =
        Question { rules, items: read_items(&case.table("items")), log: read_log(&case.table("log")) };
    let at = program.when_is_over(at_of(case.rest("at ").unwrap()));
    let answer = trip(&mut book(&program, &question), at, &ask(case));
    let trip = match (answer, case.rest("error ")) {
        (Ok(trip), None) => trip,
        (Ok(_), Some(_)) => return vec!["is not refused".to_owned()],
        (Err(error), Some(expected)) if error.to_string().starts_with(expected) => return Vec::new(),
        (Err(error), _) => return vec![format!("is refused: {error}")],
    };
    let words = ["rules", "items", "log"];
    let is_list = |heading: &str| {
        !words.contains(&heading) && !["at ", "trip ", "expect "].iter().any(|word| heading.starts_with(word))
    };
    let mut differences = Vec::new();
    for (heading, expected) in case.sections.iter().filter(|(heading, _)| is_list(heading)) {
        let expected: Vec<&str> =
            expected.iter().map(|line| line.trim()).filter(|line| *line != "none").collect();
        let found = as_in_cases(&trip, heading);
        let begins = ["cautions", "notes"].contains(&heading.as_str());
        let fits = |(expected, found): (&&str, &String)| {
            if begins { found.starts_with(*expected) } else { *expected == found }
        };
        if expected.len() != found.len() || !expected.iter().zip(&found).all(fits) {
            differences.push(format!("--- {heading}\n{}", found.join("\n")));
        }
    }
    differences
}

#[test]
fn every_trip_needs_what_its_case_says() {
    let cases = cases();
    assert!(cases.len() >= 20, "only {} cases", cases.len());
    let wrong: Vec<String> = cases
        .iter()
        .filter_map(|case| {
            let differences = differences(case);
            (!differences.is_empty()).then(|| format!("{}\n{}", case.place, differences.join("\n")))
        })
        .collect();
    assert!(wrong.is_empty(), "found instead:\n\n{}", wrong.join("\n\n"));
}
