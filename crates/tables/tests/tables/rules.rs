//! Rules from a folder: nothing outside it is read.
#![cfg(all(feature = "csv", feature = "jsonl", feature = "xlsx"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

use kitlore_syntax::Loader;
use kitlore_tables::{FolderLoader, load_rules};
use std::fs;
use std::path::Path;

fn write(folder: &Path, files: &[(&str, &str)]) {
    for (name, text) in files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, text).unwrap();
    }
}

const RULE: &str = "for cameras\n  after 90 days, inspect sensor\n";

#[test]
fn includes_are_found_beside_the_file_they_stand_in_and_named_from_the_first() {
    let folder = tempfile::tempdir().unwrap();
    write(
        folder.path(),
        &[
            ("house/house.lore", "include \"kit/bags.lore\"\nfor cameras\n  after 90 days, inspect sensor\n"),
            ("house/kit/bags.lore", "include \"straps.lore\"\ninclude \"../care/cloth.lore\"\n"),
            ("house/kit/straps.lore", "for straps\n  every year, wash strap\n"),
            ("house/care/cloth.lore", "for cloths\n  every month on day 1, wash cloth\n"),
        ],
    );
    let program = load_rules(folder.path().join("house/house.lore")).unwrap();
    for task in ["inspect sensor", "wash strap", "wash cloth"] {
        assert!(program.knows_event(task), "{task}");
    }
    let (loader, first) = FolderLoader::open(folder.path().join("house/house.lore")).unwrap();
    assert_eq!(first.name, "house.lore");
    assert_eq!(loader.load("kit/../care/./cloth.lore", "house.lore").unwrap().name, "care/cloth.lore");
    assert_eq!(loader.load("../care/cloth.lore", "kit/bags.lore").unwrap().name, "care/cloth.lore");
}

#[test]
fn what_leaves_the_folder_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &[("house/house.lore", RULE), ("secret.lore", RULE), ("house/sub/a.lore", RULE)]);
    let (loader, _) = FolderLoader::open(folder.path().join("house/house.lore")).unwrap();
    let outside = "lies outside the folder of the first rule file; move it into that folder";
    let absolute = folder.path().join("house/sub/a.lore");
    for (path, from, expected) in [
        ("../secret.lore", "house.lore", outside),
        ("sub/../../secret.lore", "house.lore", outside),
        ("../../secret.lore", "sub/a.lore", outside),
        ("../house/house.lore", "house.lore", outside),
        (absolute.to_str().unwrap(), "house.lore", "is an absolute path; name the file relative to this one"),
        ("sub\\a.lore", "house.lore", "has a `\\`; write `/` between folders"),
        (" ", "house.lore", "names no file"),
        ("none.lore", "house.lore", "is not there"),
        ("SUB/none.lore", "house.lore", "is not there"),
        ("House.lore", "house.lore", "is spelled `house.lore` in its folder; write it so"),
        ("sub", "house.lore", "is not a file"),
        ("sub/a.lore/../../../secret.lore", "house.lore", outside),
        ("sub/../SUB/a.lore", "house.lore", "is not there"),
        ("a\0.lore", "house.lore", "cannot be opened: "),
        (&"x".repeat(300), "house.lore", "cannot be opened: "),
        (&"sub/../".repeat(1_000), "house.lore", "is not a file"),
        ("./", "house.lore", "is not a file"),
        ("", "house.lore", "names no file"),
    ] {
        let reported = loader.load(path, from).unwrap_err();
        assert!(reported.starts_with(expected), "{path} from {from}: {reported}");
    }
}

#[cfg(unix)]
#[test]
fn symbolic_links_are_followed_within_the_folder_only() {
    use std::os::unix::fs::symlink;
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &[("house/house.lore", RULE), ("secret.lore", RULE), ("elsewhere/b.lore", RULE)]);
    let house = folder.path().join("house");
    symlink("../secret.lore", house.join("out.lore")).unwrap();
    symlink("../elsewhere", house.join("away")).unwrap();
    symlink("house.lore", house.join("again.lore")).unwrap();
    symlink("/dev/zero", house.join("endless.lore")).unwrap();
    let (loader, _) = FolderLoader::open(house.join("house.lore")).unwrap();
    for path in ["out.lore", "away/b.lore", "endless.lore"] {
        assert!(loader.load(path, "house.lore").unwrap_err().starts_with("lies outside"), "{path}");
    }
    assert_eq!(loader.load("again.lore", "house.lore").unwrap().name, "house.lore", "one file has one name");
}

#[test]
fn a_loop_is_an_error_and_ends() {
    let folder = tempfile::tempdir().unwrap();
    write(
        folder.path(),
        &[("a.lore", "include \"b.lore\"\n"), ("b.lore", "include \"./x/../a.lore\"\n"), ("x/c.lore", RULE)],
    );
    let error = load_rules(folder.path().join("a.lore")).unwrap_err();
    assert_eq!(error.code(), "mistakes-in-rules");
    assert!(error.to_string().contains("b.lore:1"), "{error}");
}

#[test]
fn files_that_cannot_be_read() {
    let folder = tempfile::tempdir().unwrap();
    write(
        folder.path(),
        &[("big.lore", &"# \n".repeat(1_500_000)), ("house.lore", "include \"latin.lore\"\n")],
    );
    fs::write(folder.path().join("latin.lore"), b"# fine\n# caf\xe9\n").unwrap();
    let message = |name: &str| load_rules(folder.path().join(name)).unwrap_err().to_string();
    assert!(message("big.lore").ends_with("big.lore` is larger than 4 MiB, the most a rule file may be"));
    assert!(message("latin.lore").ends_with("latin.lore` is not UTF-8 text in line 2; save it as UTF-8"));
    assert!(message("none.lore").starts_with("cannot read the rules: `"));
    assert!(message("house.lore").contains("is not UTF-8 text in line 2"), "{}", message("house.lore"));
}
