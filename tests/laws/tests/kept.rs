//! Inputs that fuzzing kept: few for each way through the code, and every one that broke a law once.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a panic is a failed test")]

use kitlore_laws::{LAWS, law};
use std::path::Path;

/// Tries what is kept for a law; says how many there are.
fn tried(folder: &str, name: &str) -> usize {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz").join(folder).join(name);
    let Ok(files) = std::fs::read_dir(&folder) else { return 0 };
    let mut files: Vec<_> = files.map(|file| file.unwrap().path()).collect();
    files.sort();
    for file in &files {
        let input = std::fs::read(file).unwrap();
        let holds = std::panic::catch_unwind(|| (law(name).holds)(&input));
        assert!(holds.is_ok(), "the law `{name}` does not hold for {}", file.display());
    }
    files.len()
}

#[test]
fn every_law_holds_for_what_was_kept() {
    for law in &LAWS {
        let kept = tried("corpus", law.name);
        assert!(kept >= 10, "only {kept} inputs are kept for `{}`", law.name);
    }
}

#[test]
fn every_law_holds_for_what_was_found() {
    for law in &LAWS {
        tried("found", law.name);
    }
}

#[test]
fn every_law_has_a_fuzz_target() {
    for law in &LAWS {
        let target = Path::new(env!("CARGO_MANIFEST_DIR")).join("../fuzz/fuzz_targets").join(law.name);
        let text = std::fs::read_to_string(target.with_extension("rs")).unwrap();
        assert!(text.contains(&format!("law(\"{}\")", law.name)), "{text}");
    }
}
