//! The shipped examples: their rules say what they claim, and stand in the canonical layout.

#![allow(clippy::unwrap_used, reason = "a test: a panic is its failure")]

use kitlore_tables::load_rules;
use std::fs;
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples")
}

#[test]
fn rules_hold_what_they_claim() {
    for studio in ["studio", "first-day", "pictures"] {
        let rules = load_rules(folder().join(studio).join("house.lore")).unwrap();
        let house = rules.house();
        assert!(!house.examples.is_empty(), "{studio} claims nothing");
        assert_eq!(house.doubts, [], "{studio}");
        assert_eq!(rules.run_examples(), [], "{studio}");
    }
}

#[test]
fn rules_are_tidy() {
    let places = [
        folder().join("studio"),
        folder().join("studio/parts"),
        folder().join("first-day"),
        folder().join("pictures"),
    ];
    let files =
        places.iter().flat_map(|place| fs::read_dir(place).unwrap()).map(|entry| entry.unwrap().path());
    let rules: Vec<PathBuf> =
        files.filter(|path| path.extension().is_some_and(|ending| ending == "lore")).collect();
    assert!(rules.len() >= 9, "{rules:?}");
    for path in rules {
        let text = fs::read_to_string(&path).unwrap();
        let tidied = kitlore_syntax::tidy(&path.to_string_lossy(), &text).unwrap();
        assert_eq!(tidied, text, "{}", path.display());
    }
}
