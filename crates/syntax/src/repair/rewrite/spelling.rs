//! Words of the language that are misspelt.

use super::words::Put::Text;
use super::words::{Step, Words};
use crate::codes::Code;
use crate::lexicon::{clock_unit_meant, meant_unit, month_named, unit_of, weekday_of};
use crate::name::key;
use crate::nearness::Candidates;

/// The words of the language of three letters or more, but units, days and months.
const KEYWORDS: [&str; 55] = [
    "above",
    "after",
    "age",
    "allow",
    "and",
    "because",
    "before",
    "below",
    "caution",
    "conditions",
    "count",
    "covers",
    "done",
    "each",
    "events",
    "every",
    "example",
    "findings",
    "finds",
    "for",
    "found",
    "from",
    "house",
    "include",
    "instead",
    "item",
    "known",
    "later",
    "least",
    "leaves",
    "missing",
    "most",
    "needs",
    "newer",
    "not",
    "notice",
    "received",
    "service",
    "since",
    "takes",
    "than",
    "time",
    "unless",
    "until",
    "unused",
    "use",
    "when",
    "where",
    "within",
    "zone",
    "first",
    "second",
    "third",
    "fourth",
    "last",
];

/// `evry`, `dayz`, `Mrch`
pub(super) fn spelling(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        let Some(token) = words.tokens.get(i).filter(|token| token.is_word() && token.from.is_some()) else {
            continue;
        };
        let low = &*token.low;
        let unit =
            || meant_unit(low).filter(|_| words.is_figure(i.wrapping_sub(1)) && unit_of(low).is_none());
        let works = || (0..i).any(|i| matches!(words.low(i), "takes" | "take" | "lasts"));
        let clock = || clock_unit_meant(low).filter(|_| words.is_figure(i.wrapping_sub(1)) && works());
        let mut put = |meant: &str, cost, code| {
            if meant != low && unit_of(low).is_none() {
                let message = match code {
                    Code::UnknownUnit => format!("`{}` is not a unit of time", token.text),
                    _ => format!("`{}` is not a word of the language", token.text),
                };
                steps.push(words.step(i..i + 1, &[Text(meant)], cost, code, message));
            }
        };
        if let Some(meant) = unit() {
            put(meant, 1, Code::UnknownUnit);
        }
        if let Some(meant) = clock() {
            put(meant, 1, Code::UnknownUnit);
        }
        if let Some(meant) = weekday_of(low).filter(|day| !day.eq_ignore_ascii_case(low)) {
            put(meant, 2, Code::BadDate);
        }
        let dated = words.is_figure(i.wrapping_sub(1)) || words.is_figure(i + 1);
        if let Some(meant) = month_named(low).filter(|month| dated && !month.eq_ignore_ascii_case(low)) {
            put(meant, 2, Code::BadDate);
        }
        let looked_up = words.spelled.borrow().get(&token.low).copied();
        let meant = looked_up.unwrap_or_else(|| {
            let meant = if KEYWORDS.contains(&low) { None } else { Candidates::new(KEYWORDS).closest(low) };
            words.spelled.borrow_mut().insert(token.low.clone(), meant);
            meant
        });
        // `times` is the plural of `time`, not a slip of it.
        if let Some(meant) = meant.filter(|meant| key(meant) != key(low)) {
            // At the beginning of a part it is most likely one of the words that stand there.
            let code = match meant {
                "below" | "above" | "least" | "most" => Code::UnknownComparison,
                _ if i == 0 => Code::UnknownStatement,
                _ if words.before(i) == ";" => Code::UnknownDetail,
                _ => Code::UnknownTrigger,
            };
            put(meant, 3, code);
        }
    }
}
