//! The canonical layout: random rule texts with odd spacing keep their meaning and their comments.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a panic in a test is a failed test"
)]

use kitlore_syntax::tree::House;
use kitlore_syntax::{NoIncludes, parse, tidy};
use proptest::prelude::*;

/// The tree without places, as text.
fn meaning(house: &House) -> String {
    let whole = format!(
        "{:?}",
        (
            (&house.name, &house.zone, &house.count_from, &house.kinds, &house.covers, &house.events),
            (&house.conditions, &house.findings, &house.rules, &house.examples),
        )
    );
    let mut out = String::new();
    let mut rest = whole.as_str();
    while let Some(at) = rest.find("Span {") {
        out.push_str(&rest[..at]);
        rest = &rest[at..];
        // `Span { source: SourceId(0), start: 1, end: 2 }`
        rest = &rest[rest.find('}').unwrap() + 1..];
    }
    out + rest
}

fn comments(text: &str) -> Vec<String> {
    // In the texts below `#` begins a comment wherever it stands.
    text.lines().filter_map(|l| l.find('#').map(|at| l[at..].trim_end().to_owned())).collect()
}

fn check(text: &str) {
    let before = parse("t.lore", text, &NoIncludes).unwrap_or_else(|e| panic!("{e}\nin\n{text}"));
    let once = tidy("t.lore", text).unwrap();
    let after =
        parse("t.lore", &once, &NoIncludes).unwrap_or_else(|e| panic!("{e}\nin tidied\n{once}\nof\n{text}"));
    assert_eq!(meaning(&before), meaning(&after), "\n{text}\n-- became\n{once}");
    assert_eq!(comments(text), comments(&once), "\n{text}\n-- became\n{once}");
    let twice = tidy("t.lore", &once).unwrap();
    assert!(once == twice, "not stable:\n{once}\n-- became\n{twice}");
    assert!(!once.contains("\n\n\n") && !once.starts_with('\n') && !once.ends_with("\n\n"), "{once}");
}

fn pick(list: &'static [&'static str]) -> impl Strategy<Value = String> + Clone {
    prop::sample::select(list).prop_map(str::to_owned)
}

fn name() -> impl Strategy<Value = String> {
    let bit = pick(&[
        "trip",
        "Lens changes",
        "sand",
        "salt air",
        "frames",
        "dust",
        "blower",
        "X-100/b",
        "été",
        "agate",
    ]);
    let quoted = pick(&["\"walks on ice\"", "\"a \\\"b\\\" c\"", "\"or\"", "\"x, y; (z)\""]);
    prop_oneof![4 => bit.clone(), 1 => quoted.clone(), 1 => (bit, quoted).prop_map(|(a, b)| format!("{a} {b}"))]
}

fn list(join: &'static str) -> impl Strategy<Value = String> {
    prop::collection::vec(name(), 1..4).prop_map(move |names| names.join(join))
}

fn duration() -> impl Strategy<Value = String> {
    (1_u32..200, pick(&["day", "Days", "weeks", "MONTH", "years"]))
        .prop_map(|(n, unit)| format!("{n} {unit}"))
}

fn conditions() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        list(" or ").prop_map(|l| format!(" in {l}")),
        list(" and ").prop_map(|l| format!(" IN {l}")),
        list(" or ").prop_map(|l| format!(" not in {l}")),
    ]
}

fn usage() -> impl Strategy<Value = String> {
    let weight = (name(), 0_u32..9).prop_map(|(n, w)| format!("in {n} count {w}.25"));
    let weights =
        prop::option::of(prop::collection::vec(weight, 1..3).prop_map(|w| format!(" ({})", w.join(", "))));
    let start = prop_oneof![
        (pick(&["after ", "EVERY ", "at ", ""]), 3_u32..999).prop_map(|(s, n)| format!("{s}{n},000.5 ")),
        pick(&["every ", "each ", "after every "]),
    ];
    (start, name(), conditions(), weights)
        .prop_map(|(s, n, c, w)| format!("{s}{n}{c}{}", w.unwrap_or_default()))
}

fn atom() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => usage(),
        2 => (pick(&["after ", "every ", ""]), duration()).prop_map(|(s, d)| s + &d),
        1 => pick(&["every month", "After Each Year", "on 2026-03-01", "every year on 1 march", "each Month on day 31",
                    "every week on MONDAY", "every month on the Last friday"]),
        1 => (pick(&["Shoot", "\"on location\" shoots"]), conditions()).prop_map(|(n, c)| format!("before every {n}{}", c.replace(" not in ", " in "))),
        1 => (name(), list(" or ")).prop_map(|(t, f)| format!("when {t} finds {f}")),
        1 => list(" or ").prop_map(|f| format!("When {f} is found")),
        1 => (name(), pick(&["below", "at LEAST", "above -"])).prop_map(|(n, c)| format!("when {n} is {c} 1,200.5 percent")),
        1 => duration().prop_map(|d| format!("when unused for {d}")),
        1 => (duration(), name(), list(" or a ")).prop_map(|(d, n, u)| format!("{d} after each {n} again unless {u} or a newer {n} again")),
    ]
}

fn trigger() -> impl Strategy<Value = String> {
    let flat = prop::collection::vec((atom(), pick(&[" or ", " and ", " OR "])), 1..4).prop_map(|parts| {
        let (joins, atoms): (Vec<_>, Vec<_>) = parts.into_iter().map(|(a, j)| (j, a)).unzip();
        atoms.iter().zip(joins).fold(String::new(), |out, (atom, join)| match out.is_empty() {
            true => atom.clone(),
            false => out + &join + atom,
        })
    });
    flat.prop_recursive(2, 6, 2, |inner| {
        (inner.clone(), inner).prop_map(|(a, b)| format!("after ({a}) or ({b})"))
    })
}

fn details() -> impl Strategy<Value = Vec<String>> {
    let one = (
        prop::option::of(pick(&["notice 14 days", "Notice 0 weeks"])),
        prop::option::of(pick(&[
            "needs blower, plain (soft) cloth and, \"swabs; 24 mm\"",
            "needs a, b(c;d) , 3 cloths",
        ])),
        prop::option::of(pick(&["takes 10 minutes", "takes 1.5 Hours"])),
        prop::option::of(pick(&["no later than 24 months or 300 trips", "allow 3 days"])),
        prop::collection::vec(pick(&["caution \"hot, very; hot\""]), 0..3),
        prop::option::of(pick(&["by \"a\\\\b\"", "because \"so\"", "at most every MONTH"])),
    );
    one.prop_map(|(a, b, c, d, e, f)| [a, b, c, d].into_iter().flatten().chain(e).chain(f).collect())
}

/// A statement, its lines separated by `\n`.
fn statement() -> impl Strategy<Value = String> {
    let rule = (prop::bool::ANY, trigger(), details(), prop::collection::vec(prop::bool::ANY, 8));
    prop_oneof![
        6 => rule.prop_map(|(instead, trigger, details, breaks)| {
            let instead = if instead { "instead, " } else { "" };
            details.iter().zip(breaks).fold(format!("{instead}{trigger}, wipe body"), |out, (detail, line)| {
                out + if line { "\n" } else { "; " } + detail
            })
        }),
        1 => list(" and ").prop_map(|k| format!("for {k} where maker is third party or (slots is above -3 and not-x is known)")),
        1 => list(", ").prop_map(|n| format!("Clean covers {n}")),
        1 => Just("for every item".to_owned()),
        1 => Just("A tin is a Box".to_owned()),
        1 => Just("example \"x\"\ncamera C1 received 2026-01-10 maker \"Orla\" size -3\n2026-02-07 to 2026-02-08 C1 trip 1,200 in sand, dust \
                   found a-b ref \"1\"\non 2026-02-07 C1 wipe body is DUE since 2026-02-07".to_owned()),
    ]
}

/// Odd spacing: for every blank, and every place where a line may break.
fn spread(statements: &[String], odd: &[u8]) -> String {
    let mut odd = odd.iter().copied().cycle();
    let mut out = String::new();
    for statement in statements {
        let mut quoted = false;
        let mut depth = 0;
        let mut word = String::new();
        let mut escaped = false;
        for c in statement.chars() {
            let legal = depth > 0 || word == "," || ["or", "and"].contains(&word.to_lowercase().as_str());
            match c {
                '"' if !escaped => quoted = !quoted,
                '(' if !quoted => depth += 1,
                ')' if !quoted => depth -= 1,
                _ => {}
            }
            escaped = c == '\\' && !escaped;
            if c == ' ' && !quoted {
                out.push_str(match odd.next().unwrap_or(0) % 12 {
                    0 => "   ",
                    1 => "\t",
                    2 if legal => "\n",
                    3 if legal => " # inside\n   ",
                    4 if legal => "\n\n  # alone\n # two\n\n ",
                    5 if legal => "#near\n",
                    _ => " ",
                });
                word.clear();
            } else if c == '\n' {
                line_end(&mut out, odd.next().unwrap_or(0));
                word.clear();
            } else {
                if c == ',' {
                    word.clear();
                }
                word.push(c);
                out.push(c);
            }
        }
        line_end(&mut out, odd.next().unwrap_or(0));
    }
    out
}

fn line_end(out: &mut String, odd: u8) {
    out.push_str(match odd % 8 {
        0 => "  # behind\r\n",
        1 => "\n\n\n",
        2 => "\n   # above \n",
        3 => "\n\n # apart\n\n\n# again\n  ",
        4 => " \n\t",
        _ => "\n",
    });
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn keeps_meaning_and_comments(
        statements in prop::collection::vec(statement(), 1..8),
        odd in prop::collection::vec(any::<u8>(), 64),
    ) {
        check(&spread(&statements, &odd));
    }
}

#[test]
fn one_layout() {
    let text = "HOUSE \"X\"   # name\n\n\n\nfor   cameras\n# above\nAFTER 20 trips or # why\n 90 Days,wipe body;NOTICE 3 days;takes 5 minutes # end\n\
                every year on 1 MARCH,grease\n\n  # last\n";
    insta::assert_snapshot!(tidy("t.lore", text).unwrap());
}

#[test]
fn brackets_comments_and_examples_are_laid_out() {
    let text = "every day,look;takes 5 minutes\nfor cameras\nafter (20 trips or\n # when dusty\n90 days),wipe body;needs cloth,2 swabs;takes 5 minutes\n\
                example \"x\"\ncamera C1\n2026-02-07 C1 trip 12\nfor lenses\nevery day,dust";
    insta::assert_snapshot!(tidy("t.lore", text).unwrap());
}

#[test]
fn long_lines_break_after_a_comma() {
    let names: Vec<String> = (0..40).map(|i| format!("event n{i}")).collect();
    let text = format!(
        "events {}\nfor cameras\n every event n1, wipe; needs {}",
        names.join(","),
        names.join(" and ")
    );
    check(&text);
    insta::assert_snapshot!(tidy("t.lore", &text).unwrap());
}

#[test]
fn what_is_included_is_not_looked_at() {
    let text = "include   \"kinds.lore\"\nexample \"x\"\n field recorder R1 received 2026-01-10";
    let tidied = tidy("t.lore", text).unwrap();
    assert_eq!(tidied, "include \"kinds.lore\"\nexample \"x\"\n  field recorder R1 received 2026-01-10\n");
}
