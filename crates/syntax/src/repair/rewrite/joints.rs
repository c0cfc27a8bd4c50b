//! What stands between the parts of a line: commas, semicolons, `or` and `and`, line ends.

use super::words::Put::{Kept, Text};
use super::words::{Step, Words};
use crate::codes::Code;
use crate::lexicon::{is_work, month_of, unit_of};
use crate::name::key;

/// A comma before the task, a semicolon before a detail, another joint in a list, a line end between two rules.
pub(super) fn joints(words: &Words<'_>, steps: &mut Vec<Step>) {
    comma(words, steps);
    semicolon(words, steps);
    lists(words, steps);
    stray(words, steps);
    second_rule(words, steps);
}

/// `after 90 days inspect sensor`, `after 20 trips: wipe body`
fn comma(words: &Words<'_>, steps: &mut Vec<Step>) {
    if !words.is_rule() {
        return;
    }
    let from = if words.low(0) == "instead" && words.low(1) == "," { 2 } else { 0 };
    let end = words.find(from, &[",", ";"]).unwrap_or(words.len());
    let missing = "a comma is missing between trigger and task";
    for i in 1..end {
        if matches!(words.low(i), ":" | "-" | "then") && i > 1 && words.is_bit(i + 1) {
            let message = format!("a comma, not `{}`, separates trigger and task", words.low(i));
            steps.push(words.step(i..i + 1, &[Text(",")], 1, Code::MissingComma, message));
        }
        if !words.is_bit(i) || i < 2 && unit_of(words.low(1)).is_none() {
            continue;
        }
        let task = key(&words.text(i..end));
        let before = words.before(i);
        let complete = unit_of(before).is_some()
            || month_of(before).is_some()
            || before.parse::<chrono::Weekday>().is_ok()
            || matches!(before, "found" | "percent")
            || before.ends_with(')')
            || words.is_figure(i - 1) && (before.contains('-') || words.low(i.wrapping_sub(2)) == "day");
        let cost = match () {
            () if words.tasks.contains(task.as_str()) => 1,
            () if complete => 2,
            () if is_work(words.low(i)) && words.is_bit(i - 1) && before != "then" && !is_work(before) => 2,
            () => continue,
        };
        steps.push(words.step(i..i, &[Text(",")], cost, Code::MissingComma, missing.to_owned()));
    }
    if words.low(0) == "instead" && words.low(1) != "," {
        let message = "a comma is missing after `instead`".to_owned();
        steps.push(words.step(1..1, &[Text(",")], 1, Code::MissingComma, message));
    }
}

/// `wipe body, notice 14 days`, `wipe body notice 14 days`
fn semicolon(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 1..words.len() {
        if !words.opens(i)
            || words.before(i) == ";"
            || words.low(i) == "needs" && words.before(i) != "," && words.is_detail()
        {
            continue;
        }
        let start = if words.before(i) == "," { i - 1 } else { i };
        let message = format!("details are separated by `;`, and `{}` is one", words.low(i));
        steps.push(words.step(start..i, &[Text(";")], 2, Code::MissingSemicolon, message));
    }
}

/// `dust, sand and rain`, `cameras or lenses`, `fraying and tears`
fn lists(words: &Words<'_>, steps: &mut Vec<Step>) {
    let declares =
        matches!(words.low(0), "events" | "conditions" | "findings") || words.find(0, &["covers"]).is_some();
    let is_section = words.low(0) == "for";
    for i in 1..words.len() {
        let joint = words.low(i);
        if !matches!(joint, "or" | "and" | ",") {
            continue;
        }
        let mut put = |range: std::ops::Range<usize>, meant: &str, cost, code, message: String| {
            let puts = if meant.is_empty() { vec![] } else { vec![Text(meant)] };
            steps.push(words.step(range, &puts, cost, code, message));
        };
        if joint == "," && matches!(words.low(i + 1), "or" | "and") {
            put(
                i..i + 1,
                "",
                1,
                Code::UnknownTask,
                format!("a comma does not belong before `{}`", words.low(i + 1)),
            );
            if declares || is_section {
                put(
                    i..i + 2,
                    ",",
                    if is_section { 2 } else { 1 },
                    Code::UnknownStatement,
                    "a comma joins two names here, without a word".to_owned(),
                );
            }
            continue;
        }
        if joint == "," && words.low(i + 1) == "on" && matches!(words.before(i), "year" | "month" | "week") {
            put(i..i + 1, "", 1, Code::UnknownTask, "a comma does not belong before `on`".to_owned());
        }
        if joint != "," && (joint == words.low(i + 1) || words.low(i + 1) == "," || words.before(i) == "in") {
            put(i..i + 1, "", 1, Code::UnknownTrigger, format!("`{joint}` does not join two parts here"));
        }
        if declares && joint != "," {
            let message = format!("the names are separated by commas, not by `{joint}`");
            put(i..i + 1, ",", 1, Code::UnknownStatement, message);
        } else if is_section && joint == "or" && words.find(0, &["where"]).is_none_or(|place| i < place) {
            put(i..i + 1, "and", 1, Code::BadSection, "kinds are joined by `and` or a comma".to_owned());
        } else if is_section && joint == "," && words.find(0, &["where"]).is_some_and(|place| i > place) {
            put(
                i..i + 1,
                "and",
                2,
                Code::BadFilter,
                "tests are joined by `and` or `or`, not by a comma".to_owned(),
            );
        } else if joint == "and"
            && !is_section
            && (!words.starts(i + 1) || matches!(words.low(i + 1), "every" | "each" | "on"))
        {
            put(i..i + 1, "or", 2, Code::MixedList, "this list is joined by `or`, not by `and`".to_owned());
        } else if joint == "or" && !is_section && words.find(i, &["and"]).is_some() {
            put(
                i..i + 1,
                "and",
                2,
                Code::MixedList,
                "a list is joined by `or` alone or by `and` alone".to_owned(),
            );
        }
        let task = words.text(i + 1..words.find(i + 1, &[",", ";"]).unwrap_or(words.len()));
        if joint == "," && words.is_rule() && words.find(i + 1, &[","]).is_some() && !task.is_empty() {
            let message =
                "parts of a trigger, and names of a list, are joined by `or` or `and`, not by a comma";
            for meant in ["or", "and"] {
                put(i..i + 1, meant, 3, Code::UnknownTask, message.to_owned());
            }
        }
    }
    later(words, steps);
}

/// `20 trips or 90 days, whichever is later`
fn later(words: &Words<'_>, steps: &mut Vec<Step>) {
    let Some(which) = words.find(1, &["whichever"]) else { return };
    let Some(last) = words.find(which, &["later", "latest", "last", "longer", "longest"]) else { return };
    let from = if words.before(which) == "," { which - 1 } else { which };
    let mut joints = (0..from).filter(|i| words.low(*i) == "or");
    let (Some(or), None) = (joints.next(), joints.next()) else { return };
    let puts = [Text("and"), Kept(or + 1..from)];
    let message = "`and` means whichever is later".to_owned();
    steps.push(words.step(or..last + 1, &puts, 1, Code::NeedlessWords, message));
}

/// A sign at the end or the beginning, or twice.
fn stray(words: &Words<'_>, steps: &mut Vec<Step>) {
    let Some(last) = words.len().checked_sub(1) else { return };
    let mut leave_out = |i: usize, message: String| {
        steps.push(words.step(i..i + 1, &[], 1, Code::UnknownStatement, message));
    };
    if matches!(words.low(last), "," | ";" | ":" | "or" | "and") && last > 0 {
        leave_out(last, format!("nothing follows `{}`", words.low(last)));
    }
    for i in 0..last {
        if matches!(words.low(i), "," | ";") && (words.low(i) == words.low(i + 1) || words.low(i + 1) == ";")
        {
            leave_out(i, format!("`{}` stands beside another sign", words.low(i)));
        }
    }
    if matches!(words.low(0), "-" | "*" | "+") {
        leave_out(0, "a rule begins with its first word, without a mark before it".to_owned());
    }
}

/// Two rules on a line, or a rule on the line of its section.
fn second_rule(words: &Words<'_>, steps: &mut Vec<Step>) {
    let Some(comma) = words.find(0, &[","]).filter(|_| words.is_rule() || words.low(0) == "for") else {
        return;
    };
    for i in comma + 1..words.len() {
        let begins = matches!(words.low(i), "after" | "every" | "each" | "before" | "when" | "on" | "at");
        let has_task = words.find(i, &[","]).is_some();
        if !begins || !has_task || words.opens(i) || matches!(words.before(i), "or" | "and" | "") {
            continue;
        }
        let start = if matches!(words.before(i), "," | ";") { i - 1 } else { i };
        let message = "a second rule begins here on the same line".to_owned();
        steps.push(words.step(start..i, &[Text("\n")], 4, Code::TwoRules, message));
    }
}
