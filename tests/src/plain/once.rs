//! What is reported once for its code and name, where it first stands (contract, section 4, last point).

use super::items::NamedBy;
use super::records::Entry;
use super::rows::Problem;
use super::rules::all_atoms;
use super::world::World;
use kitlore_syntax::tree::AtomKind;
use kitlore_syntax::{Amount, Name};
use std::collections::BTreeSet;

const LIFE_DATES: [&str; 3] = ["received", "in service", "retired"];

impl World<'_> {
    /// Adds what is so of entries as recorded, also of those that are not used.
    pub fn tell_recorded(&self, problems: &mut BTreeSet<Problem>) {
        self.tell("unknown-finding", &|e, _| self.unknown_findings(e), problems);
        self.tell("unknown-condition", &|e, _| self.undeclared_conditions(e), problems);
    }

    /// Adds what is so of entries that are used, and of the rules.
    pub fn tell_used(&self, problems: &mut BTreeSet<Problem>) {
        self.tell("before-received", &|e, _| self.is_before_received(e), problems);
        self.tell("not-yet-done", &|e, _| self.is_not_yet_done(e), problems);
        self.tell("no-effect", &|e, _| self.has_no_effect(e), problems);
        self.tell("same-twice", &stands_twice, problems);
        let mut kinds = self.house.rules.iter().flat_map(|r| r.section.kinds.iter().flatten());
        let none_is = |kind: &Name| !self.items.iter().any(|i| self.is_a(&i.kind_key, &kind.key));
        if !self.items.is_empty() && kinds.any(none_is) {
            problems.insert(Problem::rules("no-such-kind"));
        }
    }

    /// Adds a code for each name that an entry and those recorded before it raise it with, where it first stands.
    fn tell(
        &self,
        code: &str,
        names: &dyn Fn(&Entry, &[&Entry]) -> Vec<String>,
        problems: &mut BTreeSet<Problem>,
    ) {
        let mut entries: Vec<&Entry> = self.entries.iter().collect();
        entries.sort_by_key(|e| e.order);
        let mut seen = BTreeSet::new();
        for (number, entry) in entries.iter().enumerate() {
            for name in names(entry, &entries[..number]) {
                if seen.insert(name) {
                    problems.insert(Problem::log(code, entry.row));
                }
            }
        }
    }

    fn unknown_findings(&self, entry: &Entry) -> Vec<String> {
        let mut known: BTreeSet<&String> = self.house.findings.iter().flatten().map(|n| &n.key).collect();
        for atom in self.house.rules.iter().flat_map(all_atoms) {
            if let AtomKind::Finding { findings, .. } | AtomKind::Spotted { findings } = atom {
                known.extend(findings.iter().map(|f| &f.key));
            }
        }
        entry.found.iter().filter(|f| !known.contains(f)).cloned().collect()
    }

    fn undeclared_conditions(&self, entry: &Entry) -> Vec<String> {
        let Some(declared) = &self.house.conditions else { return Vec::new() };
        entry.conditions.iter().filter(|c| !declared.iter().any(|d| d.key == **c)).cloned().collect()
    }

    fn is_before_received(&self, entry: &Entry) -> Vec<String> {
        let early = |item: &&super::items::Item| {
            let named = self.named(entry, item) == Some(NamedBy::Id);
            named && self.there_from(item).is_some_and(|there| self.clock.date_of(entry.when) < there)
        };
        let life = LIFE_DATES.contains(&entry.event.as_str());
        self.items.iter().filter(early).filter(|_| !life).map(|i| i.id.clone()).collect()
    }

    fn is_not_yet_done(&self, entry: &Entry) -> Vec<String> {
        let early = self.now && self.tasks.contains(&entry.event) && entry.counts > self.at;
        early.then(|| entry.item.clone()).into_iter().collect()
    }

    /// An amount on a completion, and a finding without findings: two sorts.
    fn has_no_effect(&self, entry: &Entry) -> Vec<String> {
        let amount = self.tasks.contains(&entry.event) && entry.amount.is_some_and(|a| a != Amount::ONE);
        let nothing = entry.event == "finding" && entry.found.is_empty();
        let sorts = [(amount, "amount"), (nothing, "nothing")].into_iter().filter(|(holds, _)| *holds);
        sorts.map(|(_, sort)| format!("{sort} {}", entry.item)).collect()
    }
}

/// An entry without id of an amount or a span that stands there already.
fn stands_twice(entry: &Entry, earlier: &[&Entry]) -> Vec<String> {
    let much = entry.amount > Some(Amount::ONE) || entry.until.is_some();
    let same = |e: &&Entry| e.id.is_empty() && e.says_the_same(entry);
    let twice = entry.id.is_empty() && much && earlier.iter().any(same);
    twice.then(|| entry.item.clone()).into_iter().collect()
}
