//! What is allowed but, by a likely slip, makes a rule never fall due or mean something else.

mod names;
mod parts;

use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{length, number_of};
use crate::name::Name;
use crate::nearness::Candidates;
use crate::source::Span;
use crate::tree::{AtomKind, Filter, House, Rule, Section, Test, Trigger};
use std::collections::{BTreeSet, HashMap, HashSet};
use std::sync::Arc;

/// Adds the doubts of a house without mistakes, in order of place.
pub(crate) fn doubts(house: &mut House) {
    let mut found = Vec::new();
    let covering = Covering::new(house);
    found.extend(house.kinds.iter().filter_map(|kind| names::broader(&kind.broader)));
    let mut last: Option<&Arc<Section>> = None;
    for rule in &house.rules {
        if !last.is_some_and(|l| Arc::ptr_eq(l, &rule.section)) {
            found.extend(
                rule.section
                    .kinds
                    .iter()
                    .flatten()
                    .filter_map(|name| kind(name).or_else(|| item(name, house))),
            );
            rule.section.filter.iter().for_each(|filter| comparisons(filter, &mut found));
        }
        last = Some(&rule.section);
        found.extend(full_stop(&rule.task));
        found.extend(names::task(&rule.task));
        parts::later_of_both(&rule.trigger, &mut found);
        found.extend(detail_in(&rule.task, house.sources.text(rule.task.span)));
        let limit = rule.details.no_later_than.iter().flat_map(Trigger::atoms);
        for atom in rule.trigger.atoms().into_iter().chain(limit) {
            found.extend(doubt_of(rule, &atom.kind, house, &covering).or_else(|| {
                let AtomKind::Usage { name, .. } = &atom.kind else { return None };
                names::clock_time(house.sources.text(atom.span), name).filter(|_| !is_in(&house.events, name))
            }));
            found.extend(thousands(house.sources.text(atom.span), atom.span));
        }
    }
    misspelt_tasks(house, &mut found);
    found.sort_by_key(|d: &Diagnostic| (d.span.source, d.span.start));
    house.doubts = found;
}

/// `when inspct strap finds fraying`, `deep clean covers inspct strap`: a task that no rule asks for, and nearly the
/// name of one that a rule asks for.
fn misspelt_tasks(house: &House, found: &mut Vec<Diagnostic>) {
    // So many names are looked into, and compared with so many tasks: enough for people, and no text takes long.
    const LOOKED_INTO: usize = 200;
    const COMPARED: usize = 2_000;
    let asked: BTreeSet<&str> = house.rules.iter().map(|rule| rule.task.key.as_str()).collect();
    let inspected = |rule: &'_ Rule| -> Vec<Name> {
        let atoms = rule.trigger.atoms().into_iter();
        let tasks = atoms.filter_map(|atom| match &atom.kind {
            AtomKind::Finding { task, .. } => Some(task.clone()),
            _ => None,
        });
        tasks.collect()
    };
    let named = house.rules.iter().flat_map(inspected);
    let covered = house.covers.iter().flat_map(|covers| &covers.covered).cloned();
    let unasked = named.chain(covered).filter(|name| !asked.contains(name.key.as_str()));
    let asked = Candidates::new(asked.iter().copied().take(COMPARED));
    for name in unasked.take(LOOKED_INTO) {
        if let Some(meant) = asked.closest(&name.key) {
            let message = format!("no rule asks for `{}`", name.text);
            let meant =
                house.rules.iter().find(|rule| rule.task.key == meant).map_or(meant, |rule| &rule.task.text);
            let help = format!("did you mean `{meant}`?");
            found.push(Diagnostic::doubt(Code::LikeATask, name.span, message).help(help).meant(meant));
        }
    }
}

/// `after 20 trips, wipe body.`
fn full_stop(task: &Name) -> Option<Diagnostic> {
    let plain = task.text.strip_suffix('.')?;
    let message = format!("the full stop is read as part of the name `{}`", task.text);
    Some(
        Diagnostic::doubt(Code::LikeASentence, task.span, message)
            .help(format!("write `{plain}`"))
            .meant(plain),
    )
}

/// `after 20 trips, wipe body because "salt eats brass"`
fn detail_in(task: &Name, written: &str) -> Option<Diagnostic> {
    let (head, word) = written
        .split_once('"')
        .and_then(|(head, _)| head.trim_end().rsplit_once(char::is_whitespace))
        .filter(|(_, word)| matches!(word.to_lowercase().as_str(), "because" | "by" | "caution"))?;
    let detail = written.get(head.len()..)?.trim_start();
    let message = format!("`{word}` and what follows are read as part of the name `{}`", task.text);
    let help = format!("write `{}; {detail}`", head.trim_end());
    let meant = format!("{}; {detail}", head.trim_end());
    Some(Diagnostic::doubt(Code::LikeADetail, task.span, message).help(help).meant(meant))
}

/// `where slots is more than five`, `where slots is not above 3`: texts that no cell is likely to hold.
fn comparisons(filter: &Filter, found: &mut Vec<Diagnostic>) {
    let (attribute, test) = match filter {
        Filter::All(parts) | Filter::Any(parts) => {
            return parts.iter().for_each(|part| comparisons(part, found));
        }
        Filter::Test { attribute, test } => (attribute, test),
    };
    let (Test::Is(value) | Test::IsNot(value)) = test else { return };
    let low = value.to_lowercase();
    let Some((first, rest)) = low.split_once(' ') else { return };
    let amount = rest.strip_prefix("than ").unwrap_or(rest);
    let counts = amount.starts_with(|c: char| c.is_ascii_digit()) || number_of(amount).is_some();
    let meant = match (first, test) {
        ("above" | "over" | "more" | "greater", Test::Is(_)) => "above",
        ("below" | "under" | "less" | "fewer", Test::Is(_)) => "below",
        ("above" | "over" | "more" | "greater", _) => "at most",
        ("below" | "under" | "less" | "fewer", _) => "at least",
        _ => return,
    };
    if counts {
        let number = number_of(amount).map_or_else(|| amount.to_owned(), |number| number.to_string());
        let message = format!("`{value}` is compared with `{}` as a text", attribute.text);
        let help = format!("write `{} is {meant} {number}`", attribute.text);
        found.push(Diagnostic::doubt(Code::LikeAComparison, attribute.span, message).help(help));
    }
}

/// `200.000 frames`, where a point may have been meant to group digits.
fn thousands(text: &str, span: Span) -> Option<Diagnostic> {
    let figure = text.split_whitespace().find(|w| w.starts_with(|c: char| c.is_ascii_digit()))?;
    let whole = figure.strip_suffix(".000")?;
    let message = format!("`{figure}` is read as {whole}");
    Some(
        Diagnostic::doubt(Code::LikeThousands, span, message)
            .help(format!("did you mean `{whole},000`? else write `{whole}`")),
    )
}

/// `for C1`, where an example has an item of this id.
fn item(name: &Name, house: &House) -> Option<Diagnostic> {
    let mut items = house.examples.iter().flat_map(|example| &example.items);
    let item = items.find(|item| item.id == name.text)?;
    let message =
        format!("`{}` is read as the name of a kind, and an item of an example has this id", name.text);
    let help = format!("write the kind of the item: `for {}`", item.kind.text);
    Some(Diagnostic::doubt(Code::LikeManyKinds, name.span, message).help(help))
}

/// `for all cameras`, `for two weeks`, `for camera's`
fn kind(name: &Name) -> Option<Diagnostic> {
    let message = format!("`{}` is read as the name of a kind", name.text);
    if name.key.starts_with("all ")
        && let Some((_, rest)) = name.text.split_once(char::is_whitespace)
    {
        let help = format!("did you mean `for {rest}`? write `for every item` for all of them");
        return Some(Diagnostic::doubt(Code::LikeManyKinds, name.span, message).help(help).meant(rest));
    }
    if ["all", "everything", "anything", "any", "everyone", "equipment", "all equipment"]
        .contains(&name.key.as_str())
    {
        let help = "write `for every item` for all of them";
        return Some(
            Diagnostic::doubt(Code::LikeManyKinds, name.span, message).help(help).meant("every item"),
        );
    }
    let last = name.key.rsplit(' ').next().unwrap_or("");
    if length(1, last).is_some() {
        let help = "`for` names kinds of items; a time is written `after 2 weeks, …`";
        return Some(Diagnostic::doubt(Code::LikeAUnit, name.span, message).help(help));
    }
    let singular = name.text.strip_suffix("'s")?;
    Some(
        Diagnostic::doubt(Code::LikeManyKinds, name.span, message)
            .help(format!("did you mean `{singular}s`?"))
            .meant(format!("{singular}s")),
    )
}

fn doubt_of(rule: &Rule, atom: &AtomKind, house: &House, covering: &Covering<'_>) -> Option<Diagnostic> {
    match atom {
        AtomKind::Finding { task, .. } if covering.counts_as(task, &rule.task) => {
            let message = format!(
                "the entry with the finding counts as doing `{}`, which therefore never falls due",
                rule.task.text
            );
            let help = "name the inspection that finds it, or another task to be done then";
            Some(Diagnostic::doubt(Code::NeverReached, task.span, message).help(help))
        }
        AtomKind::Usage { name, .. } | AtomKind::Delay { event: name, .. }
            if covering.counts_as(name, &rule.task) =>
        {
            let message = format!("each `{}` restarts the count of `{}`", name.text, rule.task.text);
            let help = "name what wears the item, or another task";
            Some(Diagnostic::doubt(Code::NeverReached, name.span, message).help(help))
        }
        AtomKind::Reading { name, .. } if name.key == "age" => {
            let message = "`age` is read as the name of a reading in the log";
            Some(
                Diagnostic::doubt(Code::LikeAnAge, name.span, message)
                    .help("write `at age 12 months` for the age of the item"),
            )
        }
        AtomKind::Usage { threshold, name, .. } => {
            names::usage(*threshold, name).filter(|_| !is_in(&house.events, name))
        }
        AtomKind::Before { event, .. } | AtomKind::Delay { event, .. } => {
            names::around_event(event).filter(|_| !is_in(&house.events, event))
        }
        AtomKind::Finding { task, findings } => names::inspection(task).or_else(|| {
            findings.iter().filter(|name| !is_in(&house.findings, name)).find_map(names::finding)
        }),
        AtomKind::Spotted { findings } => {
            findings.iter().filter(|name| !is_in(&house.findings, name)).find_map(names::finding)
        }
        _ => None,
    }
}

/// What doing a task also does: itself and what it covers, through any number of steps.
struct Covering<'a>(HashMap<&'a str, HashSet<&'a str>>);

impl<'a> Covering<'a> {
    fn new(house: &'a House) -> Self {
        let mut direct: HashMap<&str, Vec<&str>> = HashMap::new();
        for covers in &house.covers {
            let covered = covers.covered.iter().map(|task| task.key.as_str());
            direct.entry(&covers.task.key).or_default().extend(covered);
        }
        let all = |task: &'a str| {
            let mut reached = HashSet::from([task]);
            let mut ahead = vec![task];
            while let Some(at) = ahead.pop() {
                let next = direct.get(at).into_iter().flatten();
                ahead.extend(next.filter(|covered| reached.insert(covered)));
            }
            reached
        };
        Self(direct.keys().map(|task| (*task, all(task))).collect())
    }

    fn counts_as(&self, done: &Name, task: &Name) -> bool {
        done.key == task.key
            || self.0.get(done.key.as_str()).is_some_and(|also| also.contains(task.key.as_str()))
    }
}

/// Whether a house lists a name itself: then it is meant.
fn is_in(declared: &Option<Vec<Name>>, name: &Name) -> bool {
    declared.iter().flatten().any(|listed| listed.key == name.key)
}
