//! Every code of a problem has a case that raises it, and no case asks for a code that is not in the table.

#![allow(clippy::unwrap_used, reason = "a test: a panic is its failure")]

use kitlore_engine::codes::Code;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

/// Problems that the form of a case cannot show: a case's tables are read before the book sees them.
const ELSEWHERE: [&str; 3] = ["missing-event", "missing-id", "missing-kind"];

/// The codes in the `--- problems` blocks of all cases.
fn codes_of_cases() -> BTreeSet<String> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("cases");
    let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path());
    let texts = files.filter(|path| path.extension().is_some_and(|ending| ending == "txt"));
    let mut codes = BTreeSet::new();
    for path in texts {
        let text = fs::read_to_string(path).unwrap();
        let mut inside = false;
        for line in text.lines() {
            if line.starts_with("---") || line.starts_with("===") {
                inside = line.trim() == "--- problems";
            } else if let Some((code, _)) = line.split_once('|').filter(|_| inside) {
                codes.insert(code.trim().to_owned());
            }
        }
    }
    codes
}

#[test]
fn every_code_has_a_case() {
    let known: BTreeSet<String> = Code::ALL.iter().map(|code| code.word().to_owned()).collect();
    assert_eq!(known.len(), Code::ALL.len(), "a code stands twice");
    let raised = codes_of_cases();
    let missing: Vec<_> =
        known.difference(&raised).filter(|code| !ELSEWHERE.contains(&code.as_str())).collect();
    assert!(missing.is_empty(), "no case raises {missing:?}");
    let unknown: Vec<_> = raised.difference(&known).collect();
    assert!(unknown.is_empty(), "not in the table: {unknown:?}");
}
