//! Short words that were left out, or stand for others.

use super::words::Put::{Kept, Text};
use super::words::{Step, Words};
use crate::amount::Amount;
use crate::codes::Code;
use crate::lexicon::unit_of;
use crate::name::key;

/// A word that is missing between two others.
pub(super) fn missing(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        each(words, i, steps);
        let after = i + 1;
        let (low, next) = (words.low(i), words.low(after));
        let put_in = |steps: &mut Vec<Step>, meant: &str, code: Code| {
            let message = format!("`{meant}` is missing after `{}`", words.text(i..after));
            steps.push(words.step(after..after, &[Text(meant)], 1, code, message));
        };
        match low {
            "unused" if words.is_figure(after) => put_in(steps, "for", Code::UnknownTrigger),
            "not" if words.is_bit(after) && words.is_rule() && words.before(i) != "do" => {
                put_in(steps, "in", Code::UnknownTrigger)
            }
            "most" if words.before(i) == "at" && words.is_figure(after) => {
                put_in(steps, "every", Code::UnknownDetail)
            }
            "later" if words.before(i) == "no" && next != "than" => {
                put_in(steps, "than", Code::UnknownDetail)
            }
            "by" if words.is_figure(after) => {
                let message = "`by` says who does it; the latest time is a limit".to_owned();
                steps.push(words.step(i..after, &[Text("no later than")], 1, Code::UnknownDetail, message));
            }
            "after" if words.is_figure(after) && words.is_unit(i + 2) && words.low(i + 3) == "after" => {
                let message = "the length of a delay begins it, without `after`".to_owned();
                steps.push(words.step(i..after, &[], 1, Code::UnknownTrigger, message));
            }
            "in" if (1..i)
                .rev()
                .take_while(|i| words.is_bit(*i))
                .last()
                .is_some_and(|first| words.before(first) == "in") =>
            {
                for meant in ["or", "and"] {
                    let message = "`in` is written once, before all the conditions".to_owned();
                    steps.push(words.step(i..after, &[Text(meant)], 2, Code::UnknownTrigger, message));
                }
            }
            "no" if next == "than" => put_in(steps, "later", Code::UnknownDetail),
            _ => {}
        }
        if matches!(next, "due" | "clear" | "overdue" | "soon" | "grounded" | "unknown")
            && low != "is"
            && words.low(0) == "on"
        {
            put_in(steps, "is", Code::BadExampleLine);
        }
    }
    when(words, steps);
    head(words, steps);
    kind(words, steps);
    weights(words, steps);
    column(words, steps);
}

/// `before trips`, `7 days after firmware release`, `before the trip`
fn each(words: &Words<'_>, i: usize, steps: &mut Vec<Step>) {
    let delay = words.low(i) == "after" && i > 1 && unit_of(words.before(i)).is_some();
    let word = match words.low(i) {
        "before" => "every",
        "after" if delay => "each",
        _ => return,
    };
    let message = format!("`{word}` is missing after `{}`", words.low(i));
    let article = matches!(words.low(i + 1), "the" | "all" | "my" | "our");
    let from = i + 1 + usize::from(article);
    if !words.is_bit(from) {
        return;
    }
    // The name is that of one.
    let end = (from..words.len()).find(|at| !words.is_bit(*at)).unwrap_or(words.len());
    let last = singular(words, end - 1);
    let puts = [Text(word), Kept(from..end - 1), Text(&last)];
    steps.push(words.step(i + 1..end, &puts, 1, Code::UnknownTrigger, message));
}

/// The last word of a name for one of it, where it is no text and no name of its own.
pub(super) fn singular(words: &Words<'_>, last: usize) -> String {
    let one = words.text(last..last + 1);
    if words.is_string(last) || one.contains(char::is_uppercase) { one } else { key(&one) }
}

/// `before every trip or shoot`, `when mould is found or pressure is above 2`: what a part begins with, again.
fn head(words: &Words<'_>, steps: &mut Vec<Step>) {
    let mut start = 0;
    for i in 0..words.len() {
        if !matches!(words.low(i), "or" | "and") {
            continue;
        }
        let message = format!("each part of a trigger begins anew, also after `{}`", words.low(i));
        let mut again = |end: usize, code| {
            let puts = [Kept(i..i + 1), Kept(start..end)];
            // Copies are words of their own.
            let mut step = words.step(i..i + 1, &puts, 2, code, message.clone());
            for token in step.tokens.iter_mut().skip(i + 1).take(end - start) {
                token.from = None;
            }
            steps.push(step);
        };
        if words.low(start) == "before" && words.is_bit(i + 1) {
            again(start + 2, Code::UnknownTrigger);
        }
        if words.low(start) == "when" && words.is_bit(i + 1) {
            again(start + 1, Code::UnknownTrigger);
        }
        if words.starts(i + 1) {
            start = i + 1;
        }
    }
}

/// `capacity is below 80 percent, retire battery`
fn when(words: &Words<'_>, steps: &mut Vec<Step>) {
    let end = words.find(0, &[","]).unwrap_or(0);
    let says = (1..end).any(|i| {
        words.low(i) == "is" && (words.low(i + 1) == "found" || (i..end).any(|i| words.is_figure(i)))
    });
    if words.is_bit(0) && says && words.low(0) != "when" {
        let message = "what was seen or read begins with `when`".to_owned();
        steps.push(words.step(0..0, &[Text("when")], 2, Code::UnknownStatement, message));
    }
}

/// `rangefinders are cameras`, `a rangefinder is camera`, `a view camera is the camera`
fn kind(words: &Words<'_>, steps: &mut Vec<Step>) {
    let Some(is) =
        words.find(1, &["is", "are"]).filter(|_| words.find(0, &[",", "when", "where", ";", "on"]).is_none())
    else {
        return;
    };
    let from = usize::from(matches!(words.low(0), "a" | "an" | "all" | "every" | "each" | "the"));
    let to = is + 1 + usize::from(matches!(words.low(is + 1), "a" | "an" | "the"));
    let names = (from..is).chain(to..words.len());
    if from == is || to >= words.len() || names.into_iter().any(|i| !words.is_bit(i)) || words.is_figure(0) {
        return;
    }
    let one = |range: std::ops::Range<usize>| {
        let text = words.text(range);
        let many = words.low(is) == "are" || words.low(0) == "all";
        if many { key(&text) } else { text }
    };
    let (narrow, broad) = (one(from..is), one(to..words.len()));
    let article = |name: &str| if name.starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" };
    let text = format!("{} {narrow} is {} {broad}", article(&narrow), article(&broad));
    let message = "a narrower kind is written with `a` before both names".to_owned();
    steps.push(words.step(0..words.len(), &[Text(&text)], 2, Code::UnknownStatement, message));
}

/// `(sand count 3)`, `(in dust counts 2, sand: 3)`, `(in dust or salt air count 2)`
fn weights(words: &Words<'_>, steps: &mut Vec<Step>) {
    let Some(open) = words.find(1, &["("]) else { return };
    let Some(close) = words.find(open, &[")"]) else { return };
    let message = "weights are written `(in sand count 3)`, several with commas between";
    if let Some(meant) = weights_meant(&words.text(open + 1..close)) {
        let text = format!("( {} )", meant.replace(',', " ,"));
        steps.push(words.step(open..close + 1, &[Text(&text)], 1, Code::BadWeight, message.to_owned()));
    }
}

/// The weights that brackets with other words were meant to hold.
fn weights_meant(inside: &str) -> Option<String> {
    const SAID: [&str; 10] = ["in", "count", "counts", "counted", "as", "times", "is", "are", "x", "double"];
    let mut weights = Vec::new();
    for weight in inside.split([',', ';']) {
        let words: Vec<&str> = weight.split([' ', ':', '=']).filter(|word| !word.is_empty()).collect();
        let bare = |word: &&str| word.trim_matches(['x', '×']).parse::<Amount>().is_ok();
        let mut numbers = words.iter().filter(|word| bare(word));
        let (Some(number), None) = (numbers.next(), numbers.next()) else { return None };
        let number = number.trim_matches(['x', '×']);
        let is_name = |word: &&str| !SAID.contains(&word.to_lowercase().as_str()) && !bare(word);
        let names: Vec<&str> = words.into_iter().filter(is_name).collect();
        for name in names.split(|word| matches!(*word, "or" | "and")) {
            (!name.is_empty()).then_some(())?;
            weights.push(format!("in {} count {number}", name.join(" ")));
        }
    }
    Some(weights.join(", "))
}

/// `where maker is Orla or Zeta`, `where not maker is Orla`: the column, again, and `not` in its place.
fn column(words: &Words<'_>, steps: &mut Vec<Step>) {
    let Some(place) = words.find(1, &["where"]).filter(|_| words.low(0) == "for") else { return };
    for i in place + 1..words.len() {
        let begins = matches!(words.before(i), "where" | "and" | "or" | "(");
        let ends = matches!(words.low(i + 2), "" | "and" | "or" | ")");
        if begins && ends && words.is_bit(i) && words.is_bit(i + 1) {
            let message = "`is` is missing after the column".to_owned();
            steps.push(words.step(i + 1..i + 1, &[Text("is")], 2, Code::BadFilter, message));
        }
    }
    let mut from = place + 1;
    for i in place + 1..words.len() {
        if words.low(i) == "not"
            && i == from
            && words.is_bit(i + 1)
            && let Some(is) = words.find(i, &["is"])
        {
            let puts = [Kept(i + 1..is + 1), Text("not")];
            let message = "`not` belongs after `is`".to_owned();
            steps.push(words.step(i..is + 1, &puts, 1, Code::BadFilter, message));
        }
        if !matches!(words.low(i), "or" | "and") {
            continue;
        }
        if let Some(is) = words.find(from, &["is"]).filter(|is| *is < i) {
            let next = words.find(i + 1, &["or", "and"]).unwrap_or(words.len());
            if words.find(i + 1, &["is"]).is_none_or(|is| is > next) && i + 1 < next && words.low(i) == "or" {
                let puts = [Kept(i..i + 1), Kept(from..is + 1)];
                let message = "each test names its column".to_owned();
                let mut step = words.step(i..i + 1, &puts, 2, Code::BadFilter, message);
                for token in step.tokens.iter_mut().skip(i + 1).take(is + 1 - from) {
                    token.from = None;
                }
                steps.push(step);
                continue;
            }
        }
        from = i + 1;
    }
}
