//! Words in place of a unit of time, and lists that are not continued by a name.

use super::tokens::Tokens;
use super::words::TRIGGER_FORMS;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{meant_unit, weekday_of};

/// A number where a length of time should follow, and what follows is none.
pub(super) fn unknown_unit(p: &Tokens<'_>, figure: usize, lead: &str) -> Diagnostic {
    let Some(token) = p.get(figure + 1) else {
        let message = format!("`{}` of what? a unit of time is missing", p.raw(figure));
        return Diagnostic::error(Code::UnknownUnit, p.at(figure), message)
            .help(format!("write for example `{lead} days` or `{lead} months`"));
    };
    let meant = meant_unit(&token.low);
    let message = format!("`{}` is not a unit of time", token.text);
    let help = match meant {
        Some(unit) => format!("write `{lead} {unit}`"),
        None => "write `days`, `weeks`, `months` or `years`".to_owned(),
    };
    Diagnostic::error(Code::UnknownUnit, token.span, message).help(help)
}

/// `or dust` where no list of names is continued.
pub(super) fn listed(p: &Tokens<'_>, at: usize) -> Diagnostic {
    let word = p.low(at);
    if !p.is_bit(at + 1) {
        let message = format!("nothing that can follow `{word}` comes after it");
        return Diagnostic::error(Code::UnknownTrigger, p.at(at), message).help(TRIGGER_FORMS);
    }
    let vague = ["so", "more", "less", "fewer", "longer", "later", "sooner", "thereabouts"];
    if at + 2 == p.len() && vague.contains(&p.low(at + 1)) {
        let message = format!("`{}` is not needed: a rule is reached when the count is reached", p.rest(at));
        return Diagnostic::error(Code::NeedlessWords, p.span(at, p.len()).unwrap_or(p.whole()), message)
            .help(format!("leave it out: `{}`", p.text(0, at)));
    }
    if let (Some(first), Some(second)) = (weekday_of(p.low(at.saturating_sub(1))), weekday_of(p.low(at + 1)))
    {
        let message = format!("`{}` does not begin a new part of the trigger", p.rest(at + 1));
        let help = format!("write `every week on {first} or every week on {second}`");
        return Diagnostic::error(Code::PartWithoutNumber, p.at(at + 1), message).help(help);
    }
    let message = format!(
        "`{}` does not begin a new part of the trigger: a number or a word such as `after` is missing",
        p.rest(at + 1)
    );
    let help = format!("write for example `{} {word} after 5 {}`", p.text(0, at), p.rest(at + 1));
    let span = p.span(at, p.len()).unwrap_or(p.whole());
    Diagnostic::error(Code::PartWithoutNumber, span, message).help(help)
}

/// Whether `whichever` goes on with the later one.
pub(super) fn later(p: &Tokens<'_>, whichever: usize) -> bool {
    p.find_from(whichever, &["later", "latest", "last", "longer", "longest"]).is_some()
}
