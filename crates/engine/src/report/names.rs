//! Names of the rules and of the data that look like slips of one another.

use super::filters::unused_columns;
use super::limits::{NAMES, SUGGESTIONS};
use crate::codes::Code;
use crate::log::Ledger;
use crate::names::Candidates;
use crate::problem::{Argument, Problem};
use crate::rules::EventInfo;
use kitlore_syntax::key;
use std::borrow::Cow;
use std::collections::{BTreeMap, BTreeSet};

/// Names of the rules that nothing in the ledger has, see [`crate::Book::unused_names`].
pub(crate) fn unused_names(ledger: &Ledger) -> Vec<(&'static str, &str)> {
    let rules = ledger.program.inner();
    let is_task =
        |name: &str| rules.events.find(&key(name)).is_some_and(|event| rules.info(event).task.is_some());
    let mut unused = Vec::new();
    for sort in sorts(ledger) {
        let occurs =
            |name: &str| sort.in_data.contains_key(&key(name)) || sort.word == "event" && is_task(name);
        let never = sort.in_rules.iter().copied().filter(|name| !occurs(name));
        unused.extend(never.map(|name| (sort.word, name)));
    }
    unused.extend(unused_columns(ledger).into_iter().map(|name| ("column", name)));
    unused
}

/// Names of one sort, in the rules and in the data.
struct Sort<'a> {
    /// What people call the sort.
    word: &'static str,
    in_rules: Vec<&'a str>,
    /// The keys of those.
    known: BTreeSet<String>,
    /// By key, with the spelling first met.
    in_data: BTreeMap<String, &'a str>,
}

impl Sort<'_> {
    /// The names of the data that the rules do not know as of this sort, and that are close to none they know.
    fn strangers(&self) -> Vec<&str> {
        let known = Candidates::new(self.in_rules.iter().copied());
        let unknown = self.in_data.iter().filter(|(used, _)| !self.known.contains(*used));
        let strange = unknown.take(SUGGESTIONS).filter(|(_, name)| known.closest(name).is_none());
        strange.map(|(_, name)| *name).collect()
    }
}

/// Names that look like slips of one another: in the rules and never in the data, or in the data and unknown
/// to the rules.
pub(super) fn slips(ledger: &Ledger, problems: &mut Vec<Problem>) {
    let sorts = sorts(ledger);
    // What one sort knows, or is a slip of, is no slip of another.
    let strangers: Vec<Vec<&str>> = sorts.iter().map(Sort::strangers).collect();
    for (number, sort) in sorts.iter().enumerate() {
        let others = strangers.iter().enumerate().filter(|(other, _)| *other != number);
        let others = others.flat_map(|(_, names)| names.iter().copied());
        let data = Candidates::new(sort.in_data.values().copied().take(SUGGESTIONS).chain(others.clone()));
        // Of one key, the first.
        let elsewhere: BTreeMap<String, &str> = others.rev().map(|other| (key(other), other)).collect();
        let unseen = sort.in_rules.iter().filter(|name| !sort.in_data.contains_key(&key(name)));
        for name in unseen.take(NAMES) {
            let same = elsewhere.get(&key(name)).copied().map(Cow::Borrowed);
            let Some(meant) = same.or_else(|| data.closest(name)) else { continue };
            let word = sort.word;
            let is_of =
                |(other, names): &(&Sort<'_>, &Vec<&str>)| other.word != word && names.contains(&&*meant);
            let other = sorts.iter().zip(&strangers).find(is_of).map(|(other, _)| other.word);
            let other = other.filter(|_| !sort.in_data.values().any(|known| **known == *meant));
            let never = "the {sort} `{name}` of the rules never occurs in the data";
            let sentence: Cow<'static, str> = match other {
                Some("event") => format!("{never}, and `{{other}}` does as an event").into(),
                Some(_) => format!("{never}, and `{{other}}` does as a {{role}}").into(),
                // What was probably meant stands behind it.
                None if *meant != **name => never.into(),
                None => format!("{never}, and `{{other}}` does").into(),
            };
            let words = |word: &'static str| Argument::Words(word.into());
            let problem =
                Problem::new(Code::NeverSeen, sentence).with("sort", words(word)).with("name", *name);
            let problem = problem.with("other", &*meant).with("role", words(other.unwrap_or_default()));
            problems.push(problem.meant(Some(meant).filter(|meant| **meant != **name)));
        }
    }
}

/// Kinds of the inventory that no rule knows and that are close to one they know.
pub(super) fn unknown_kinds(ledger: &Ledger, problems: &mut Vec<Problem>) {
    let Some(kinds) = sorts(ledger).into_iter().find(|sort| sort.word == "kind") else { return };
    let known = Candidates::new(kinds.in_rules.iter().copied());
    let strange = kinds.in_data.iter().filter(|(used, _)| !kinds.known.contains(*used));
    let meant: BTreeMap<&str, Cow<'_, str>> = strange
        .take(SUGGESTIONS)
        .filter_map(|(used, name)| Some((used.as_str(), known.closest(name)?)))
        .collect();
    for item in ledger.items.iter().map(|record| &record.item).filter(|_| !meant.is_empty()) {
        if let Some(meant) = meant.get(key(&item.kind).as_str()) {
            let problem = Problem::new(Code::UnknownKind, "no rule knows the kind `{kind}`");
            let problem = problem.with("kind", item.kind.as_str()).meant(Some(&**meant));
            problems.push(problem.at(item.place.clone()));
        }
    }
}

fn sorts(ledger: &Ledger) -> Vec<Sort<'_>> {
    let program = ledger.program.inner();
    fn keyed<'a>(names: impl Iterator<Item = &'a str>) -> BTreeMap<String, &'a str> {
        names.map(|name| (key(name), name)).collect()
    }
    let facts = &ledger.store.facts;
    let mut seen = vec![false; ledger.events.texts().count()];
    for fact in facts.list() {
        if let Some(seen) = seen.get_mut(fact.event as usize) {
            *seen = true;
        }
    }
    let events = seen.into_iter().zip(ledger.events.texts()).filter(|(seen, _)| *seen).map(|(_, text)| text);
    let conditions = ledger.condition_sets.used().map(|condition| ledger.conditions.text(condition));
    let found: BTreeSet<u32> = facts.extras().iter().map(|extra| extra.found).collect();
    let findings = found.iter().flat_map(|set| ledger.finding_sets.list(*set));
    let findings = findings.map(|finding| ledger.findings.text(*finding));
    let kinds = ledger.kinds.iter().flat_map(|kind| {
        let broader = kind.keys.iter().skip(1).map(String::as_str);
        std::iter::once(&*kind.name).chain(broader)
    });
    let is_common = |(info, _): &(&EventInfo, &str)| info.life.is_none();
    let events_in_rules = program.event_info.iter().zip(program.events.texts()).filter(is_common);
    let kinds_in_rules = program.house.rules.iter().flat_map(|rule| rule.section.kinds.iter().flatten());
    let mut kinds_in_rules: Vec<&str> = kinds_in_rules.map(|kind| kind.text.as_str()).collect();
    kinds_in_rules.sort_unstable();
    kinds_in_rules.dedup();
    let sort = |word, in_rules: Vec<_>, in_data| {
        let known = in_rules.iter().map(|name: &&str| key(name)).collect();
        Sort { word, in_rules, known, in_data }
    };
    vec![
        sort("event", events_in_rules.map(|(_, text)| text).collect(), keyed(events)),
        sort("condition", program.conditions.texts().collect(), keyed(conditions)),
        sort("finding", program.findings.texts().collect(), keyed(findings)),
        sort("kind", kinds_in_rules, keyed(kinds)),
    ]
}
