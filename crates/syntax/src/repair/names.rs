//! Names that are none of those declared, and time zones.

use crate::amount::Amount;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{length, like_a_unit};
use crate::name::{Name, key};
use crate::nearness::closest;
use crate::source::Span;
use crate::tree::{AtomKind, House, Rule};

/// A name that the house's list of its sort does not have.
pub(super) fn undeclared(name: &Name, what: &'static str, house: &House) -> Diagnostic {
    let one = what.trim_end_matches('s');
    let article = |word: &str| if word == "event" { "an" } else { "a" };
    let message = format!("`{}` is not among the declared {what}", name.text);
    let own = match what {
        "events" => &house.events,
        "conditions" => &house.conditions,
        _ => &house.findings,
    };
    let close = |list: &Option<Vec<Name>>| {
        let names = list.iter().flatten().filter(|n| n.key != name.key);
        let key = closest(&name.key, names.map(|n| n.key.as_str()))?;
        list.iter().flatten().find(|n| n.key == key).map(|n| n.text.clone())
    };
    let add = format!("add it: `{what} {}`", name.text);
    let others = [("event", &house.events), ("condition", &house.conditions), ("finding", &house.findings)];
    let elsewhere = others.iter().find(|(_, list)| list.iter().flatten().any(|n| n.key == name.key));
    let help = match (close(own), elsewhere) {
        (Some(meant), _) => format!("did you mean `{meant}`? else {add}"),
        (None, Some((other, _))) => {
            let (as_other, as_one) = (article(other), article(one));
            format!("it is declared as {as_other} {other}; if it is {as_one} {one} too, {add}")
        }
        (None, None) => match others.iter().find_map(|(other, list)| close(list).map(|meant| (other, meant)))
        {
            Some((other, meant)) => {
                format!("`{meant}` is declared, as the name of {} {other}; else {add}", article(other))
            }
            None if length(1, &name.key).is_some() => {
                format!("a time is written in days, weeks, months or years; if it is a use, {add}")
            }
            None => add,
        },
    };
    let diagnostic = Diagnostic::error(Code::UndeclaredName, name.span, message).help(help);
    match close(own) {
        Some(meant) => diagnostic.meant(meant),
        None => diagnostic,
    }
}

/// `notice 5 shoots` where the trigger counts no shoots.
pub(super) fn notice_of_nothing(rule: Option<&Rule>, count: Amount, name: &Name, span: Span) -> Diagnostic {
    let atoms = rule.map(|rule| rule.trigger.atoms()).unwrap_or_default();
    let counted: Vec<&Name> = atoms
        .iter()
        .filter_map(|a| match &a.kind {
            AtomKind::Usage { name, .. } => Some(name),
            _ => None,
        })
        .collect();
    if let Some(unit) = like_a_unit(&name.text.to_lowercase()) {
        let message =
            format!("`{}` is not a unit of time, and the trigger counts no `{}`", name.text, name.text);
        return Diagnostic::error(Code::UnknownUnit, name.span, message)
            .help(format!("write `notice {count} {unit}`"))
            .meant(unit);
    }
    let message = format!("the trigger counts no `{}`, so there is nothing to announce", name.text);
    let near = closest(&name.key, counted.iter().map(|n| n.key.as_str()));
    let near = near.map(|near| counted.iter().find(|n| n.key == near).map_or(near, |n| &n.text));
    if let Some(meant) = near {
        let help = format!("did you mean `notice {count} {meant}`?");
        let fix = crate::diagnostic::Fix::replace(name.span, meant);
        return Diagnostic {
            fix: Some(fix),
            ..Diagnostic::error(Code::NoticeOfNothing, span, message).help(help)
        };
    }
    let help = match counted.first() {
        Some(first) => {
            format!("write for example `notice {count} {}`, or a time: `notice 14 days`", first.text)
        }
        None => "write a time: `notice 14 days`".to_owned(),
    };
    Diagnostic::error(Code::NoticeOfNothing, span, message).help(help)
}

/// A time zone that does not exist.
pub(super) fn zone(text: &str, span: Span) -> Diagnostic {
    let plain = text.trim_matches('"');
    if ["gmt", "utc"].iter().any(|w| {
        plain.to_lowercase().starts_with(&format!("{w}+"))
            || plain.to_lowercase().starts_with(&format!("{w}-"))
    }) {
        // `Etc/GMT+1` exists, and is an hour behind: not what was meant.
        let message = format!("`{plain}` is not a time zone");
        let help = "name a place, which also has its summer time: `time zone Europe/Lisbon`";
        return Diagnostic::error(Code::UnknownZone, span, message).help(help);
    }
    let names = || chrono_tz::TZ_VARIANTS.iter().map(|z| z.name());
    let whole = |name: &'static str| name;
    let city = |name: &'static str| name.rsplit('/').next().unwrap_or(name);
    let low = key(plain).replace(' ', "_");
    let asked_city = low.rsplit('/').next().unwrap_or(&low);
    let exact = names().find(|n| n.eq_ignore_ascii_case(plain) || city(n).eq_ignore_ascii_case(asked_city));
    let near = |asked: &str, part: fn(&'static str) -> &'static str| {
        let lows: Vec<(String, &str)> = names().map(|n| (part(n).to_lowercase(), n)).collect();
        let close = closest(asked, lows.iter().map(|(l, _)| l.as_str()))?;
        lows.iter().find(|(l, _)| l == close).map(|(_, n)| *n)
    };
    let near_whole = || near(&plain.to_lowercase(), whole);
    let shown: String = text.chars().take(60).collect();
    let diagnostic = Diagnostic::error(Code::UnknownZone, span, format!("`{shown}` is not a time zone"));
    match exact.or_else(near_whole).or_else(|| near(asked_city, city)) {
        Some(meant) => diagnostic.help(format!("write `time zone {meant}`")).meant(meant),
        None => diagnostic.help("write a name of the time zone database, such as `Europe/Lisbon` or `UTC`"),
    }
}
