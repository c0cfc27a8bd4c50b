//! The language reference is read by the parser, and the grammar beside it is the one in this crate.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a panic in a test is a failed test"
)]

use kitlore_syntax::{NoIncludes, parse, tidy};

/// The reference stands beside the crates, and is not in the package of this one.
fn beside(file: &str) -> Option<String> {
    std::fs::read_to_string(format!("{}/../../grammar/{file}", env!("CARGO_MANIFEST_DIR"))).ok()
}

/// The blocks of a language in a Markdown text.
fn blocks<'t>(text: &'t str, language: &str) -> Vec<&'t str> {
    let opening = format!("```{language}\n");
    text.split(&opening).skip(1).filter_map(|rest| rest.split("```").next()).collect()
}

#[test]
fn the_grammar_of_the_crate_is_the_one_of_the_reference() {
    if let Some(grammar) = beside("kitlore.pest") {
        assert_eq!(
            grammar,
            include_str!("../../src/kitlore.pest"),
            "copy grammar/kitlore.pest to crates/syntax/src"
        );
    }
}

#[test]
fn blocks_are_read_or_refused_as_marked() {
    let Some(reference) = beside("README.md") else {
        return;
    };
    let (good, wrong) = (blocks(&reference, "lore"), blocks(&reference, "lore-wrong"));
    assert!(good.len() > 15 && wrong.len() > 15, "{} and {}", good.len(), wrong.len());
    for block in good {
        parse("README.md", block, &NoIncludes).unwrap_or_else(|e| panic!("{e}\n in:\n{block}"));
        let tidied = tidy("README.md", block).unwrap();
        assert_eq!(tidy("README.md", &tidied).unwrap(), tidied);
    }
    for block in wrong {
        assert!(parse("README.md", block, &NoIncludes).is_err(), "accepted:\n{block}");
    }
}
