//! What commands do to files, exit codes, and wrong uses.

use crate::common::{House, LOG, kitlore};
use insta::assert_snapshot;

#[test]
fn exit_codes() {
    let house = House::new();
    assert_eq!(house.run("due", &[]).code, 0);
    for standing in ["due", "overdue", "grounded"] {
        assert_eq!(house.run("due", &["--fail-on", standing]).code, 3, "{standing}");
    }
    let calm = House::with(
        "for cameras\n after 90 days, look",
        "id,kind,received\nC1,camera,2026-11-01\n",
        "when,event\n",
    );
    for standing in ["due", "overdue", "grounded"] {
        assert_eq!(calm.run("due", &["--fail-on", standing]).code, 0, "{standing}");
    }
    let due = House::with(
        "for cameras\n after 24 days, look",
        "id,kind,received\nC1,camera,2026-11-01\n",
        "when,event\n",
    );
    let codes = ["due", "overdue", "grounded"].map(|standing| due.run("due", &["--fail-on", standing]).code);
    assert_eq!(codes, [3, 0, 0]);
}

#[test]
fn wrong_uses() {
    let house = House::new();
    let mut text = String::new();
    for args in [vec!["due"], vec!["dew"], vec!["due", "house.lore"], vec!["tidy", "house.lore", "--shw"]] {
        let done = kitlore(&args);
        assert_eq!(done.code, 2, "{args:?}");
        text.push_str(&format!("$ kitlore {}\n{}\n", args.join(" "), done.transcript()));
    }
    for rest in [
        vec!["--at", "25.11.2026"],
        vec!["--as", "pdf"],
        vec!["--fail-on", "soon"],
        vec!["--columns", "whn=Date"],
        vec!["--columns", "when=Date,when=Day"],
    ] {
        let done = house.run("due", &rest);
        assert_eq!(done.code, 2, "{rest:?}");
        text.push_str(&format!("$ kitlore due ... {}\n{}\n", rest.join(" "), done.transcript()));
    }
    assert_snapshot!(text);
}

#[test]
fn data_that_stops_a_command() {
    let house = House::new();
    let mut text = String::new();
    let rules = house.path("house.lore");
    for (command, rest) in [
        ("due", vec!["--columns", "when=Dte"]),
        ("due", vec!["--columns", "kit=Bag"]),
        ("due", vec!["--columns", "no-such-file"]),
        ("why", vec!["C7"]),
        ("why", vec!["c1"]),
        ("why", vec!["C1", "inspect sensr"]),
        ("why", vec!["C1", "replace strap"]),
    ] {
        let done = house.run(command, &rest);
        assert_eq!((done.code, done.out.as_str()), (1, ""), "{rest:?}");
        text.push_str(&format!("$ kitlore {command} ... {}\n{}\n", rest.join(" "), done.transcript()));
    }
    let done = kitlore(&["due", &rules, "--items", "no-such.csv", "--log", "no-such.csv"]);
    assert_eq!(done.code, 1);
    text.push_str(&format!("$ kitlore due ... --items no-such.csv\n{}\n", done.transcript()));
    let wrong = House::with("for cameras\n after 3, look", "id,kind\n", "when,event\n").run("due", &[]);
    assert_eq!(wrong.code, 1);
    text.push_str(&format!("$ kitlore due (with a mistake in the rules)\n{}\n", wrong.transcript()));
    assert_snapshot!(text);
}

#[test]
fn one_mapping_serves_both_tables() {
    let log = "id,Date,item,event\nE1,2026-11-20,C1,trip\nE1,2026-11-20,C1,trip\n";
    let house = House::with("for cameras\n after 2 trips, look", "Asset no,kind\nC1,camera\n", log);
    let done = house.run("due", &["--as", "json", "--columns", "id=\"Asset no\",when=Date"]);
    assert_eq!(done.code, 0, "{}", done.err);
    // The log's own ids are read: the second entry is the first once more, and the count stays 1.
    assert!(done.out.contains("\"count\":\"1\""), "{}", done.out);
}

#[test]
fn many_problems_are_gathered() {
    let log: String = (1..=9).map(|day| format!("2026-11-0{day},C1,lens chnage\n")).collect();
    let house = House::with(
        crate::common::RULES,
        crate::common::ITEMS,
        &format!("when,item,event\n{log}2026-13-01,C1,trip\n"),
    );
    assert_snapshot!(house.run("due", &[]).err);
    let all = house.run("due", &["--problems"]).err;
    assert_eq!(all.lines().filter(|line| line.contains("no rule knows")).count(), 9);
}

/// Rows of the log that are lost do not hide behind items that are taken without a date, nor one suggestion
/// behind another; hundreds of suggestions stay readable.
#[test]
fn the_first_of_each_sort_speaks_for_the_others() {
    let items = "id,kind,received\nC1,camera,soon\nC2,camera,1.3.2026\nC3,camera,31.02.2026\nC4,camera,2.3.2026\nC5,camera,3.4.2026\n";
    let log = "when,item,event,in\nsoon,C1,trip,\nlater,C2,trip,\n2026-11-01,C1,lens chnage,\n2026-11-02,C1,trip,dsut\n\
        2026-11-03,C1,lens chnage,\n2026-11-03,C1,inspect sensr,\n2026-11-04,X7,trip,\n2026-11-04,X8,trip,\n";
    assert_snapshot!(House::with(crate::common::RULES, items, log).run("due", &[]).err);

    let ids = |number: usize| format!("CAMERA-{number:03}-OF-THE-STUDIO");
    let items: String = (0..300).map(|number| format!("{},camera,2026-01-01\n", ids(number))).collect();
    let log: String = (0..2_000).map(|row| format!("2026-11-01,{}X,trip\n", ids(row % 300))).collect();
    let house = House::with(
        crate::common::RULES,
        &format!("id,kind,received\n{items}"),
        &format!("when,item,event\n2026-11-01,`,trip\n{log}"),
    );
    assert_snapshot!(house.run("due", &[]).err);
}

#[test]
fn terminals_get_no_commands() {
    let house = House::with(
        "for cameras\n after every trip, wipe body",
        "id,kind\nC1\u{1b}[2J,camera\n",
        "when,item,event\n2026-11-20,C1\u{1b}[2J,trip\n2026-11-20,C\u{1b}]0;x\u{7},trip\n",
    );
    let done = house.run("due", &[]);
    assert!(done.out.contains("C1?[2J"), "{}", done.out);
    assert!(!done.transcript().contains('\u{1b}') && !done.transcript().contains('\u{7}'));
}

#[test]
fn recorded_entries_stand_at_the_end_and_count() {
    let house = House::new();
    let done = house.run(
        "record",
        &["S1", "replace strap", "--when", "2026-11-25", "--by", "Mara", "--note", "new, black"],
    );
    assert_eq!(
        done.transcript(),
        "log.csv:6: 2026-11-25 S1 replace strap by Mara\n  S1 replace strap: grounded -> clear\n--- exit 0\n"
    );
    assert_eq!(
        house.read("log.csv"),
        format!("{LOG}2026-11-25,,S1,replace strap,,,,,,,Mara,\"new, black\",\n")
    );
}

#[test]
fn without_when_an_entry_is_of_today_in_the_house_zone() {
    let house = House::with(
        "time zone Pacific/Auckland\nconditions dust, rain\nfor cameras\n after every trip, wipe body",
        "id,kind\nC1,camera\n",
        "when,item,event,in\n",
    );
    let done = house.run("record", &["C1", "trip", "--in", "dust, rain"]);
    // At noon in Greenwich it is the next day there.
    assert_eq!(done.out, "log.csv:2: 2026-11-26 C1 trip in dust, rain\n  C1 wipe body: clear -> due\n");
    assert!(
        house.read("log.csv").ends_with("2026-11-26,C1,trip,\"dust;rain\"\n"),
        "{}",
        house.read("log.csv")
    );
}

#[test]
fn several_words_need_no_quotes_and_what_was_taken_is_shown() {
    let house = House::with(
        "events trip, lens change\nfor cameras\n after 20 lens changes in dust, inspect sensor",
        "id,kind,kit\nC1,camera,dive kit\n",
        "when,until,item,event,amount,reading,unit,in,found,ref,by\n",
    );
    for (words, line) in [
        ("C1 inspect sensor --when yesterday", "2026-11-24 C1 inspect sensor"),
        ("dive kit lens change --amount 3 --in dust", "2026-11-25 dive kit lens change 3 in dust"),
        ("every item trip --by Mara", "2026-11-25 every item trip by Mara"),
        ("cameras trip --until tomorrow --ref T1", "2026-11-25 to 2026-11-26 cameras trip ref T1"),
    ] {
        let rest: Vec<&str> = words.split(' ').collect();
        let done = house.run("record", &rest);
        let first = done.out.lines().next().unwrap_or_default();
        assert_eq!(
            first.split_once(": ").map(|(_, line)| line),
            Some(line),
            "{words}: {}",
            done.transcript()
        );
    }
}

#[test]
fn what_is_meant_as_it_is_is_recorded() {
    let house = House::new();
    for rest in [
        &["C1", "inspect", "sensor", "--found", "leaking"][..],
        &["C1", "lens", "change", "--in", "hail"],
        &["C1", "inspect", "sensor", "--when", "2026-12-24"],
    ] {
        let done = house.run("record", rest);
        assert!(done.code == 1 && done.err.contains("`--as-it-is`"), "{}", done.transcript());
        let done = house.run("record", &[rest, &["--as-it-is"]].concat());
        assert_eq!(done.code, 0, "{}", done.transcript());
    }
    // What the log has had before needs no word.
    assert_eq!(house.run("record", &["C1", "lens", "change", "--in", "hail"]).code, 0);
}

#[test]
fn entries_that_cannot_count_are_refused() {
    let house = House::new();
    let mut text = String::new();
    for rest in [
        vec!["C7", "lens change"],
        vec!["", "inspect strap"],
        vec!["S1", "inspct strap"],
        vec!["S1", "inspect sensor"],
        vec!["C1", "inspect sensor", "--found", "dsut"],
        vec!["C1", "inspect sensor", "--found", "leaking"],
        vec!["C1", "inspect sensor", "--found", "dust, drop"],
        vec!["C1", "inspect", "sensor", "--when", "tomorrow"],
        vec!["C1", "inspect", "sensor", "--when", "last week"],
        vec!["C1", "lens change", "--in", "dsut"],
        vec!["C1", "lens change", "--amount", "-2"],
        vec!["C1", "lens change", "--amount", "1,5"],
        vec!["C1", "lens change", "--amount", "3", "--unit", "hours"],
        vec!["C1", "lens change", "--when", "24/11/2026"],
        vec!["C1", "lens change", "--when", "2026-11-24", "--until", "2026-11-23"],
        vec!["S1", "inspect strap", "--id", "E1"],
        vec!["S1", "void", "--ref", "E7"],
        vec!["B1", "capacity"],
        vec!["C1", "trip", "--when", "2026-12-01", "--until", "2026-12-04", "--expect", "many changes"],
    ] {
        let done = house.run("record", &rest);
        text.push_str(&format!("$ kitlore record ... {}\n{}\n", rest.join(" "), done.transcript()));
        assert_eq!(done.code, 1, "{rest:?}");
    }
    assert_eq!(house.read("log.csv"), LOG, "a refusal leaves the log as it was");
    assert_snapshot!(text);
}

#[test]
fn recording_for_a_kind_and_retiring() {
    let house = House::new();
    assert_snapshot!(
        house
            .run(
                "record",
                &["cameras", "lens change", "--amount", "4", "--in", "dust", "--when", "2026-11-25"]
            )
            .transcript()
    );
    assert_snapshot!(house.run("record", &["B1", "retire battery", "--when", "2026-11-25"]).transcript());
    assert_snapshot!(
        house.run("record", &["S1", "void", "--ref", "E1", "--when", "2026-11-25"]).transcript()
    );
}

#[test]
fn a_plan_is_recorded_with_what_it_expects() {
    let house = House::with(
        "events lens change, trip\nfor cameras\n after 20 lens changes, inspect sensor",
        "id,kind\nC1,camera\n",
        "when,item,event,until,expect\n2026-11-20,C1,lens change,,\n",
    );
    let plan = ["C1", "trip", "--when", "2026-12-01", "--until", "2026-12-04", "--expect", "lens change 15"];
    let done = house.run("record", &plan);
    assert_eq!(done.code, 0, "{}", done.transcript());
    assert!(
        house.read("log.csv").ends_with("2026-12-01,C1,trip,2026-12-04,\"lens change 15\"\n"),
        "{}",
        house.read("log.csv")
    );
}

#[test]
fn a_log_is_begun() {
    let house = House::new();
    std::fs::remove_file(house.path("log.csv")).expect("removed");
    let entry = ["C1", "lens change", "--when", "2026-11-25"];
    let refused = house.run("record", &entry);
    assert!(refused.code == 1 && refused.err.contains("add `--new` to begin it"), "{}", refused.transcript());
    assert!(!std::path::Path::new(&house.path("log.csv")).exists());
    assert_eq!(house.run("record", &[&entry[..], &["--new"]].concat()).code, 0);
    assert!(house.read("log.csv").starts_with("when,event,until,item,"));
}

#[test]
fn tidy_rewrites_once() {
    let untidy = "for cameras   # all\n   after 2 shoots , wipe body\n allow 3 days\n";
    let house = House::with(untidy, "", "");
    let shown = house.on_rules("tidy", &["--show"]);
    assert_eq!(house.read("house.lore"), untidy, "--show leaves the file");
    assert_eq!(
        house.on_rules("tidy", &[]).transcript(),
        "--- messages\n`house.lore` is tidy now\n--- exit 0\n"
    );
    assert_eq!(house.read("house.lore"), shown.out);
    assert!(shown.out.contains("# all"));
    assert_eq!(house.on_rules("tidy", &[]).err, "`house.lore` is tidy already\n");
}

#[cfg(unix)]
#[test]
fn tidy_keeps_permissions_and_links() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let house = House::with("for cameras\n      after 2 shoots, wipe body\n", "", "");
    let file = house.path("house.lore");
    std::fs::set_permissions(&file, std::fs::Permissions::from_mode(0o640)).expect("set");
    symlink(&file, house.path("link.lore")).expect("linked");
    assert_eq!(kitlore(&["tidy", &house.path("link.lore")]).code, 0);
    assert_eq!(std::fs::metadata(&file).expect("there").permissions().mode() & 0o777, 0o640);
    assert!(std::fs::symlink_metadata(house.path("link.lore")).expect("there").is_symlink());
    assert_eq!(house.read("house.lore"), "for cameras\n  after 2 shoots, wipe body\n");
}

#[test]
fn tidy_leaves_a_file_with_mistakes() {
    let house = House::with("for cameras\n   after 2, look\n", "", "");
    let done = house.on_rules("tidy", &[]);
    assert_eq!((done.code, done.out.as_str()), (1, ""));
    assert_eq!(house.read("house.lore"), "for cameras\n   after 2, look\n");
}
