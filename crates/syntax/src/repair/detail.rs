//! Details of a rule.

use super::counting::words_for_number;
use super::lengths::said;
use super::tokens::Tokens;
use super::units::unknown_unit;
use super::words::{FIRST, STARTS};
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::unit_of;
use crate::lower::File;
use crate::nearness::closest;
use crate::parse::{Node, Part};

const FORMS: &str = "details are `within`, `notice`, `allow`, `no later than`, `do not use until done`, `at most every`, \
                     `needs`, `takes`, `by`, `because` and `caution`";

/// Explains a detail that has none of the forms.
pub(super) fn detail(file: &File<'_>, node: &Node) -> Diagnostic {
    let p = Tokens::of(file, node);
    if p.len() == 0 {
        // The `;` before it is what can be seen.
        let before = file.code.get(..node.start).and_then(|t| t.rfind(';')).unwrap_or(node.start);
        let message = "nothing follows `;`";
        let help = "remove the `;`, or write a detail after it";
        return Diagnostic::error(Code::UnknownDetail, file.place(before, before + 1), message).help(help);
    }
    let last = p.len() - 1;
    if p.is_word(last) && p.raw(last).ends_with('.') {
        let message = "a detail does not end with a full stop";
        return Diagnostic::error(Code::UnknownDetail, p.at(last), message)
            .help(format!("write `{}`", p.rest(0).trim_end_matches('.')));
    }
    if p.raw(1) == ":" {
        let message = format!("a colon does not belong after `{}`", p.raw(0));
        return Diagnostic::error(Code::UnknownDetail, p.at(1), message).help(format!(
            "write `{} {}`",
            p.raw(0),
            p.rest(2)
        ));
    }
    match p.low(0) {
        "within" | "allow" => duration(&p, 1, p.raw(0)),
        "notice" => notice(&p),
        "at" if p.low(1) == "most" => at_most(&p),
        "no" => no_later(&p),
        "do" => do_not_use(&p),
        "takes" => takes(&p),
        "by" | "because" | "caution" => quoted(&p),
        "needs" => needs(&p),
        _ => unknown(&p),
    }
}

/// `allow 3 trips`, `within a week`, `allow 3`.
fn duration(p: &Tokens<'_>, at: usize, lead: &str) -> Diagnostic {
    if p.is_figure(at) {
        let lead = format!("{lead} {}", p.raw(at));
        if unit_of(p.low(at + 1)).is_none() {
            return unknown_unit(p, at, &lead);
        }
        return too_much(p, at + 2);
    }
    if let Some(diagnostic) = words_for_number(p, at) {
        return diagnostic;
    }
    let message = format!("a length of time is missing after `{lead}`");
    Diagnostic::error(Code::UnknownDetail, p.whole(), message)
        .help(format!("write for example `{lead} 3 days`"))
}

/// Words after a detail that is complete.
fn too_much(p: &Tokens<'_>, at: usize) -> Diagnostic {
    let span = p.span(at, p.len()).unwrap_or(p.whole());
    let message = format!("`{}` cannot follow here", p.rest(at));
    let from = if p.raw(at) == "," { at + 1 } else { at };
    let help = match FIRST.contains(&p.low(from)) {
        true => format!("write `{}; {}`", p.text(0, at), p.rest(from)),
        false => "a detail ends with its line, or with `;` before the next one".to_owned(),
    };
    let code = if FIRST.contains(&p.low(from)) { Code::MissingSemicolon } else { Code::UnknownDetail };
    Diagnostic::error(code, span, message).help(help)
}

fn notice(p: &Tokens<'_>) -> Diagnostic {
    if !p.is_figure(1) {
        return duration(p, 1, "notice");
    }
    if p.len() == 2 {
        let message = format!("`{}` of what?", p.raw(1));
        let help =
            format!("write `notice {0} days`, or `notice {0} trips` for so many uses before", p.raw(1));
        return Diagnostic::error(Code::UnknownUnit, p.at(1), message).help(help);
    }
    let odd = (2..p.len()).find(|i| !p.is_bit(*i)).unwrap_or(2);
    if matches!(p.low(odd), "before" | "ahead") {
        let message = format!("`{}` is not needed: a notice is always ahead", p.rest(odd));
        let span = p.span(odd, p.len()).unwrap_or(p.whole());
        return Diagnostic::error(Code::NeedlessWords, span, message)
            .help(format!("write `{}`", p.text(0, odd)));
    }
    if odd > 2 {
        return too_much(p, odd);
    }
    super::uses::reserved_in_name(p, 2, odd)
}

fn at_most(p: &Tokens<'_>) -> Diagnostic {
    let figure = (2..p.len()).find(|i| p.is_figure(*i));
    let message = "`at most` is followed by `every` and a length of time";
    let help = match figure {
        Some(figure) if unit_of(p.low(figure + 1)).is_some() => {
            format!("write `at most every {}`", p.text(figure, figure + 2))
        }
        Some(figure) if p.low(2) == "every" => {
            return unknown_unit(p, figure, &format!("at most every {}", p.raw(figure)));
        }
        _ => "write for example `at most every 30 days`".to_owned(),
    };
    Diagnostic::error(Code::UnknownDetail, p.whole(), message).help(help)
}

fn no_later(p: &Tokens<'_>) -> Diagnostic {
    let mut from = match p.low(1) {
        "later" | "latter" | "longer" | "more" | "than" => {
            2 + usize::from(matches!(p.low(2), "than" | "then"))
        }
        _ => 1,
    };
    from += usize::from(p.raw(from) == ",");
    let end = (from..p.len()).find(|i| p.raw(*i) == ",").unwrap_or(p.len());
    if end < p.len() && p.stand(1, &["later", "than"]) {
        return too_much(p, end);
    }
    let message = "a limit is written `no later than` with a trigger after it";
    let help = match end > from {
        true => match said(p, from).map(|(length, _)| length) {
            Some(length) => format!("write `no later than {length}`"),
            None if matches!(p.low(from), "a" | "an") => {
                format!("write `no later than 1 {}`", p.text(from + 1, end))
            }
            None => format!("write `no later than {}`", p.text(from, end)),
        },
        false => "write for example `no later than 24 months`".to_owned(),
    };
    Diagnostic::error(Code::UnknownDetail, p.whole(), message).help(help)
}

fn do_not_use(p: &Tokens<'_>) -> Diagnostic {
    if p.stand(0, &["do", "not", "use", "until", "done"]) {
        return too_much(p, 5);
    }
    let message = format!("`{}` is not one of the details", p.rest(0));
    Diagnostic::error(Code::UnknownDetail, p.whole(), message).help("write `do not use until done`")
}

fn takes(p: &Tokens<'_>) -> Diagnostic {
    if !p.is_figure(1) {
        let message = "`takes` is followed by a number and `minutes` or `hours`";
        if p.low(1) == "half" {
            return Diagnostic::error(Code::NumberInWords, p.whole(), message)
                .help("write `takes 30 minutes`");
        }
        if let Some(diagnostic) = words_for_number(p, 1) {
            return diagnostic;
        }
        return Diagnostic::error(Code::UnknownDetail, p.whole(), message)
            .help("write for example `takes 10 minutes`");
    }
    let lead = format!("takes {}", p.raw(1));
    if matches!(p.low(2), "minutes" | "minute" | "hours" | "hour") {
        if matches!(p.low(3), "and" | "") || p.is_figure(3) {
            let message = "a time has one number and one unit";
            let span = p.span(3, p.len()).unwrap_or(p.whole());
            return Diagnostic::error(Code::UnknownDetail, span, message)
                .help("write it in minutes: `takes 90 minutes`");
        }
        return too_much(p, 3);
    }
    let Some(unit) = p.get(2) else {
        let message = format!("`{}` of what? `minutes` or `hours` is missing", p.raw(1));
        return Diagnostic::error(Code::UnknownUnit, p.at(1), message)
            .help(format!("write `{lead} minutes`"));
    };
    let meant = match unit.low.as_str() {
        "min" | "mins" | "m" | "'" => Some("minutes"),
        "h" | "hr" | "hrs" | "std" => Some("hours"),
        low => closest(low, ["minutes", "hours", "minute", "hour"]),
    };
    let message = format!("`{}` is not a unit that `takes` knows", unit.text);
    let help = match meant {
        Some(meant) => format!("write `{lead} {meant}`"),
        None if unit_of(&unit.low).is_some() => {
            "write the time of work in hours: `takes 16 hours`".to_owned()
        }
        None => "write `minutes` or `hours`".to_owned(),
    };
    Diagnostic::error(Code::UnknownUnit, unit.span, message).help(help)
}

/// `by the workshop`
fn quoted(p: &Tokens<'_>) -> Diagnostic {
    let word = p.raw(0);
    if p.len() == 1 {
        let message = format!("a text is missing after `{word}`");
        return Diagnostic::error(Code::UnknownDetail, p.at(0), message)
            .help(format!("write `{word} \"…\"`"));
    }
    if p.is(1, Part::string) {
        return too_much(p, 2);
    }
    if word.eq_ignore_ascii_case("by") && p.is_figure(1) {
        let message = "`by` says who may do it; the latest time is a limit";
        return Diagnostic::error(Code::UnknownDetail, p.whole(), message)
            .help(format!("write `no later than {}`", p.rest(1)));
    }
    let message = format!("the text after `{word}` must be in quotes");
    let span = p.span(1, p.len()).unwrap_or(p.whole());
    let help = format!("write `{word} \"{}\"`", p.rest(1).replace('"', ""));
    Diagnostic::error(Code::QuotesMissing, span, message).help(help)
}

fn needs(p: &Tokens<'_>) -> Diagnostic {
    if p.len() == 1 {
        let message = "what is needed is missing after `needs`";
        return Diagnostic::error(Code::UnknownDetail, p.at(0), message)
            .help("write for example `needs blower, sensor swabs`");
    }
    let odd = p.list.iter().skip(1).find(|token| token.part == Part::string || token.part == Part::other);
    let span = odd.map_or(p.whole(), |token| token.span);
    let message =
        "things needed are separated by commas; one with other signs is written in quotes as a whole";
    Diagnostic::error(Code::UnknownDetail, span, message)
        .help("write for example `needs blower, \"swabs, 24 mm\"`")
}

fn unknown(p: &Tokens<'_>) -> Diagnostic {
    let first = p.raw(0);
    if STARTS.contains(&p.low(0)) || p.is_figure(0) {
        let message = format!("`{}` is not one of the details", p.rest(0));
        let help = "begin another rule on its own line; a limit is written `no later than 24 months`";
        return Diagnostic::error(Code::UnknownDetail, p.whole(), message).help(help);
    }
    let message = format!("`{first}` is not the beginning of a detail");
    let help = match meant_opening(p) {
        Some(meant) => format!("did you mean `{meant} {}`?", p.rest(1)),
        None => FORMS.to_owned(),
    };
    Diagnostic::error(Code::UnknownDetail, p.at(0), message).help(help)
}

/// The detail whose first word was probably meant.
pub(super) fn meant_opening(p: &Tokens<'_>) -> Option<&'static str> {
    let other = match p.low(0) {
        "need" | "require" | "requires" => Some("needs"),
        "take" | "lasts" | "time" => Some("takes"),
        "warn" | "remind" | "warning" if p.is_figure(1) => Some("notice"),
        "warning" | "careful" | "beware" => Some("caution"),
        "grace" | "tolerance" => Some("allow"),
        "reason" => Some("because"),
        _ => None,
    };
    let close = || closest(p.low(0), ["within", "notice", "allow", "needs", "takes", "because", "caution"]);
    other.or_else(close).filter(|_| p.len() > 1)
}

/// A detail where no rule is open.
pub(super) fn detail_without_rule(file: &File<'_>, node: &Node) -> Diagnostic {
    let p = Tokens::of(file, node);
    let message = format!("`{}` is a detail, and there is no rule before it", p.raw(0));
    if p.low(0) == "within"
        && let Some(before) = p.find("before")
    {
        let message = "`within` is a detail: the rule comes before it";
        let help = format!("write `{}; {}`", p.rest(before), p.text(0, before));
        return Diagnostic::error(Code::DetailWithoutRule, p.whole(), message).help(help);
    }
    if p.low(0) == "within"
        && p.is_figure(1)
        && unit_of(p.low(2)).is_some()
        && matches!(p.low(3), "of" | "after")
    {
        let message =
            "`within` is a detail of `before`; what is done once, at an age, is written with `at age`";
        let help = format!("write `at age {}`", p.text(1, 3));
        return Diagnostic::error(Code::DetailWithoutRule, p.whole(), message).help(help);
    }
    let help = "put it after its rule: `after 90 days, inspect sensor`, and the detail on the next line";
    Diagnostic::error(Code::DetailWithoutRule, p.whole(), message).help(help)
}
