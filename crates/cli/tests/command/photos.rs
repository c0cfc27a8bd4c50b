//! `kitlore photos`, on the example pictures.

use crate::common::{Done, examples, kitlore_at};
use insta::assert_snapshot;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// The example pictures in a folder that may be written to.
struct Card {
    folder: tempfile::TempDir,
}

impl Card {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        copy(&examples().join("pictures/card"), &folder.path().join("card"));
        fs::copy(examples().join("pictures/items.csv"), folder.path().join("items.csv")).expect("copied");
        Self { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn args(&self, rest: &[&str]) -> Vec<String> {
        let path = |name: &str| self.path(name).to_string_lossy().into_owned();
        let mut args = vec!["photos".to_owned(), path("card"), "--items".to_owned(), path("items.csv")];
        args.extend(rest.iter().map(|arg| if arg.ends_with(".csv") { path(arg) } else { (*arg).to_owned() }));
        args
    }

    fn run(&self, rest: &[&str]) -> Done {
        let args = self.args(rest);
        let mut done = kitlore_at(240, false, &args.iter().map(String::as_str).collect::<Vec<_>>());
        let folder = self.folder.path().to_string_lossy().into_owned();
        done.out = done.out.replace(&folder, "FOLDER");
        done.err = done.err.replace(&folder, "FOLDER");
        done
    }

    fn log(&self, name: &str) -> String {
        fs::read_to_string(self.path(name)).expect("a log")
    }
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("a folder");
    for entry in fs::read_dir(from).expect("a folder") {
        let entry = entry.expect("an entry");
        if entry.path().is_dir() {
            continue;
        }
        fs::copy(entry.path(), to.join(entry.file_name())).expect("copied");
    }
}

#[test]
fn entries_are_printed() {
    assert_snapshot!(
        Card::new().run(&["--zone", "Europe/Lisbon", "--mark", "cold: temperature below 0"]).transcript()
    );
}

#[test]
fn nothing_is_added_twice() {
    let card = Card::new();
    let first = card.run(&["--log", "log.csv"]);
    assert_eq!(first.out, "log.csv: 24 entries added\n");
    let log = card.log("log.csv");
    assert_eq!(card.run(&["--log", "log.csv"]).out, "log.csv: 0 entries added\n");
    assert_eq!(card.run(&["--log", "log.csv", "--again"]).out, "log.csv: 0 entries added\n");
    copy(&card.path("card"), &card.path("card/backup"));
    assert_eq!(card.run(&["--log", "log.csv"]).out, "log.csv: 0 entries added\n");
    assert_eq!(card.log("log.csv"), log);
    // Shown, and not added.
    let shown = card.run(&["--log", "other.csv", "--show"]);
    assert!(shown.out.starts_with("when,until,item,event,") && !card.path("other.csv").exists());
}

#[test]
fn what_was_read_is_not_read_again() {
    let card = Card::new();
    let items = card.log("items.csv") + "L3,lens,Harbour 85mm F1.8,,\n";
    fs::write(card.path("items.csv"), items).expect("written");
    assert!(card.run(&["--log", "log.csv"]).err.starts_with("27 pictures, 27 frames\n"));
    assert!(card.run(&["--log", "log.csv"]).err.starts_with("27 pictures, 0 frames, 27 read before\n"));
    // A picture that was changed is read, and so is a log of its own.
    let last = card.path("card/HRB_0338.JPG");
    let bytes = fs::read(&last).expect("a picture");
    fs::write(&last, [bytes, vec![0]].concat()).expect("written");
    assert!(card.run(&["--log", "log.csv"]).err.starts_with("27 pictures, 1 frame, 26 read before\n"));
    assert!(card.run(&["--log", "other.csv"]).err.starts_with("27 pictures, 27 frames\n"));
}

#[test]
fn many_pictures_need_a_folder_for_temporary_files_and_say_so() {
    let card = Card::new();
    let items = card.log("items.csv") + "L3,lens,Harbour 85mm F1.8,,\n";
    fs::write(card.path("items.csv"), items).expect("written");
    // More than are kept in memory.
    for number in 0..5_000 {
        let name = format!("card/HRB_{:04}", 319 + number % 20);
        let copy = format!("{name} copy {number}.JPG");
        fs::hard_link(card.path(&format!("{name}.JPG")), card.path(&copy)).expect("linked");
    }
    let run = |temporary: &str| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_kitlore"));
        let command = command.args(card.args(&["--log", "log.csv"]));
        command.env("TMPDIR", card.path(temporary)).output().expect("it runs")
    };
    let failed = run("nowhere");
    let text = String::from_utf8_lossy(&failed.stderr);
    assert_eq!(failed.status.code(), Some(1), "{text}");
    assert!(
        text.contains("nowhere`, and that failed:") && text.contains("or set TMPDIR to another one"),
        "{text}"
    );
    assert!(!card.path("log.csv").exists());
    fs::create_dir(card.path("somewhere")).expect("a folder");
    let done = run("somewhere");
    assert_eq!(String::from_utf8_lossy(&done.stdout), "log.csv: 28 entries added\n");
    let text = String::from_utf8_lossy(&done.stderr);
    assert!(text.starts_with("5,027 pictures, 27 frames, 5,000 files of frames already counted\n"), "{text}");
    let left = fs::read_dir(card.path("somewhere")).expect("a folder").count();
    assert_eq!(left, 0);
    let again = run("somewhere");
    let text = String::from_utf8_lossy(&again.stderr);
    assert!(text.starts_with("5,027 pictures, 0 frames, 5,027 read before\n"), "{text}");
}

#[test]
fn later_pictures_are_added_to_what_is_there() {
    let card = Card::new();
    let items = card.log("items.csv") + "L3,lens,Harbour 85mm F1.8,,\n";
    fs::write(card.path("items.csv"), items).expect("written");
    let whole = card.run(&["--log", "whole.csv"]).out;
    // The second day comes a day later.
    fs::create_dir(card.path("later")).expect("a folder");
    for number in 331..=338 {
        let name = format!("HRB_{number:04}.JPG");
        fs::rename(card.path("card").join(&name), card.path("later").join(&name)).expect("moved");
    }
    card.run(&["--log", "log.csv"]);
    copy(&card.path("later"), &card.path("card"));
    card.run(&["--log", "log.csv"]);
    let lines = |text: String| text.lines().map(str::to_owned).collect::<BTreeSet<_>>();
    assert_eq!(lines(card.log("log.csv")), lines(card.log("whole.csv")), "{whole}");
}

#[test]
fn broken_files_are_reported_and_stop_nothing() {
    let card = Card::new();
    let pictures = card.path("card");
    let sound = fs::read(pictures.join("HRB_0320.JPG")).expect("a picture");
    fs::write(pictures.join("cut.jpg"), &sound[..200]).expect("written");
    fs::write(pictures.join("empty.jpg"), "").expect("written");
    fs::write(pictures.join("notes.dng"), "not a picture at all").expect("written");
    fs::write(pictures.join("plain.jpg"), b"\xff\xd8\xff\xd9").expect("written");
    fs::write(pictures.join("notes.txt"), "no business of ours").expect("written");
    fs::write(pictures.join("._HRB_0320.JPG"), "a shadow").expect("written");
    let done = card.run(&["--problems"]);
    assert_eq!(done.out.lines().count(), 25);
    assert_snapshot!(done.err);
}

#[cfg(unix)]
#[test]
fn links_are_followed_only_when_asked() {
    let card = Card::new();
    copy(&card.path("card"), &card.path("elsewhere"));
    for number in 319..=322 {
        fs::remove_file(card.path("card").join(format!("HRB_0{number}.JPG"))).expect("removed");
    }
    std::os::unix::fs::symlink(card.path("elsewhere"), card.path("card/more")).expect("a link");
    std::os::unix::fs::symlink(card.path("card"), card.path("card/again")).expect("a link");
    assert_snapshot!(card.run(&["--log", "log.csv", "--problems"]).transcript());
    let followed = card.run(&["--follow-links", "--problems"]);
    assert!(followed.err.contains("27 frames") && followed.err.contains("a link back"), "{}", followed.err);
}

#[test]
fn wrong_uses() {
    let card = Card::new();
    let text: String = [
        ["--zone", "Lisbon"],
        ["--shift", "C1"],
        ["--shift", "C9=+1h"],
        ["--shift", "C1=1 hour"],
        ["--mark", "cold"],
        ["--mark", "wet: rain above 1"],
        ["--mark", "cold: temperature below zero"],
    ]
    .iter()
    .map(|args| card.run(args).transcript())
    .collect();
    assert_snapshot!(text);
}

#[test]
fn what_cannot_succeed_stops_before_pictures_are_read() {
    let card = Card::new();
    let folders =
        ["nowhere", "elsewhere", "card.zip"].map(|name| card.path(name).to_string_lossy().into_owned());
    let items = card.path("items.csv").to_string_lossy().into_owned();
    let mut text = String::new();
    for count in 1..=folders.len() {
        let mut args = vec!["photos"];
        args.extend(folders.iter().take(count).map(String::as_str));
        args.extend(["--items", &items]);
        text += &kitlore_at(240, false, &args).transcript();
    }
    text = text.replace(&card.folder.path().to_string_lossy().into_owned(), "FOLDER");
    for log in ["nowhere/log.csv", "log.xlsx", "log.doc", "card"] {
        let log = card.path(log).to_string_lossy().into_owned();
        text += &card.run(&["--log", &log]).transcript();
    }
    text += &card.run(&["--shift", "C1=+1h", "--shift", "C1=+5m"]).transcript();
    assert_snapshot!(text);
    assert!(!card.path("log.doc").exists() && !card.path("log.xlsx").exists());
}

#[test]
fn a_clock_corrected_later_changes_no_entry_and_says_so() {
    let card = Card::new();
    let said =
        |done: &Done| done.err.contains("note: entries of `C1` that the log has already keep their times");
    assert!(!said(&card.run(&["--log", "other.csv", "--shift", "C1=+1h"])));
    card.run(&["--log", "log.csv"]);
    let log = card.log("log.csv");
    let later = card.run(&["--log", "log.csv", "--shift", "C1=+1h", "--again"]);
    assert!(said(&later), "{}", later.err);
    assert_eq!((later.out.as_str(), card.log("log.csv")), ("log.csv: 0 entries added\n", log));
}

#[test]
fn a_folder_that_is_missing_among_others_is_reported() {
    let card = Card::new();
    let missing = card.path("nowhere").to_string_lossy().into_owned();
    let done = card.run(&[&missing, "--log", "log.csv"]);
    assert_eq!((done.code, done.out.as_str()), (0, "log.csv: 24 entries added\n"));
    assert!(done.err.contains("`FOLDER/nowhere` cannot be searched"), "{}", done.err);
}

#[test]
fn a_log_without_the_columns_is_left_alone() {
    let card = Card::new();
    fs::write(card.path("log.csv"), "when,item,event,amount\n").expect("written");
    let done = card.run(&["--log", "log.csv"]);
    assert_snapshot!(done.transcript());
    assert_eq!(card.log("log.csv"), "when,item,event,amount\n");
}

#[test]
fn a_run_that_is_broken_off_loses_and_doubles_nothing() {
    let card = Card::new();
    card.run(&["--log", "whole.csv"]);
    let lines = |text: String| text.lines().map(str::to_owned).collect::<Vec<_>>();
    for wait in 0..30 {
        let mut child = Command::new(env!("CARGO_BIN_EXE_kitlore"))
            .args(card.args(&["--log", "log.csv"]))
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("it runs");
        std::thread::sleep(std::time::Duration::from_micros(wait * 700));
        child.kill().expect("ended");
        child.wait().expect("ended");
        let added = card.run(&["--log", "log.csv"]);
        assert_eq!(added.code, 0, "{}", added.err);
        assert_eq!(lines(card.log("log.csv")), lines(card.log("whole.csv")));
        let _ = fs::remove_file(card.path("log.csv.pictures"));
        if wait % 2 == 0 {
            let _ = fs::remove_file(card.path("log.csv"));
        }
    }
}
