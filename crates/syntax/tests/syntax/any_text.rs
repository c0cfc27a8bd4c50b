//! Whatever the text is, the answer is a house or mistakes with a place and a remedy.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a panic in a test is a failed test"
)]

use kitlore_syntax::{NoIncludes, parse, tidy};
use proptest::prelude::*;

const WORDS: [&str; 96] = [
    "after",
    "every",
    "each",
    "at",
    "before",
    "when",
    "on",
    "age",
    "or",
    "and",
    "in",
    "not",
    "is",
    "the",
    "a",
    "an",
    "any",
    "unless",
    "instead",
    "for",
    "where",
    "item",
    "unused",
    "found",
    "finds",
    "leaves",
    "below",
    "above",
    "least",
    "most",
    "within",
    "notice",
    "allow",
    "no",
    "later",
    "than",
    "do",
    "use",
    "until",
    "done",
    "needs",
    "takes",
    "by",
    "because",
    "caution",
    "house",
    "time",
    "zone",
    "UTC",
    "include",
    "count",
    "from",
    "covers",
    "events",
    "conditions",
    "findings",
    "example",
    "received",
    "service",
    "to",
    "ref",
    "reading",
    "since",
    "due",
    "clear",
    "known",
    "missing",
    "newer",
    "day",
    "weeks",
    "months",
    "year",
    "minutes",
    "hours",
    "first",
    "last",
    "Monday",
    "March",
    "trip",
    "dust",
    "wipe body",
    "3",
    "0",
    "1,5",
    "12",
    "2026-03-01",
    "2026-02-30",
    "31",
    "\"x\"",
    "\"",
    "(",
    ")",
    ",",
    ";",
    "-",
    "\n",
];

fn check(text: &str) {
    match parse("t.lore", text, &NoIncludes) {
        Ok(_) => {
            let once = tidy("t.lore", text).unwrap();
            assert_eq!(tidy("t.lore", &once).unwrap(), once, "of\n{text}");
        }
        Err(mistakes) => {
            assert!(!mistakes.list.is_empty());
            for d in &mistakes.list {
                let source = &mistakes.sources.get(d.span.source).unwrap().text;
                assert!(d.span.start <= d.span.end, "{d:?}");
                assert!(source.get(d.span.start as usize..d.span.end as usize).is_some(), "{d:?} in\n{text}");
                assert!(d.span.start < d.span.end, "nothing underlined: {d:?} in\n{text}");
                let help = d.help.as_deref().unwrap_or_default();
                assert!(!help.is_empty(), "no help: {d:?} in\n{text}");
                assert!(
                    !d.message.contains("``") && !help.contains("``"),
                    "an empty quotation: {d:?} in\n{text}"
                );
                let _ = mistakes.sources.line_column(d.span);
            }
            let places: Vec<_> = mistakes.list.iter().map(|d| (d.span.source, d.span.start)).collect();
            assert!(places.is_sorted(), "{places:?}");
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_characters(text in "\\PC{0,200}|[a-z #\"(),;\n\\\\0-9-]{0,200}") {
        check(&text);
    }

    #[test]
    fn words_of_the_language_in_any_order(words in prop::collection::vec(prop::sample::select(&WORDS[..]), 1..40)) {
        check(&words.join(" "));
    }

    #[test]
    fn a_rule_with_something_changed(
        at in 0..60_usize,
        cut in 0..3_usize,
        put in prop::collection::vec(prop::sample::select(&WORDS[..]), 0..3),
    ) {
        let text = "for cameras and lenses where maker is \"third party\" \n after 20 lens changes in dust or sand ( in sand count 3 ) \
                    and 90 days or before every trip , wipe body ; notice 3 days \n needs blower , wall \n takes 10 minutes \n \
                    7 days after each release unless recall or a newer release , install \n when inspect strap finds fraying or tears , \
                    replace \n every month on the first Monday , check ; no later than age 3 years";
        let mut words: Vec<&str> = text.split(' ').collect();
        let at = at.min(words.len() - 1);
        let end = (at + cut).min(words.len());
        words.splice(at..end, put);
        check(&words.join(" "));
    }
}
