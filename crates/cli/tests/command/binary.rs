//! The binary itself: its streams and its exit code.

use crate::common::House;
use std::process::{Command, Stdio};

fn command(house: &House) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kitlore"));
    command.args(["due", &house.path("house.lore")]);
    command.args([
        "--items",
        &house.path("items.csv"),
        "--log",
        &house.path("log.csv"),
        "--at",
        "2026-11-25",
    ]);
    command
}

#[test]
fn results_and_messages_go_their_own_ways_without_colour() {
    let house = House::new();
    let output = command(&house).args(["--fail-on", "grounded"]).output().expect("it runs");
    let (out, err) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert_eq!(output.status.code(), Some(3), "{err}");
    assert!(out.starts_with("Kestrel Yard, Wednesday 25 November 2026\n"), "{out}");
    assert!(err.contains("in the data\n  items.csv:3: `C2`"), "{err}");
    assert!(!out.contains('\u{1b}') && !err.contains('\u{1b}'));
}

#[test]
fn a_reader_that_leaves_is_no_failure() {
    let rules = "for cameras\n after every trip, wipe body\n";
    let items: String = (0..20_000).map(|n| format!("C{n},camera\n")).collect();
    let house = House::with(rules, &format!("id,kind\n{items}"), "when,item,event\n2026-11-20,,trip\n");
    for form in ["table", "csv", "json"] {
        let mut child = command(&house)
            .args(["--as", form])
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("it runs");
        drop(child.stdout.take());
        let output = child.wait_with_output().expect("it ends");
        assert_eq!(output.status.code(), Some(0), "{form}");
        assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{form}");
    }
}
