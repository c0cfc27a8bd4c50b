//! Kinds of sections that no item is.

use super::limits::NAMES;
use crate::codes::Code;
use crate::log::Ledger;
use crate::names::Candidates;
use crate::problem::Problem;
use std::collections::BTreeSet;

/// Reports each such kind once, as first spelled in the rules.
pub(super) fn no_such_kind(ledger: &Ledger, problems: &mut Vec<Problem>) {
    if ledger.items.is_empty() {
        return;
    }
    let is: BTreeSet<&str> = ledger.kinds.iter().flat_map(|kind| &kind.keys).map(String::as_str).collect();
    let rules = &ledger.program.inner().house.rules;
    let kinds = rules.iter().flat_map(|rule| rule.section.kinds.iter().flatten());
    let mut seen = BTreeSet::new();
    let close = Candidates::new(ledger.kinds.iter().map(|kind| &*kind.name));
    for kind in kinds.filter(|kind| !is.contains(kind.key.as_str())) {
        if !seen.insert(&kind.key) {
            continue;
        }
        let sentence = "no item is of the kind `{kind}`, so that the rules for it apply to none";
        let meant = if seen.len() <= NAMES { close.closest(&kind.text) } else { None };
        problems.push(Problem::new(Code::NoSuchKind, sentence).with("kind", kind.text.as_str()).meant(meant));
    }
}
