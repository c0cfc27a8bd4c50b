//! Why a task is on a list of a trip, and what the lists rest on, in words.

use super::numbers::listed;
use super::part::PartFacts;
use super::suggestion::did_you_mean;
use kitlore_planning::{Cause, Note, RulePart, UnknownName};

/// Why a task is on a list; empty where nothing of its rules says.
pub fn cause(cause: &Cause) -> String {
    match cause {
        Cause::None => String::new(),
        Cause::Trigger(parts) => joined(parts),
        Cause::Limit(parts) => format!("no later than {}", joined(parts)),
        Cause::Counting(part) => PartFacts::of_cause(part).counting(),
        Cause::Called(part) => calls(part),
        Cause::OnLeaving(cause) => format!("{} on leaving", self::cause(cause)),
    }
}

/// What would call for a task: `inspect sensor finds dust`.
pub fn calls(part: &RulePart) -> String {
    PartFacts::of_cause(part).called()
}

fn joined(parts: &[RulePart]) -> String {
    parts.iter().map(|part| PartFacts::of_cause(part).phrase()).collect::<Vec<_>>().join(" and ")
}

/// What an answer rests on, or leaves out.
pub fn note(note: &Note) -> String {
    let quoted =
        |unknown: &UnknownName| format!("`{}`{}", unknown.name, did_you_mean(unknown.meant.as_deref()));
    match note {
        Note::NoUse => "no use is stated for this trip, so that its days are taken as ordinary ones; say what a day brings, such as `lens change 15; frames 800`".to_owned(),
        Note::Absent(item) => {
            format!("`{item}` is not in hand when the trip begins, so that nothing is said of it")
        }
        Note::UnknownEvent(event) => format!(
            "no rule knows {}, so that nothing is asked for before it or on return from it",
            quoted(event)
        ),
        Note::UnknownUse(event) => {
            format!("no rule knows {}, so that what is expected of it changes nothing", quoted(event))
        }
        Note::UnknownCondition(condition) => {
            format!("no rule asks about {}, so that it changes nothing", quoted(condition))
        }
        Note::TooLittleUse(tasks) => format!(
            "too little use is known to foresee all of {}; what is certain by date stands",
            listed(tasks.iter().map(String::as_str), "and")
        ),
    }
}
