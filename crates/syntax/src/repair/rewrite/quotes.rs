//! Texts, and names with a word of the language or a number in them, which are written in quotes.

use super::comparisons::is_comparison;
use super::words::Put::Text;
use super::words::{Step, Words};
use crate::codes::Code;
use crate::lexicon::{month_of, weekday_of};

/// `house Foxglove Light`, `by the workshop`, `after 2 walks on ice`
pub(super) fn quotes(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        let opens = match words.low(i) {
            "house" | "include" | "example" => i == 0,
            "by" | "because" | "caution" => i == 0 || words.before(i) == ";",
            _ => false,
        };
        if opens && i + 1 < words.len() && !words.text(i + 1..words.len()).contains(['"', '“', '”', '„'])
        {
            let end = words.find(i, &[";"]).unwrap_or(words.len());
            let text = words.text(i + 1..end);
            let text = text.trim_matches('\'').trim_start_matches(": ").replace('"', "");
            let message = format!("the text after `{}` must be in quotes", words.low(i));
            steps.push(words.step(
                i + 1..end,
                &[Text(&format!("\"{text}\""))],
                3,
                Code::QuotesMissing,
                message,
            ));
        }
    }
    names(words, steps);
}

/// A name with a word that no unquoted name holds.
fn names(words: &Words<'_>, steps: &mut Vec<Step>) {
    for odd in 1..words.len() {
        let low = words.low(odd);
        // The other words say how a line goes on: in quotes they would say nothing.
        let reserved = matches!(low, "on" | "at" | "if");
        let odd_word = reserved || words.is_figure(odd);
        if !odd_word {
            continue;
        }
        let stops = |i: usize| {
            matches!(
                words.low(i),
                "," | ";" | "(" | ")" | "covers" | "for" | "where" | "or" | "and" | "needs" | "\n"
            ) || matches!(
                words.low(i),
                "is" | "in"
                    | "finds"
                    | "leaves"
                    | "before"
                    | "after"
                    | "every"
                    | "each"
                    | "a"
                    | "any"
                    | "when"
            ) && i != odd
                || words.is_figure(i) && i < odd
        };
        let start = (0..odd).rev().find(|i| stops(*i)).map_or(0, |i| i + 1);
        let end = (odd + 1..words.len()).find(|i| stops(*i)).unwrap_or(words.len());
        // After `count 3` or `below 3` a number is a number.
        if (start == odd && words.is_figure(odd))
            || end == start + 1
            || (start..end).any(|i| words.is_string(i))
        {
            continue;
        }
        let says_more = |i: usize| {
            let low = words.low(i);
            words.is_unit(i)
                || weekday_of(low).is_some_and(|day| low.starts_with(&day.to_lowercase()))
                || month_of(low).is_some()
                || words.is_figure(i) && low.contains(['-', '/', ':'])
                || is_comparison(low)
                || matches!(
                    low,
                    "not" | "unless" | "until" | "than" | "the" | "age" | "last" | "count" | "from"
                )
        };
        let in_test = words.low(0) == "for" && words.before(start) == "is";
        let numbered = (start..end).any(|i| words.is_figure(i));
        // A condition with a place behind it may be two.
        let condition =
            words.low(0) != "for" && start < odd && matches!(words.before(start), "in" | "or" | "and");
        if condition
            || (start..end).any(says_more)
            || numbered && reserved && !in_test && words.before(start) != ","
        {
            continue;
        }
        let text = format!("\"{}\"", words.text(start..end));
        let message = match words.is_figure(odd) {
            true => format!("the number `{low}` cannot be part of a name without quotes"),
            false => format!("`{low}` is a word of the language and cannot be part of a name without quotes"),
        };
        steps.push(words.step(start..end, &[Text(&text)], 4, Code::ReservedWord, message));
    }
}
