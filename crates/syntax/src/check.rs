//! The fifth stage: what the statements say must fit together.

use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lower::{Places, opening};
use crate::misread::Missed;
use crate::name::Name;
use crate::parse::Part;
use crate::report::Report;
use crate::source::Span;
use crate::tree::{AtomKind, House, Notice, Rule, Trigger, Unless};
use std::collections::{HashMap, HashSet};

/// Event names that have a meaning of their own.
const RESERVED_EVENTS: [&str; 5] = ["received", "in service", "retired", "finding", "void"];

/// Checks a house; adds mistakes to the report.
pub(crate) fn check(house: &House, places: &Places, report: &mut Report) {
    kinds(house, report);
    let tasks = tasks(house);
    for task in tasks.values() {
        reserved(task, "a task", report);
    }
    if !places.names_missing {
        declared(house, &tasks, report);
    }
    for ((number, rule), seen) in house.rules.iter().enumerate().zip(&places.details) {
        let place = |part: Part| seen.iter().find(|(p, _)| *p == part).map_or(rule.span, |(_, span)| *span);
        atoms(rule, &tasks, report);
        limit(rule, report);
        details((number, rule), &place, report);
    }
}

/// Every name used as a task, as first spelled.
pub(crate) fn tasks(house: &House) -> HashMap<&str, &Name> {
    let mut tasks = HashMap::new();
    let ruled = house.rules.iter().map(|r| &r.task);
    let covering = house.covers.iter().flat_map(|c| std::iter::once(&c.task).chain(&c.covered));
    let asked = house.rules.iter().flat_map(every_atom).filter_map(|kind| match kind {
        AtomKind::Finding { task, .. } => Some(task),
        _ => None,
    });
    for name in ruled.chain(covering).chain(asked) {
        tasks.entry(name.key.as_str()).or_insert(name);
    }
    tasks
}

/// The atoms of a rule's trigger and of its limit.
fn every_atom(rule: &Rule) -> impl Iterator<Item = &AtomKind> {
    let limit = rule.details.no_later_than.iter().flat_map(Trigger::atoms);
    rule.trigger.atoms().into_iter().chain(limit).map(|atom| &atom.kind)
}

fn reserved(name: &Name, as_what: &str, report: &mut Report) {
    if RESERVED_EVENTS.contains(&name.key.as_str()) {
        let message = format!("`{}` has a meaning of its own in the log and cannot be {as_what}", name.text);
        let help = format!("choose another name, for example `{} check`", name.text);
        report.push(Diagnostic::error(Code::ReservedEvent, name.span, message).help(help));
    }
}

/// A kind must not be narrower than itself.
fn kinds(house: &House, report: &mut Report) {
    let mut broader: HashMap<&str, Vec<(&str, Span)>> = HashMap::new();
    for kind in &house.kinds {
        let span = kind.narrower.span.to(kind.broader.span);
        broader.entry(&kind.narrower.key).or_default().push((&kind.broader.key, span));
    }
    let mut reported: HashSet<&str> = HashSet::new();
    for kind in &house.kinds {
        let (from, to) = (kind.narrower.key.as_str(), kind.broader.key.as_str());
        if reported.contains(from) {
            continue;
        }
        let mut seen = HashSet::from([to]);
        let mut ahead = vec![to];
        while let Some(next) = ahead.pop() {
            for (above, _) in broader.get(next).into_iter().flatten() {
                if seen.insert(above) {
                    ahead.push(above);
                }
            }
        }
        if seen.contains(from) {
            // All kinds of this loop are reported at once.
            reported.extend(&seen);
            let message = if from == to {
                format!("a kind cannot be narrower than itself, and `{}` would be", kind.narrower.text)
            } else {
                format!(
                    "the kinds form a loop: `{}` is narrower than `{}`, which is narrower than `{}`",
                    kind.narrower.text, kind.broader.text, kind.narrower.text
                )
            };
            let span = kind.narrower.span.to(kind.broader.span);
            report.push(
                Diagnostic::error(Code::KindLoop, span, message).help("remove one of these statements"),
            );
        }
    }
}

/// Names must be among those the house declares.
fn declared(house: &House, tasks: &HashMap<&str, &Name>, report: &mut Report) {
    let keys = |list: &Option<Vec<Name>>| {
        list.as_ref().map(|l| l.iter().map(|n| n.key.clone()).collect::<HashSet<_>>())
    };
    let (events, conditions, findings) =
        (keys(&house.events), keys(&house.conditions), keys(&house.findings));
    let mut ask = |declared: &Option<HashSet<String>>, what: &'static str, name: &Name| {
        let known = declared.as_ref().is_none_or(|d| d.contains(&name.key));
        let task = what == "events" && tasks.contains_key(name.key.as_str());
        if !known && !task {
            report.misread(name.span.source, Missed::Undeclared { name: name.clone(), what });
        }
    };
    for atom in house.rules.iter().flat_map(every_atom) {
        match atom {
            AtomKind::Before { event, conditions: c } => {
                ask(&events, "events", event);
                c.names().iter().for_each(|n| ask(&conditions, "conditions", n));
            }
            AtomKind::Finding { findings: f, .. } | AtomKind::Spotted { findings: f } => {
                f.iter().for_each(|n| ask(&findings, "findings", n));
            }
            AtomKind::Reading { name, .. } => ask(&events, "events", name),
            AtomKind::Delay { event, unless, .. } => {
                ask(&events, "events", event);
                for unless in unless {
                    if let Unless::Event(name) = unless {
                        ask(&events, "events", name);
                    }
                }
            }
            AtomKind::Usage { name, conditions: c, weights, .. } => {
                ask(&events, "events", name);
                c.names().iter().for_each(|n| ask(&conditions, "conditions", n));
                weights.iter().for_each(|w| ask(&conditions, "conditions", &w.condition));
            }
            AtomKind::Unused(_) | AtomKind::Calendar(_) | AtomKind::Age(_) | AtomKind::Interval(_) => {}
        }
    }
}

/// Atoms that are not allowed as written.
fn atoms(rule: &Rule, tasks: &HashMap<&str, &Name>, report: &mut Report) {
    for atom in every_atom(rule) {
        match atom {
            AtomKind::Usage { name, .. } => reserved(name, "a use to count", report),
            AtomKind::Before { event, .. } if tasks.contains_key(event.key.as_str()) => {
                let message = format!(
                    "`before` waits for something planned, such as a trip; `{}` is a task",
                    event.text
                );
                let help = "name an event, or give both tasks the same trigger";
                report.push(Diagnostic::error(Code::BeforeTask, event.span, message).help(help));
            }
            _ => {}
        }
    }
}

/// What a limit may hold.
fn limit(rule: &Rule, report: &mut Report) {
    let Some(limit) = &rule.details.no_later_than else {
        return;
    };
    let age_alone = matches!(&rule.trigger, Trigger::Atom(atom) if matches!(atom.kind, AtomKind::Age(_)));
    for atom in limit.atoms() {
        let (what, help) = match &atom.kind {
            AtomKind::Calendar(_) => {
                ("a calendar date", "write a use, an interval or a reading: `no later than 14 months`")
            }
            AtomKind::Before { .. } => {
                ("`before`", "write `do not use until done` for what must be done before a trip")
            }
            AtomKind::Age(_) if !age_alone => (
                "an age, where the rule itself does not wait for an age alone,",
                "write two rules: the age and its limit in a rule of its own",
            ),
            _ => continue,
        };
        let message = format!("{what} cannot follow `no later than`");
        report.push(Diagnostic::error(Code::LimitForm, atom.span, message).help(help));
    }
}

/// Details that need something of the trigger, or contradict each other.
fn details((number, rule): (usize, &Rule), place: &dyn Fn(Part) -> Span, report: &mut Report) {
    let details = &rule.details;
    let atoms = rule.trigger.atoms();
    if details.within.is_some() && !atoms.iter().any(|a| matches!(a.kind, AtomKind::Before { .. })) {
        let message = "`within` says how long before a planned event, and this rule has no `before`";
        let help = "write `notice 3 days` for an early notice, or begin the rule with `before every trip`";
        report.push(Diagnostic::error(Code::WithinWithoutBefore, place(Part::within), message).help(help));
    }
    if details.allow.is_some() && details.do_not_use {
        let message = format!("`{}` contradicts `{}`", opening(Part::allow), opening(Part::do_not_use));
        let help = "keep one: `allow` gives more time, `do not use until done` gives none";
        let at = Diagnostic::error(Code::AllowAndDoNotUse, place(Part::allow), message).help(help);
        report.push(at.second(place(Part::do_not_use), "the other one"));
    }
    if let Some(Notice::Uses(count, name)) = &details.notice {
        let counted = atoms.iter().filter_map(|a| match &a.kind {
            AtomKind::Usage { threshold, name: used, .. } if used.key == name.key => {
                Some((*threshold, a.span))
            }
            _ => None,
        });
        let counted: Vec<_> = counted.collect();
        if counted.is_empty() {
            let (name, span) = (name.clone(), place(Part::notice));
            report.misread(span.source, Missed::NoticeOfNothing { rule: number, count: *count, name, span });
        }
        if let Some((threshold, span)) = counted.iter().filter(|(t, _)| count >= t).min_by_key(|(t, _)| *t) {
            let message = format!(
                "the notice of {count} is not below the threshold of {threshold}: it would always be on"
            );
            let help = format!("write fewer than {threshold}");
            let at = Diagnostic::error(Code::NoticeTooLarge, place(Part::notice), message).help(help);
            report.push(at.second(*span, "the threshold"));
        }
    }
}
