//! What is said in another order: the task first, a detail before the task.

use super::words::Put::{Kept, Text};
use super::words::{Step, Words};
use crate::codes::Code;
use crate::lexicon::unit_of;

/// The parts of a line in the order of the language.
pub(super) fn order(words: &Words<'_>, steps: &mut Vec<Step>) {
    task_first(words, steps);
    detail_first(words, steps);
    ahead(words, steps);
}

/// `inspect sensor every 90 days; notice 14 days`
fn task_first(words: &Words<'_>, steps: &mut Vec<Step>) {
    if !words.is_bit(0) || words.is_detail() {
        return;
    }
    let start = (1..words.len()).find(|i| {
        let begins = matches!(
            words.low(*i),
            "after" | "every" | "each" | "before" | "when" | "if" | "whenever" | "once" | "on" | "at"
        );
        // `rinse legs 1 day after each trip`, `check strap 3 days before every trip`
        let lasts = words.is_figure(*i)
            && unit_of(words.low(i + 1)).is_some()
            && matches!(words.low(i + 2), "after" | "before");
        begins || lasts
    });
    let Some(start) = start else { return };
    let task = 0..if words.before(start) == "," { start - 1 } else { start };
    if task.clone().any(|i| !words.is_bit(i)) || words.find(0, &["covers", "cover"]).is_some() {
        return;
    }
    let end = (start..words.len())
        .find(|i| words.low(*i) == ";" || words.opens(*i) && words.before(*i) == ",")
        .unwrap_or(words.len());
    let trigger = start..if end < words.len() && words.low(end) != ";" { end - 1 } else { end };
    let mut puts = vec![Kept(trigger), Text(","), Kept(task)];
    if end < words.len() {
        puts.push(Text(";"));
        puts.push(Kept(end + usize::from(words.low(end) == ";")..words.len()));
    }
    let message = "the trigger comes first, then the task".to_owned();
    steps.push(words.step(0..words.len(), &puts, 2, Code::UnknownStatement, message));
}

/// `after 200 frames, no later than 90 days, service shutter`
fn detail_first(words: &Words<'_>, steps: &mut Vec<Step>) {
    let at = (1..words.len()).find(|i| words.opens(*i));
    let Some(at) = at.filter(|at| *at > 1 && words.is_rule()) else { return };
    let before = at - usize::from(matches!(words.before(at), "," | "but" | "and"));
    if (0..before).any(|i| words.low(i) == ",") {
        return;
    }
    let Some(comma) = words.find(at, &[","]) else { return };
    let end = words.find(comma, &[";"]).unwrap_or(words.len());
    let puts = [Text(","), Kept(comma + 1..end), Text(";"), Kept(at..comma)];
    let message = "a detail comes after the task".to_owned();
    steps.push(words.step(before..end, &puts, 2, Code::UnknownTask, message));
}

/// `3 days before every trip, check strap`, `within 3 days before every trip, check strap`
fn ahead(words: &Words<'_>, steps: &mut Vec<Step>) {
    let length = usize::from(words.low(0) == "within");
    if !words.is_figure(length)
        || unit_of(words.low(length + 1)).is_none()
        || words.low(length + 2) != "before"
    {
        return;
    }
    let Some(comma) = words.find(0, &[","]) else { return };
    let end = words.find(comma, &[";"]).unwrap_or(words.len());
    let name = length
        + 3
        + usize::from(matches!(words.low(length + 3), "a" | "an" | "each" | "every" | "any" | "the"));
    if !words.is_bit(name) {
        return;
    }
    let name_end = (name..comma).find(|at| !words.is_bit(*at)).unwrap_or(comma);
    let one = super::missing::singular(words, name_end - 1);
    let puts = [
        Text("before every"),
        Kept(name..name_end - 1),
        Text(&one),
        Kept(name_end..end),
        Text("; within"),
        Kept(length..length + 2),
    ];
    let message = "how long before is a detail: `within`".to_owned();
    steps.push(words.step(0..end, &puts, 2, Code::UnknownStatement, message));
}
