//! Wrong inputs, as people write them, and what is reported.
//!
//! Each `wrong/GROUP.lore` holds inputs under `=== titles`. The snapshot of a group shows for each
//! input the text, then every diagnostic: place, code, message, the text underlined, the help.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a panic in a test is a failed test"
)]

use crate::files::Files;
use kitlore_syntax::{Diagnostic, Loader, NoIncludes, Severity, Sources, parse};
use std::fmt::Write;

fn write_list(out: &mut String, sources: &Sources, list: &[Diagnostic]) {
    for d in list {
        let (line, column) = sources.line_column(d.span);
        let name = Some(sources.name(d.span))
            .filter(|n| *n != "t.lore")
            .map(|n| format!("{n}:"))
            .unwrap_or_default();
        let doubt = if d.severity == Severity::Doubt { "doubt " } else { "" };
        writeln!(out, "    {name}{line}:{column} {doubt}{}: {}", d.code.word(), d.message).unwrap();
        writeln!(out, "      at:   {}", sources.text(d.span).replace('\n', "⏎")).unwrap();
        if let Some((span, what)) = &d.second {
            writeln!(out, "      and:  {} ({what})", sources.text(*span)).unwrap();
        }
        writeln!(out, "      help: {}", d.help.as_deref().expect("every diagnostic says how to correct it"))
            .unwrap();
        assert!(
            d.message.chars().next().is_some_and(|c| !c.is_uppercase()) && !d.message.ends_with('.'),
            "{}",
            d.message
        );
    }
}

fn shown(text: &str, loader: &dyn Loader) -> String {
    let mut out = String::new();
    match parse("t.lore", text, loader) {
        Err(e) => write_list(&mut out, &e.sources, &e.list),
        Ok(house) => {
            assert!(!house.doubts.is_empty(), "accepted without a word:\n{text}");
            write_list(&mut out, &house.sources, &house.doubts);
        }
    }
    out
}

/// The inputs of a group with what is reported of each.
fn group(file: &str) -> String {
    let mut out = String::new();
    for case in file.split("\n=== ").skip(1) {
        let (title, text) = case.split_once('\n').unwrap();
        let text = text.trim_end_matches('\n');
        writeln!(out, "=== {title}").unwrap();
        for line in text.lines() {
            writeln!(out, "  | {line}").unwrap();
        }
        out.push_str(&shown(text, &NoIncludes));
        out.push('\n');
    }
    out
}

#[test]
fn groups() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/wrong");
    let mut inputs = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        let text = std::fs::read_to_string(&path).unwrap();
        inputs += text.matches("\n=== ").count();
        insta::assert_snapshot!(path.file_stem().unwrap().to_str().unwrap(), group(&text));
    }
    assert!(inputs > 150, "the folder of wrong inputs was not read");
}

#[test]
fn what_cannot_be_seen_in_a_file() {
    let mut out = String::new();
    let cases = [
        (
            "a byte order mark and line ends with a carriage return are no mistake; the rest has its place",
            "\u{feff}house \"X\"\r\n\r\nevry day, x\r\n",
        ),
        ("tabs are no mistake", "for cameras\r\n\t\tafter\t20\ttripz and,\twipe"),
        (
            "a composed letter and a combining one are the same name",
            "conditions e\u{301}te\u{301}\nafter 2 trips in \u{e9}t\u{e9}, wipe\nafter 2 trips in ete, wipe",
        ),
        ("a NUL", "after 20\0 trips, wipe"),
        ("a soft hyphen", "after 20 lens\u{ad}cap changes, wipe"),
        ("a blank of no width", "after 20 trips\u{200b}, wipe"),
        ("a byte order mark in the middle", "every day, wipe\u{feff}body"),
        ("a blank that does not break is a blank", "after 20\u{a0}trips, wipe; takes\u{a0}5 mins"),
        ("no rule at all, and nothing else, is no mistake, a bare word is one", "# nothing\n\n\nx"),
    ];
    for (title, text) in cases {
        writeln!(out, "=== {title}\n  | {text:?}\n{}", shown(text, &NoIncludes)).unwrap();
    }
    insta::assert_snapshot!(out);
}

#[test]
fn includes() {
    let mut out = String::new();
    let cases: [(&str, &str, Files); 6] = [
        ("a file that is not there", "include \"gone.lore\"", Files(&[])),
        ("a file that includes itself", "include \"a.lore\"", Files(&[("a.lore", "include \"a.lore\"")])),
        (
            "a loop",
            "include \"a.lore\"",
            Files(&[("a.lore", "include \"b.lore\""), ("b.lore", "\ninclude \"t.lore\""), ("t.lore", "")]),
        ),
        (
            "mistakes in several files, in order",
            "include \"a.lore\"\nevry day, x",
            Files(&[("a.lore", "every other day, x")]),
        ),
        ("house twice, in two files", "house \"A\"\ninclude \"a.lore\"", Files(&[("a.lore", "house \"B\"")])),
        (
            "a detail does not reach into the file above",
            "every day, x\ninclude \"a.lore\"",
            Files(&[("a.lore", "notice 3 days")]),
        ),
    ];
    for (title, text, files) in &cases {
        writeln!(out, "=== {title}\n  | {text:?}\n{}", shown(text, files)).unwrap();
    }
    insta::assert_snapshot!(out);
}

#[test]
fn mistakes_as_one_text_have_a_line_each() {
    let text = "evry 3 months, wipe body\nafter 20 trips, clean\n  takes 5";
    let expected = "t.lore:1:1: `evry` is not a word of the language (write `every 3 months, wipe body`)\n\
                t.lore:3:9: `5` of what? `minutes` or `hours` is missing (write for example `takes 10 minutes` or `takes 2 hours`)";
    assert_eq!(parse("t.lore", text, &NoIncludes).unwrap_err().to_string(), expected);
}
