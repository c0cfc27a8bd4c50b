//! `proof --mend`: what it corrects, what it leaves, and what becomes of the file.

use crate::common::kitlore;
use insta::assert_snapshot;

const WRONG: &str = "\u{feff}for cameras # all of them\r\n  whenever inspect sensor finds dust, clean sensor # soon\r\n  \
    after 20 trips; needs cloth\r\n  requires blower\r\n  evry 90 dayz inspect sensor\r\n    takes 20 mins\r\n  \
    after 20 trips and/or 90 days, wipe body\r\n";

#[test]
fn what_has_one_correction_is_corrected_and_the_rest_is_shown() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("house.lore");
    std::fs::write(&path, WRONG).unwrap();
    let path = path.to_str().unwrap();
    let printed = kitlore(&["proof", path, "--mend", "--show"]);
    assert_eq!(std::fs::read_to_string(path).unwrap(), WRONG, "--show leaves the file unchanged");
    let done = kitlore(&["proof", path, "--mend"]);
    let written = std::fs::read_to_string(path).unwrap();
    assert_snapshot!(format!(
        "{}--- written\n{}",
        done.transcript(),
        written.replace('\r', "␍").replace('\u{feff}', "[mark]")
    ));
    assert_eq!(printed.out, written.replace("\r\n", "\n").trim_start_matches('\u{feff}'));
    let again = kitlore(&["proof", path, "--mend"]);
    assert_eq!((again.code, std::fs::read_to_string(path).unwrap()), (1, written), "nothing more to correct");
}

#[test]
fn a_file_without_mistakes_is_not_written() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("house.lore");
    std::fs::write(&path, "after 90 days, inspect sensor\n").unwrap();
    let written = path.metadata().unwrap().modified().unwrap();
    let done = kitlore(&["proof", path.to_str().unwrap(), "--mend"]);
    assert_eq!((done.code, done.out.as_str()), (0, ""));
    assert_eq!(done.err, "`house.lore` has no mistakes\n");
    assert_eq!(path.metadata().unwrap().modified().unwrap(), written);
}

#[test]
fn an_included_file_is_left_to_itself() {
    let folder = tempfile::tempdir().unwrap();
    let (path, other) = (folder.path().join("house.lore"), folder.path().join("other.lore"));
    std::fs::write(&path, "include \"other.lore\"\nevry 3 months, wipe body\n").unwrap();
    std::fs::write(&other, "evry 90 days, inspect sensor\n").unwrap();
    let done = kitlore(&["proof", path.to_str().unwrap(), "--mend"]);
    assert_eq!(done.code, 1);
    assert!(done.err.contains("other.lore:1:1"), "{}", done.err);
    assert_eq!(
        std::fs::read_to_string(&path).unwrap(),
        "include \"other.lore\"\nevery 3 months, wipe body\n"
    );
    assert_eq!(std::fs::read_to_string(&other).unwrap(), "evry 90 days, inspect sensor\n");
}
