//! The law of corrections: with one there are fewer mistakes and no new doubt, and what was said is still said.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a panic in a test is a failed test"
)]

use kitlore_syntax::codes::Code;
use kitlore_syntax::{Diagnostic, NoIncludes, closest, key, parse};
use proptest::prelude::*;
use std::collections::HashMap;

/// What is found in a text: its mistakes, or its doubts.
fn found(text: &str) -> (bool, Vec<Diagnostic>, String) {
    match parse("t.lore", text, &NoIncludes) {
        Ok(house) => (true, house.doubts.clone(), house.sources.iter().next().unwrap().text.to_string()),
        Err(wrong) => (false, wrong.list, wrong.sources.iter().next().unwrap().text.to_string()),
    }
}

fn counts(list: &[Diagnostic]) -> HashMap<Code, usize> {
    let mut counts = HashMap::new();
    for diagnostic in list {
        *counts.entry(diagnostic.code).or_default() += 1;
    }
    counts
}

/// The numbers of a text, in digits, without signs that group them.
fn numbers(text: &str) -> Vec<u64> {
    let plain = text.replace(',', "");
    // A digit within a word is a letter that is misspelt.
    let words = plain
        .split(|c: char| !c.is_alphanumeric())
        .filter(|word| word.starts_with(|c: char| c.is_ascii_digit()));
    let digits = |word: &str| word.trim_end_matches(|c: char| !c.is_ascii_digit()).to_owned();
    words.filter_map(|word| digits(word).parse().ok()).collect()
}

/// Days and months by name.
fn date_words(text: &str) -> Vec<String> {
    const NAMES: [&str; 19] = [
        "monday",
        "tuesday",
        "wednesday",
        "thursday",
        "friday",
        "saturday",
        "sunday",
        "january",
        "february",
        "march",
        "april",
        "may",
        "june",
        "july",
        "august",
        "september",
        "october",
        "november",
        "december",
    ];
    let months = |word: &str| NAMES.iter().position(|name| *name == word.trim_end_matches('s'));
    words(text)
        .iter()
        .filter_map(|word| months(word))
        .map(|at| if at < 7 { NAMES[at].to_owned() } else { (at - 6).to_string() })
        .collect()
}

fn words(text: &str) -> Vec<String> {
    text.to_lowercase()
        .split(|c: char| !(c.is_alphanumeric() || c == '\''))
        .filter(|w| w.contains(char::is_alphabetic))
        .map(str::to_owned)
        .collect()
}

/// Words that a correction may take away: those of the language, and those that mean one of them.
fn says_nothing(word: &str) -> bool {
    const WORDS: &str = "a about above after ahead all always an and any appear appears approximately are around as at attention attn before \
        beforehand below beneath between beware beyond blocked both but by calendar careful climbs comes consecutive count counted counts \
        cover daily decade detects don't dozen drops during each eighth either equal equals every everything exactly exceeding \
        exceeds except falls few fewer fifth fifty find fine finds first five following for fortnight fortnightly found four fourth \
        full gear gets gives goes going grace greater half has higher hour hundred i if in is isn't isnt it it's item items just kind \
        larger last least lasting over lasts late later latest latter leave left less long longer lower max maximum min minimum million monthly \
        more most must my need needing never night nine ninety no not now of often ok on once one only or other our outside over \
        per please plus prior quarter quarterly reads reason remind reminder require requires requiring reveals rises roughly second \
        sees seven shall should show shows since single sinks six sixty smaller some soon sooner take ten than the so then there thereabouts third \
        thirty thousand three time times timezone to tolerance twelfth twelve twentieth twenty twenty-first twenty-fifth twenty-five \
        twice two tz under until up use visible warn warning was we weekly were when whenever whichever whole with within without year \
        years yearly you your annually day week evening month months seen noticed noticeable observed spotted detected equipment each time \
        ninth tenth eleven thirteen fourteen forty seventy eighty half-yearly nightly sort type done no-one ones comes that same";
    WORDS.split_whitespace().any(|known| known == word)
}

/// Holds the law for every correction of a text; how many there are.
fn law(text: &str) -> usize {
    let (accepted, list, source) = found(text);
    let mut corrected = 0;
    for fix in list.iter().filter_map(|diagnostic| diagnostic.fix.as_ref()) {
        corrected += 1;
        let better = fix.applied(&source);
        let (accepted_now, left, _) = found(&better);
        assert!(
            left.len() < list.len() && (accepted_now || !accepted) || accepted_now && !accepted,
            "not better:\n{source}\n{better}\n{left:?}"
        );
        if accepted_now && !accepted {
            assert!(left.is_empty() || list.len() > 1, "a new doubt:\n{source}\n{better}\n{left:?}");
        } else if accepted {
            let before = counts(&list);
            let known =
                |(code, count): (&Code, &usize)| before.get(code).is_some_and(|before| count <= before);
            assert!(counts(&left).iter().all(known), "a new doubt:\n{source}\n{better}\n{left:?}");
        }
        let (mut after, old) = (numbers(&better), numbers(&source));
        // `1 000` is `1,000`.
        after.extend(numbers(&better.replace(',', " ")));
        for number in &old {
            // `the 2nd Tuesday` is the second.
            let ranks = ["first", "second", "third", "fourth"];
            let ranked = || ranks.iter().zip(1..).any(|(rank, n)| n == *number && better.contains(rank));
            let thousands = || source.contains(&format!("{number}k")) && after.contains(&(number * 1000));
            assert!(
                after.contains(number) || ranked() || thousands(),
                "{number} is lost:\n{source}\n{better}"
            );
        }
        for day in date_words(&source) {
            let stands = date_words(&better).contains(&day)
                || day.parse().is_ok_and(|month: u64| after.contains(&month));
            assert!(stands, "{day} is lost:\n{source}\n{better}");
        }
        let kept = words(&better);
        for word in words(&source)
            .iter()
            .filter(|word| !word.contains(|c: char| c.is_ascii_digit()) && !says_nothing(word))
        {
            let stands = kept.iter().any(|other| key(other) == key(word) || format!("'{other}'") == *word)
                || closest(word, kept.iter().map(String::as_str)).is_some()
                || UNITS.iter().any(|(short, unit)| short == word && better.contains(unit))
                || MONTHS.iter().any(|(short, month)| {
                    word.starts_with(short)
                        && (better.contains(month) || after.contains(&month_number(short)))
                });
            assert!(stands, "`{word}` is lost:\n{source}\n{better}");
        }
    }
    corrected
}

const UNITS: [(&str, &str); 14] = [
    ("d", "day"),
    ("dy", "day"),
    ("w", "week"),
    ("wk", "week"),
    ("wks", "week"),
    ("m", "mont"),
    ("mo", "month"),
    ("mths", "month"),
    ("yr", "year"),
    ("yrs", "year"),
    ("min", "minutes"),
    ("mins", "minutes"),
    ("hrs", "hours"),
    ("hr", "hours"),
];

const MONTHS: [(&str, &str); 12] = [
    ("jan", "January"),
    ("feb", "February"),
    ("mar", "March"),
    ("apr", "April"),
    ("may", "May"),
    ("jun", "June"),
    ("jul", "July"),
    ("aug", "August"),
    ("sep", "September"),
    ("oct", "October"),
    ("nov", "November"),
    ("dec", "December"),
];

fn month_number(short: &str) -> u64 {
    MONTHS.iter().position(|(s, _)| *s == short).map_or(0, |at| at as u64 + 1)
}

/// The wrong inputs of this repository.
fn inputs() -> Vec<String> {
    let mut inputs: Vec<String> = Code::ALL.iter().map(|code| code.example().to_owned()).collect();
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/wrong");
    for entry in std::fs::read_dir(folder).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        let cases = text.split("\n=== ").skip(1).filter_map(|case| case.split_once('\n'));
        inputs.extend(cases.map(|(_, input)| input.trim_end_matches('\n').to_owned()));
    }
    let seeds = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/fuzz/corpus/parse");
    for entry in std::fs::read_dir(seeds).into_iter().flatten() {
        inputs.extend(std::fs::read_to_string(entry.unwrap().path()));
    }
    inputs
}

#[test]
fn every_correction_of_a_wrong_input_of_this_repository() {
    let corrected: usize = inputs().iter().map(|input| law(input)).sum();
    assert!(corrected >= 470, "only {corrected} are corrected");
}

/// What a suggestion without a correction shows is an example, not a correction.
#[test]
fn what_is_written_for_a_whole_line_is_what_the_parser_takes() {
    for input in inputs() {
        let (_, list, source) = found(&input);
        for diagnostic in list {
            let help = diagnostic.help.unwrap_or_default();
            let Some(fix) = diagnostic.fix.filter(|_| help.starts_with("write `") && help.ends_with('`'))
            else {
                continue;
            };
            let shown = help
                .trim_start_matches("write `")
                .trim_end_matches('`')
                .replace("` and, on a line of its own, `", " ");
            let plain = |text: &str| {
                text.split_whitespace().collect::<Vec<_>>().join(" ").replace("( ", "(").replace(" )", ")")
            };
            let fixed = plain(&fix.applied(&source));
            assert!(fixed.contains(&plain(&shown)), "{help} is not what is written:\n{fixed}");
        }
    }
}

const RIGHT: [&str; 12] = [
    "after 20 lens changes in dust or 90 days, inspect sensor; notice 14 days",
    "when inspect sensor finds dust or oil, clean sensor; do not use until done",
    "7 days after each firmware release unless firmware recall, install firmware",
    "before every trip in sand, inspect strap; within 3 days",
    "every year on 1 March, grease spigot; notice 2 weeks; takes 20 minutes",
    "every month on the first Monday, check strap; needs blower, plain bright wall",
    "when capacity is below 80 percent, retire battery; by \"an authorised workshop\"",
    "at age 12 months, retire battery; no later than age 24 months",
    "after 60 shoots (in sand count 3) and 6 months, tighten clamps",
    "when unused for 60 days, charge battery; allow 3 days",
    "for batteries where maker is \"third party\" and slots is at least 2",
    "a rangefinder is a camera",
];

const PUT: [&str; 34] = [
    "the",
    "please",
    "then",
    "roughly",
    "about",
    "whenever",
    "if",
    "a",
    "three",
    "other",
    "under",
    "more than",
    "isn't",
    "every",
    "and",
    "or",
    ",",
    ";",
    ":",
    "on",
    "20",
    "March",
    "Monday",
    "of",
    "unless",
    "dayz",
    "hrs",
    "at least",
    "not",
    "in",
    "is",
    "dust",
    "15th",
    "no",
];

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn right_rules_with_words_exchanged(
        rule in 0..RIGHT.len(),
        at in 0..20_usize,
        cut in 0..3_usize,
        put in prop::collection::vec(prop::sample::select(&PUT[..]), 0..3),
    ) {
        let mut words: Vec<&str> = RIGHT[rule].split(' ').collect();
        let at = at.min(words.len() - 1);
        let end = (at + cut).min(words.len());
        words.splice(at..end, put);
        law(&words.join(" "));
    }

    #[test]
    fn right_rules_with_letters_exchanged(rule in 0..RIGHT.len(), at in 0..60_usize, letter in "[a-z ,;]?", cut in 0..2_usize) {
        let mut letters: Vec<char> = RIGHT[rule].chars().collect();
        let at = at.min(letters.len() - 1);
        letters.splice(at..at + cut, letter.chars());
        law(&letters.into_iter().collect::<String>());
    }
}
