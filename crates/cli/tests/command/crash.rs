//! `record` when it is killed, beside others that record, and on a full disk: an entry that was accepted
//! stands in the log once and whole, and a line that broke off is reported before anything follows it.
//!
//! More kills: `KITLORE_KILLS=1000 cargo test -p kitlore-cli crash`.
use crate::common::House;
use std::collections::{BTreeMap, BTreeSet};
use std::fs::OpenOptions;
use std::os::unix::process::ExitStatusExt;
use std::process::{Command, Output, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

const RULES: &str = "for cameras\n  after 20 lens changes, inspect sensor\n";
const ITEMS: &str = "id,kind,received\nC1,camera,2026-01-01\n";
const HEADINGS: &str = "when,item,event,amount,ref,note\n";

/// Writers beside the one that is killed.
const OTHERS: usize = 2;

/// What an entry's note says: a function of its ref, so that a reader sees whether it is whole. Every
/// eighth is long: a write of one memory page is never cut by a kill, one of many can be.
fn note(reference: &str) -> String {
    let number: usize =
        reference.trim_start_matches(|c: char| !c.is_ascii_digit()).parse().expect("a number");
    format!(
        "begin {reference}, \"{}\" end",
        "seen ".repeat(if number.is_multiple_of(8) { 6_000 } else { number % 40 })
    )
}

fn record(house: &House, log: &str, reference: &str) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_kitlore"));
    command.args([
        "record",
        "--new",
        &house.path("house.lore"),
        "--items",
        &house.path("items.csv"),
        "--log",
        log,
    ]);
    command.args([
        "C1",
        "lens change",
        "--when",
        "2026-02-07",
        "--ref",
        reference,
        "--note",
        &note(reference),
    ]);
    command.stdin(Stdio::null()).stdout(Stdio::piped()).stderr(Stdio::piped());
    command
}

/// What someone does whose log breaks off: takes the broken line out.
fn mend(log: &str) {
    let file = OpenOptions::new().read(true).write(true).open(log).expect("opened");
    file.lock().expect("locked");
    let bytes = std::fs::read(log).expect("read");
    if !bytes.ends_with(b"\n") {
        let whole = bytes.iter().rposition(|byte| *byte == b'\n').map_or(0, |end| end + 1);
        file.set_len(whole as u64).expect("cut");
    }
    file.unlock().expect("unlocked");
}

/// Whether the entry was accepted. A refusal may only be of a log that breaks off.
fn accepted(output: &Output, log: &str) -> bool {
    let said = String::from_utf8_lossy(&output.stderr);
    if !output.status.success() {
        assert!(said.contains("breaks off") || said.contains("never closed"), "{said}");
        mend(log);
    }
    output.status.success()
}

/// The refs in the log with the number of their entries; every entry must be whole.
fn entries(log: &str) -> BTreeMap<String, usize> {
    let mut found = BTreeMap::new();
    let mut add = |reference: &str, written: &str| {
        assert_eq!(written, note(reference), "the entry {reference} is whole");
        *found.entry(reference.to_owned()).or_default() += 1;
    };
    if log.ends_with("jsonl") {
        for line in std::fs::read_to_string(log).expect("read").lines() {
            let entry: serde_json::Value = serde_json::from_str(line).expect("an object");
            add(entry["ref"].as_str().expect("a ref"), entry["note"].as_str().expect("a note"));
        }
    } else {
        for row in csv::Reader::from_path(log).expect("opened").records() {
            let row = row.expect("a row");
            add(&row[4], &row[5]);
        }
    }
    found
}

fn kills() -> u64 {
    std::env::var("KITLORE_KILLS").map_or(200, |kills| kills.parse().expect("KITLORE_KILLS is a number"))
}

/// Kills one writer after another at some moment of its work while others record; says how often it was
/// too late, and how often a line broke off.
fn killed_in(log_name: &str, start: &str) {
    let house = House::with(RULES, ITEMS, "");
    let log = house.path(log_name);
    std::fs::write(&log, start).expect("written");
    let begin = Instant::now();
    assert!(record(&house, &log, "W0").status().expect("it runs").success());
    // From before it begins to well after it would have ended beside the others.
    let span = begin.elapsed() * (OTHERS as u32 + 2);
    let done = AtomicBool::new(false);
    let mut sure: BTreeSet<String> = BTreeSet::from(["W0".to_owned()]);
    let mut tried = sure.clone();
    let (mut late, mut torn) = (0, 0);
    std::thread::scope(|scope| {
        let (house, log, done) = (&house, log.as_str(), &done);
        let writer = |writer: usize| {
            move || {
                let (mut tried, mut sure) = (Vec::new(), Vec::new());
                while !done.load(Ordering::Relaxed) {
                    let reference = format!("{}{}", ["A", "B"][writer], tried.len());
                    let output = record(house, log, &reference).output().expect("it runs");
                    tried.push(reference.clone());
                    if accepted(&output, log) {
                        sure.push(reference);
                    }
                }
                (tried, sure)
            }
        };
        let others: Vec<_> = (0..OTHERS).map(|number| scope.spawn(writer(number))).collect();
        let mut random = 0x9e37_79b9_7f4a_7c15_u64;
        for number in 0..kills() {
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            let reference = format!("K{number}");
            let mut child = record(house, log, &reference).spawn().expect("it runs");
            std::thread::sleep(Duration::from_nanos(((random >> 33) * span.as_nanos() as u64) >> 31));
            child.kill().expect("killed, or ended before");
            let output = child.wait_with_output().expect("it ends");
            tried.insert(reference.clone());
            if output.status.signal().is_none() && accepted(&output, log) {
                late += 1;
                sure.insert(reference);
            }
            torn += usize::from(!std::fs::read(log).expect("read").ends_with(b"\n"));
        }
        done.store(true, Ordering::Relaxed);
        for other in others {
            let (theirs, accepted) = other.join().expect("the writer ends");
            tried.extend(theirs);
            sure.extend(accepted);
        }
    });
    mend(&log);
    let found = entries(&log);
    let lost: Vec<_> = sure.iter().filter(|reference| !found.contains_key(*reference)).collect();
    assert!(lost.is_empty(), "accepted, and not in the log: {lost:?}");
    assert!(found.values().all(|count| *count == 1), "twice in the log: {found:?}");
    assert!(found.keys().all(|reference| tried.contains(reference)));
    println!(
        "{log_name}: {} kills, {late} of them too late, {torn} times seen broken off; {} entries accepted, all there",
        kills(),
        sure.len()
    );
}

#[test]
fn killed_at_any_moment_beside_others() {
    killed_in("log.csv", HEADINGS);
    killed_in("log.jsonl", "");
}

#[test]
fn two_that_begin_one_log_at_once() {
    for name in ["log.csv", "log.jsonl"] {
        for round in 0..10 {
            let house = House::with(RULES, ITEMS, "");
            let log = house.path(&format!("new-{name}"));
            let both =
                ["R1", "R2"].map(|reference| record(&house, &log, reference).spawn().expect("it runs"));
            for child in both {
                let output = child.wait_with_output().expect("it ends");
                assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
            }
            let text = std::fs::read_to_string(&log).expect("read");
            assert_eq!(
                text.lines().count(),
                if name.ends_with("csv") { 3 } else { 2 },
                "round {round}: {text}"
            );
            let found = text.matches("begin R1").count() + text.matches("begin R2").count();
            assert_eq!(found, 2, "round {round}: {text}");
        }
    }
}

/// A limit on the size of files stands for the disk: the system then writes what has room, and no more.
#[test]
fn on_a_full_disk_nothing_is_accepted_and_nothing_changes() {
    let house = House::with(RULES, ITEMS, "");
    for name in ["log.csv", "log.jsonl"] {
        let log = house.path(name);
        // Room for nothing, for some of the line, for all of it.
        for (room, fits) in [(0_usize, false), (1, false), (20, false), (60, false), (400, true)] {
            let filler = "x".repeat(4 * 1024 - room);
            let start = match name {
                "log.csv" => format!("{HEADINGS}2026-02-01,C1,lens change,1,W0,"),
                _ => "{\"when\": \"2026-02-01\", \"item\": \"C1\", \"event\": \"lens change\", \"note\": \""
                    .to_owned(),
            };
            let end = if name == "log.csv" { "\n" } else { "\"}\n" };
            let text = format!("{start}{}{end}", &filler[start.len() + end.len()..]);
            assert_eq!(text.len(), 4 * 1024 - room);
            std::fs::write(&log, &text).expect("written");
            let line = record(&house, &log, "R9");
            let mut limited = Command::new("bash");
            limited.args(["-c", "trap '' XFSZ; ulimit -f 4; exec \"$@\"", "bash"]);
            limited.arg(line.get_program()).args(line.get_args());
            let output = limited.output().expect("bash runs");
            let (said, now) =
                (String::from_utf8_lossy(&output.stderr), std::fs::read_to_string(&log).expect("read"));
            assert_eq!(output.status.code(), Some(i32::from(!fits)), "{name}, room for {room} bytes: {said}");
            if fits {
                assert!(now.strip_prefix(&text).expect("kept").contains("begin R9"));
            } else {
                assert!(said.contains("not recorded: cannot write to"), "{said}");
                assert!(now == text, "{name}, room for {room} bytes: the log changed");
            }
        }
    }
}
