//! Tasks, and rules that have none.

use super::tokens::{Tokens, short};
use super::units::later;
use super::uses::reserved_in_name;
use super::words::{OPENINGS, STARTS};
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::unit_of;
use crate::lower::File;
use crate::name::key;
use crate::parse::{Node, Part};
use crate::tree::House;

/// Explains a task that is not a name.
pub(super) fn task(file: &File<'_>, node: &Node) -> Diagnostic {
    let p = Tokens::of(file, node);
    let comma = p.list.iter().position(|token| token.text == ",");
    let before = file.code.get(..node.start).unwrap_or("");
    let ended = before.get(before.trim_end().len()..).is_some_and(|blank| blank.contains('\n'));
    if ended && (STARTS.contains(&p.low(0)) || p.is_figure(0) || p.low(0) == "for") {
        let comma = before.trim_end().len().saturating_sub(1);
        let message = "the task is missing after the comma";
        let help = format!(
            "write what is to be done, or leave the comma out: the line continues with `{}`",
            p.rest(0)
        );
        return Diagnostic::error(Code::MissingTask, file.place(comma, comma + 1), message).help(help);
    }
    if p.low(0) == "whichever" {
        let end = comma.unwrap_or(p.len());
        if later(&p, 0) {
            let message = "`and` means whichever is later";
            let help = format!("join the parts by `and` in place of `or`: `… and …, {}`", p.rest(end + 1));
            return Diagnostic::error(Code::NeedlessWords, p.span(0, end).unwrap_or(p.whole()), message)
                .help(help);
        }
        let message = "`or` already means whichever comes first";
        let help = format!("leave it out: `…, {}`", p.rest(end + 1));
        return Diagnostic::error(Code::NeedlessWords, p.span(0, end).unwrap_or(p.whole()), message)
            .help(help);
    }
    if matches!(p.low(0), "or" | "and") {
        let message = format!("a comma does not belong before `{}`", p.raw(0));
        let help = format!("leave the comma out: `… {}`", p.rest(0));
        return Diagnostic::error(Code::UnknownTask, p.at(0), message).help(help);
    }
    // `every year, on 1 March`
    let open = before.trim_end().trim_end_matches(',').trim_end().to_lowercase();
    let recurs = ["every year", "every month", "every week", "each year", "each month", "each week"];
    if p.low(0) == "on" && recurs.iter().any(|words| open.ends_with(words)) {
        let message = "a comma does not belong before `on`";
        let help = format!("leave the comma out: `… {}`", p.rest(0));
        return Diagnostic::error(Code::UnknownTask, p.at(0), message).help(help);
    }
    // `after 200 frames, no later than 90 days, service shutter`
    if let Some(comma) = comma.filter(|comma| *comma + 1 < p.len())
        && OPENINGS.iter().any(|words| stands(&p, 0, words))
    {
        let message = "a detail comes after the task";
        let help = format!("write `…, {}; {}`", p.rest(comma + 1), p.text(0, comma));
        return Diagnostic::error(Code::UnknownTask, p.span(0, comma).unwrap_or(p.whole()), message)
            .help(help);
    }
    if STARTS.contains(&p.low(0)) || p.is_figure(0) {
        let message = format!(
            "`{}` is not a task: parts of a trigger are joined by `or` or `and`, not by a comma",
            p.text(0, comma.unwrap_or(p.len()))
        );
        let help = match comma {
            Some(comma) => format!("write `… or {}, {}`", p.text(0, comma), p.rest(comma + 1)),
            None => format!("write `… or {}, TASK`, or begin a new rule on the next line", p.rest(0)),
        };
        return Diagnostic::error(Code::UnknownTask, p.whole(), message).help(help);
    }
    if matches!(p.low(0), "then" | "please") {
        let message = format!("`{}` is not needed: the comma says it", p.raw(0));
        return Diagnostic::error(Code::NeedlessWords, p.at(0), message)
            .help(format!("write `…, {}`", p.rest(1)));
    }
    let second = (1..p.len()).find(|i| match p.low(*i) {
        "at" | "on" | "age" => p.is_figure(i + 1),
        low => STARTS.contains(&low),
    });
    if let Some(at) = second.filter(|at| p.list.iter().skip(*at).any(|token| token.text == ",")) {
        let message = "a second rule begins here on the same line";
        let help = format!("begin a new line with `{}`", p.rest(at));
        return Diagnostic::error(Code::TwoRules, p.span(at, p.len()).unwrap_or(p.whole()), message)
            .help(help);
    }
    let opening = (1..p.len()).find(|i| OPENINGS.iter().any(|words| stands(&p, *i, words)));
    if let Some(at) = opening {
        let comma_before = p.raw(at - 1) == ",";
        let end = if comma_before { at - 1 } else { at };
        let message = format!("details are separated by `;`, and `{}` is one", p.raw(at));
        let help = format!("write `{}; {}`, or put it on a line of its own", p.text(0, end), p.rest(at));
        return Diagnostic::error(Code::MissingSemicolon, p.at(at), message).help(help);
    }
    if let Some(comma) = comma.filter(|comma| (1..*comma).any(|i| matches!(p.low(i), "or" | "and"))) {
        let list = p.text(0, comma);
        let message =
            format!("`{list}` is not a task; the names of a list are joined by `or`, not by commas");
        let help = format!("write `… or {list}, {}` if it continues a list", p.rest(comma + 1));
        return Diagnostic::error(Code::UnknownTask, p.span(0, comma).unwrap_or(p.whole()), message)
            .help(help);
    }
    if let Some(comma) = comma {
        let message = "a rule has one task";
        let help = match tasks(&p).as_slice() {
            [] => "write what is to be done".to_owned(),
            [one] => format!("leave the comma out: `{one}`"),
            several => format!("write a rule for `{}`", several.join("` and one for `")),
        };
        return Diagnostic::error(Code::SeveralTasks, p.at(comma), message).help(help);
    }
    if let Some(at) = (1..p.len()).find(|i| matches!(p.low(*i), "and" | "or")) {
        let message = format!("`{}` cannot join two tasks", p.raw(at));
        let help = format!(
            "write a rule for `{}`; or, if it is one task, put its name in quotes",
            tasks(&p).join("` and one for `")
        );
        return Diagnostic::error(Code::SeveralTasks, p.at(at), message).help(help);
    }
    reserved_in_name(&p, 0, (0..p.len()).find(|i| !p.is_bit(*i)).unwrap_or(0))
}

/// The tasks of a list, in quotes where a name needs them.
fn tasks(p: &Tokens<'_>) -> Vec<String> {
    let joins = |i: &usize| matches!(p.low(*i), "," | "and" | "or");
    let firsts = (0..p.len()).filter(|i| !joins(i) && (*i == 0 || joins(&(i - 1))));
    let name = |first: usize| {
        let range = p.around(first, first..p.len(), &[",", "and", "or"]);
        let text = p.text(range.start, range.end);
        match range.into_iter().all(|i| p.is_bit(i)) {
            true => text,
            false => format!("\"{}\"", text.replace('"', "")),
        }
    };
    firsts.map(name).collect()
}

fn stands(p: &Tokens<'_>, at: usize, words: &str) -> bool {
    let words: Vec<&str> = words.split(' ').collect();
    let distinct = words.len() > 1
        || p.is_figure(at + 1)
        || p.is(at + 1, Part::string)
        || at > 0 && p.raw(at - 1) == ",";
    distinct && p.stand(at, &words)
}

/// Explains a rule that ends without a task.
pub(super) fn no_task(file: &File<'_>, node: &Node, house: &House) -> Diagnostic {
    if let Some(comma) = node.part(Part::comma) {
        let message = "the task is missing after the comma";
        return Diagnostic::error(Code::MissingTask, file.span(comma), message)
            .help("write what is to be done");
    }
    let trigger = node.part(Part::trigger).unwrap_or(node);
    let p = Tokens::of(file, trigger);
    let text = |from: usize, to: usize| short(file.code.get(from..to).unwrap_or(""));
    let start = |at: usize| p.at(at).start as usize;
    if let Some(then) = p.find("then") {
        let message = "a comma, not `then`, separates trigger and task";
        let rest = text(p.at(then).end as usize, node.end);
        let task = if rest.is_empty() { "inspect strap" } else { &rest };
        let what = if p.is_figure(then - 1) { " trips" } else { "" };
        let help = format!("write `{}{what}, {task}`", text(node.start, start(then)));
        return Diagnostic::error(Code::MissingComma, p.at(then), message).help(help);
    }
    let known = house.rules.iter().map(|r| r.task.key.as_str());
    let known: std::collections::HashSet<&str> = known.collect();
    // The longest known task at the end of the trigger, else what follows a unit of time.
    let tail = (1..p.len()).find(|i| p.is_bit(*i) && known.contains(key(&p.rest(*i)).as_str()));
    let after_unit = (2..p.len()).find(|i| {
        let counted = p.is_figure(i - 2) || matches!(p.low(i - 2), "every" | "each");
        counted && unit_of(p.low(i - 1)).is_some() && p.is_bit(*i)
    });
    // A name of several words at the end may hold both: the split is a guess.
    let words = (0..p.len()).rev().take_while(|i| p.is_bit(*i)).count();
    let guess = (words >= 3).then(|| p.len() - 2);
    match tail.or(after_unit).or(guess) {
        Some(at) => {
            let message = "a comma is missing between trigger and task";
            let help = format!("write `{}, {}`", text(node.start, start(at)), text(start(at), node.end));
            Diagnostic::error(Code::MissingComma, p.at(at), message).help(help)
        }
        None => {
            let message = "this rule says when, but not what is to be done";
            let help =
                format!("write a comma and the task: `{}, inspect strap`", text(node.start, trigger.end));
            Diagnostic::error(Code::MissingTask, p.whole(), message).help(help)
        }
    }
}
