//! Comparisons in other words than the language's.

use super::words::Put::{Kept, Text};
use super::words::{Step, Words};
use crate::codes::Code;

/// What a comparison turns into where it is denied, and where the bound itself is let in.
const COMPARISONS: [(&str, &str, &str); 4] = [
    ("below", "at least", "at most"),
    ("above", "at most", "at least"),
    ("at least", "below", "at least"),
    ("at most", "above", "at most"),
];

/// The comparison that a word alone says.
fn base(word: &str) -> Option<&'static str> {
    Some(match word {
        "below" | "under" | "less" | "lower" | "fewer" | "smaller" | "beneath" | "<" => "below",
        "above" | "over" | "more" | "greater" | "higher" | "larger" | "beyond" | "exceeding" | "exceeds"
        | ">" => "above",
        "least" | "minimum" | "min" | ">=" => "at least",
        "most" | "maximum" | "max" | "<=" => "at most",
        _ => return None,
    })
}

/// Verbs of a reading that changes.
const CHANGES: [&str; 10] =
    ["drops", "falls", "goes", "gets", "rises", "sinks", "reads", "was", "has", "climbs"];

/// Whether a word begins a comparison.
pub(super) fn is_comparison(word: &str) -> bool {
    base(word).is_some()
}

/// A comparison that begins at a place: what it means, and its end. Whether it is denied is known from before it.
fn comparison(words: &Words<'_>, from: usize, mut denied: bool) -> Option<(&'static str, usize)> {
    let mut at = from;
    if matches!(words.low(at), "not" | "no" | "never") {
        denied = true;
        at += 1 + usize::from(words.low(at) == "no" && words.low(at + 1) == "longer");
    }
    let mut equal = false;
    if words.low(at) == "at" && words.low(at + 1) == "or" {
        equal = true;
        at += 2;
    } else if matches!(words.low(at), "at" | "up") {
        at += 1;
    }
    let up_to = words.low(at) == "to" && words.before(at) == "up";
    let word = if up_to { "at most" } else { base(words.low(at))? };
    at += 1 + usize::from(words.low(at + 1) == "than");
    if words.low(at) == "or" && matches!(words.low(at + 1), "equal" | "equals" | "exactly") {
        equal = true;
        at += 2 + usize::from(words.low(at + 2) == "to");
    }
    let (_, opposite, with_bound) = COMPARISONS.iter().find(|(own, ..)| *own == word)?;
    // Not at or below is above.
    Some(match (denied, equal) {
        (false, false) => (word, at),
        (false, true) => (with_bound, at),
        (true, false) => (opposite, at),
        (true, true) => (COMPARISONS.iter().find(|(own, ..)| own == with_bound)?.1, at),
    })
}

/// `is no more than`, `drops below`, `isn't above`, `80 percent or less`, `between 30 and 60`
pub(super) fn comparisons(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 1..words.len() {
        let is = match words.low(i) {
            "is" => Some(false),
            "isn't" | "isnt" => Some(true),
            low if CHANGES.contains(&low) && i > 1 => Some(false),
            _ => None,
        };
        let from = i + usize::from(is.is_some());
        let number = |end: usize| {
            words.is_figure(end)
                || words.low(end) == "-"
                || crate::lexicon::number_of(words.low(end)).is_some()
        };
        if let Some((meant, end)) = comparison(words, from, is == Some(true)).filter(|(_, end)| number(*end))
        {
            let text = format!("is {meant}");
            let bare = is.is_none()
                && !CHANGES.contains(&words.before(i))
                && !matches!(
                    words.before(i),
                    "is" | "isn't" | "isnt" | "not" | "or" | "no" | "never" | "longer" | "at" | "after"
                );
            if words.text(i..end).to_lowercase() != text && (is.is_some() || bare) {
                let message = format!("`{}` is not one of the comparisons", words.text(i..end));
                steps.push(words.step(i..end, &[Text(&text)], 1, Code::UnknownComparison, message));
            }
        }
        age(words, i, steps);
        behind(words, i, steps);
        between(words, i, steps);
    }
}

/// `when age is above 12 months`
fn age(words: &Words<'_>, is: usize, steps: &mut Vec<Step>) {
    if words.low(is) != "is" || words.before(is) != "age" || words.low(is.wrapping_sub(2)) != "when" {
        return;
    }
    let figure = comparison(words, is + 1, false).map_or(is + 1, |(_, end)| end);
    let reached =
        figure == is + 1 || matches!(comparison(words, is + 1, false), Some(("above" | "at least", _)));
    if reached && words.is_figure(figure) && words.is_unit(figure + 1) {
        let message = "the age of an item is asked with `at age`".to_owned();
        steps.push(words.step(is - 2..figure, &[Text("at age")], 1, Code::UnknownComparison, message));
    }
}

/// `is 80 percent or less`
fn behind(words: &Words<'_>, is: usize, steps: &mut Vec<Step>) {
    if words.low(is) != "is" || !words.is_figure(is + 1) {
        return;
    }
    let Some(or) = words.find(is + 2, &["or", "and", ","]).filter(|or| words.low(*or) == "or") else {
        return;
    };
    let end = or + 2;
    let meant = match base(words.low(or + 1)) {
        Some("below") => "at most",
        Some("above") => "at least",
        _ => return,
    };
    let message = format!("`{}` is not how a comparison is written", words.text(is..end));
    let puts = [Text("is"), Text(meant), Kept(is + 1..or)];
    steps.push(words.step(is..end, &puts, 1, Code::UnknownComparison, message));
}

/// `when humidity is between 30 and 60 percent`, `is above 60 percent or below 30 percent`
fn between(words: &Words<'_>, is: usize, steps: &mut Vec<Step>) {
    if words.low(is) != "is" {
        return;
    }
    let Some(when) = (0..is).rev().find(|i| words.low(*i) == "when") else { return };
    let name = when + 1..is;
    let denied = words.low(is + 1) == "not";
    let first = is + 2 + usize::from(denied);
    if words.low(first - 1) == "between" && words.is_figure(first) {
        let Some(and) = words.find(first + 1, &["and"]).filter(|and| words.is_figure(and + 1)) else {
            return;
        };
        let end = words.find(and + 2, &[",", ";", "or", "and", ")"]).unwrap_or(words.len());
        let unit = if and == first + 1 { and + 2..end } else { first + 1..and };
        let (low, joint, high) = if denied {
            ("is below", "or when", "is above")
        } else {
            ("is at least", "and when", "is at most")
        };
        let puts = [
            Text(low),
            Kept(first..first + 1),
            Kept(unit),
            Text(joint),
            Kept(name),
            Text(high),
            Kept(and + 1..end),
        ];
        let message = "two bounds are two parts of a trigger".to_owned();
        steps.push(words.step(is..end, &puts, 1, Code::UnknownComparison, message));
        return;
    }
    let Some(joint) =
        words.find(is + 1, &["or", "and", ",", ";"]).filter(|at| matches!(words.low(*at), "or" | "and"))
    else {
        return;
    };
    if comparison(words, joint + 1, false).is_some_and(|(_, end)| words.is_figure(end)) {
        let puts = [Kept(joint..joint + 1), Text("when"), Kept(name), Text("is")];
        let message =
            format!("each part of a trigger says `when`, and the one after `{}` does not", words.low(joint));
        steps.push(words.step(joint..joint + 1, &puts, 1, Code::UnknownTrigger, message));
    }
}
