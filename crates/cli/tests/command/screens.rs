//! What people see, on the shipped examples and a small house.

use crate::common::{House, examples, kitlore, kitlore_at, studio};
use insta::assert_snapshot;

const AT: [&str; 2] = ["--at", "2026-11-25"];

#[test]
fn due_at_80_columns() {
    assert_snapshot!(studio(80, false, "due", &AT).transcript());
}

#[test]
fn due_at_140_columns() {
    assert_snapshot!(studio(140, false, "due", &AT).transcript());
}

#[test]
fn due_in_colour_says_the_same_words() {
    let coloured = studio(80, true, "due", &AT).transcript();
    assert!(coloured.contains("\u{1b}["));
    assert_eq!(uncoloured(&coloured), studio(80, false, "due", &AT).transcript());
}

/// A text without its colours.
fn uncoloured(coloured: &str) -> String {
    let mut plain = String::new();
    let mut rest = coloured;
    while let Some((before, after)) = rest.split_once('\u{1b}') {
        plain.push_str(before);
        rest = after.split_once('m').map_or("", |(_, rest)| rest);
    }
    plain + rest
}

#[test]
fn no_line_is_wider_than_the_screen() {
    for width in [60, 80, 100, 140] {
        for args in [["--at", "2026-11-25", "--all"], ["--at", "2026-06-20", "--all"]] {
            for line in studio(width, false, "due", &args).out.lines() {
                assert!(unicode_width::UnicodeWidthStr::width(line) <= width, "{width}: {line}");
            }
        }
        for item in ["CAM-01", "CAM-02", "BAT-07", "STR-02", "LEN-08"] {
            for line in studio(width, false, "why", &["--at", "2026-11-25", item]).out.lines() {
                assert!(unicode_width::UnicodeWidthStr::width(line) <= width, "{width}: {line}");
            }
        }
    }
}

#[test]
fn very_long_names_are_broken_and_whole() {
    let id = "BODY-".to_owned() + &"0123456789".repeat(18);
    let kind = "camera".repeat(20);
    let rules = format!(
        "for {kind}\n  after 90 days, {}\n    needs {}\n  before every trip, look\n  when look finds crack, mend\n    do not use until done\n  after 20 uses, count",
        "inspect-".repeat(30),
        "blower-".repeat(30)
    );
    let items = format!("id,kind,received,kit\n{id},{kind},2026-01-05,bag\n");
    let log = format!(
        "when,item,event,found,until,ref\n2026-11-20,{id},look,crack,,\n2026-11-21,{id},use,,,\n2026-12-01,bag,trip,,2026-12-04,T1\n"
    );
    let house = House::with(&rules, &items, &log);
    for width in [40, 80, 140] {
        for (command, rest) in [
            ("due", &["--all"][..]),
            ("why", &[&id]),
            ("ahead", &[]),
            ("trip", &["T1", "--at", "2026-11-25"]),
            ("record", &[&id, "look", "--found", "crack"]),
        ] {
            let done = house.run_at(width, false, command, rest);
            assert_eq!(done.code, 0, "{}", done.transcript());
            for line in done.out.lines() {
                assert!(unicode_width::UnicodeWidthStr::width(line) <= width, "{command} {width}: {line}");
            }
            let joined: String = done.out.split_whitespace().collect();
            assert!(joined.contains(&id), "{command} {width}: {}", done.out);
            if command != "record" {
                let coloured = house.run_at(width, true, command, rest).out;
                assert_eq!(uncoloured(&coloured), done.out, "{command} {width}");
            }
        }
    }
}

#[test]
fn why_counts_the_problems_that_can_affect_its_item() {
    let rules = "for cameras\n  after 20 shoots, inspect sensor";
    let items = "id,kind\nC1,camera\nC2,camera\n";
    let log = "when,item,event\n2026-11-20,C2,shot\n2026-11-20,C1,shoots\n2026-11-21,C9,shoot\n";
    let house = House::with(rules, items, log);
    let problems = |item: &str| house.run("why", &[item]).err;
    assert_eq!(problems("C1"), "1 problem in the data that can affect `C1`; `kitlore due` shows it\n");
    assert_eq!(problems("C2"), "2 problems in the data that can affect `C2`; `kitlore due` shows them\n");
}

#[test]
fn a_date_is_given_once_with_its_reason() {
    let rules = "for cameras\n  after 60 days, inspect sensor\n  when crack is found, mend";
    let log = "when,item,event\n2026-09-28,C1,inspect sensor\n";
    let house = House::with(rules, "id,kind\nC1,camera\n", log);
    let due = house.run("due", &["--all"]).out;
    assert!(due.contains("due 2026-11-27, in 2 days\n"), "{due}");
    assert!(due.contains(" 60 days since last done 2026-09-28\n"), "{due}");
    assert_eq!(due.matches("2026-11-27").count(), 1, "{due}");
    // A row that is clear without a date has nothing behind its word.
    let why = house.run("why", &["C1", "mend"]).out;
    assert!(why.contains("\nclear\n"), "{why}");
}

#[test]
fn first_day() {
    let folder = examples().join("first-day");
    let path = |file: &str| folder.join(file).display().to_string();
    let (rules, items, log) = (path("house.lore"), path("items.csv"), path("log.csv"));
    let done = kitlore(&["due", &rules, "--items", &items, "--log", &log, "--at", "2026-11-25"]);
    assert_snapshot!(done.transcript());
}

#[test]
fn due_of_a_small_house() {
    assert_snapshot!(House::new().run("due", &["--all"]).transcript());
}

#[test]
fn rules_in_doubt_are_reported_on_every_screen() {
    let items = "id,kind,received\nC1,camera,2026-01-05\n";
    let log = "when,item,event,ref,until\n2026-12-01,C1,trip,T1,2026-12-04\n";
    let house =
        House::with("for cameras\n  after 90 dayz, wipe body\n  after 90 days, inspect sensor", items, log);
    assert_snapshot!(house.run("due", &[]).transcript());
    for (command, rest) in [
        ("due", ["--as", "json"].as_slice()),
        ("why", &["C1"]),
        ("ahead", &[]),
        ("calendar", &[]),
        ("trip", &["T1"]),
    ] {
        let done = house.run(command, rest);
        assert!(
            done.err.contains("1 doubt in the rules; `kitlore proof "),
            "{command} {rest:?}: {}",
            done.transcript()
        );
    }
}

#[test]
fn due_as_csv() {
    let house = House::with(
        "for cameras\n after every trip, wipe body\n  because \"=1+1\"\n  caution \"@home only\"",
        "id,kind\n=C1,camera\n-C2,camera\n",
        "when,item,event\n2026-11-20,=C1,trip\n2026-11-20,-C2,trip\n",
    );
    assert_snapshot!(house.run("due", &["--as", "csv"]).transcript());
}

#[test]
fn due_as_json() {
    let done = House::new().run("due", &["--as", "json"]);
    let value: serde_json::Value = serde_json::from_str(&done.out).expect("JSON");
    assert_eq!(done.err, "", "the problems are in the document");
    assert_snapshot!(serde_json::to_string_pretty(&value).expect("JSON"));
}

#[test]
fn why_at_80_columns() {
    assert_snapshot!(studio(80, false, "why", &["--at", "2026-11-25", "CAM-01"]).transcript());
}

#[test]
fn why_at_140_columns() {
    assert_snapshot!(studio(140, false, "why", &["--at", "2026-11-25", "CAM-01"]).transcript());
}

#[test]
fn why_with_a_limit_and_silenced_rules() {
    assert_snapshot!(
        studio(80, false, "why", &["--at", "2026-11-25", "BAT-07", "retire battery"]).transcript()
    );
}

#[test]
fn why_says_what_is_still_missing() {
    let done = House::new().run("why", &["C1", "inspect sensor"]);
    assert!(done.out.contains("4 more lens changes in dust, or 2026-12-30"), "{}", done.out);
    assert_snapshot!(done.transcript());
}

#[test]
fn why_quotes_the_entry() {
    let done = House::new().run("why", &["S1", "replace strap"]);
    assert!(done.out.contains("log.csv:4  2026-11-21,,S1,inspect strap,,,,,fraying,,,,E1"), "{}", done.out);
    assert_snapshot!(done.transcript());
}

#[test]
fn proof_of_the_studio() {
    let rules = examples().join("studio/house.lore").display().to_string();
    assert_snapshot!(kitlore(&["proof", &rules]).transcript());
}

#[test]
fn proof_of_mistakes() {
    let house = House::with("for cameras\n  after 20 dayz, look at it\n    allow 3 shoots\n", "", "");
    let rules = house.path("house.lore");
    for (name, width) in [("80", 80), ("140", 140)] {
        let done = kitlore_at(width, false, &["proof", &rules]);
        assert_eq!(done.code, 1);
        insta::with_settings!({snapshot_suffix => name}, { assert_snapshot!(done.transcript()) });
    }
}

#[test]
fn proof_of_examples_that_fail() {
    let rules = "for cameras\n  after 2 shoots, wipe body\nexample \"two\"\n  camera C1\n  2026-02-01 C1 shoot 2\n  on 2026-02-01 C1 wipe body is clear\n";
    let done = House::with(rules, "", "").on_rules("proof", &[]);
    assert_eq!(done.code, 1);
    assert_snapshot!(done.transcript());
}

#[test]
fn proof_with_data() {
    let log = "when,item,event,in\n2026-11-02,C1,lens chnage,dust\n2026-11-02,C1,lens change,dsut\n2026-11-02,C9,lens change,\n";
    let house = House::with(crate::common::RULES, crate::common::ITEMS, log);
    assert_snapshot!(house.run("proof", &[]).transcript());
}

#[test]
fn help() {
    assert_snapshot!(kitlore(&["--help"]).transcript());
    assert_snapshot!(kitlore(&["due", "--help"]).transcript());
}

#[test]
fn calendar_to_a_file_is_what_it_prints() {
    let house = House::new();
    let printed = house.run("calendar", &["--events"]);
    assert_eq!(printed.code, 0, "{}", printed.err);
    assert!(printed.out.starts_with("BEGIN:VCALENDAR\r\n") && printed.out.contains("\r\nBEGIN:VEVENT\r\n"));
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("kit.ics").display().to_string();
    let written = house.run("calendar", &["--events", "--out", &file]);
    assert_eq!((written.code, written.out.as_str()), (0, ""));
    assert_eq!(std::fs::read_to_string(&file).expect("the file"), printed.out);
    let nowhere = folder.path().join("no/kit.ics").display().to_string();
    let refused = house.run("calendar", &["--out", &nowhere]);
    assert_eq!(refused.code, 1);
    assert!(refused.err.starts_with("kitlore: cannot write `"), "{}", refused.err);
}

#[test]
fn a_trip_to_the_sea_at_80_columns() {
    assert_snapshot!(studio(80, false, "trip", &["0147", "--at", "2026-11-25"]).transcript());
}

#[test]
fn a_trip_as_csv() {
    assert_snapshot!(studio(80, false, "trip", &["0147", "--at", "2026-11-25", "--as", "csv"]).out);
}

#[test]
fn a_trip_that_is_not_in_the_log_and_wrong_ways_to_ask() {
    let described = [
        "--from",
        "2026-12-10",
        "--to",
        "2026-12-11",
        "--kit",
        "CAM-03",
        "--in",
        "rain",
        "--at",
        "2026-11-25",
    ];
    assert_snapshot!("trip_described", studio(80, false, "trip", &described).transcript());
    let texts: Vec<String> = [
        &["0148", "--at", "2026-11-25"][..],
        &["0147", "--at", "2026-12-25"],
        &["0147", "--at", "2026-11-25", "--expect", "fifteen"],
        &["--from", "2026-12-10", "--to", "2026-12-01", "--kit", "CAM-03"],
        &["--from", "2026-12-10", "--to", "2026-12-11", "--kit", "travle kit"],
        &["--from", "2026-12-10"],
        &["--at", "2026-11-25"],
    ]
    .into_iter()
    .map(|args| studio(80, false, "trip", args).transcript())
    .collect();
    assert_snapshot!("trip_refused", texts.join("\n"));
}
