//! What the rules name: atoms, tasks, reserved events.

use kitlore_syntax::tree::{AtomKind, House, Rule, Trigger};
use std::collections::BTreeSet;

/// Events with a meaning of their own.
pub const RESERVED: [&str; 8] =
    ["received", "in service", "retired", "finding", "void", "away", "back", "put off"];

/// Every atom of a rule, of its trigger and of its limit.
pub fn all_atoms(rule: &Rule) -> impl Iterator<Item = &AtomKind> {
    let limit = rule.details.no_later_than.iter().flat_map(Trigger::atoms);
    rule.trigger.atoms().into_iter().chain(limit).map(|a| &a.kind)
}

/// The names of tasks, by key: of rules, of `covers`, of inspections.
pub fn tasks(house: &House) -> BTreeSet<String> {
    let mut tasks = BTreeSet::new();
    for covers in &house.covers {
        tasks.insert(covers.task.key.clone());
        tasks.extend(covers.covered.iter().map(|t| t.key.clone()));
    }
    for rule in &house.rules {
        tasks.insert(rule.task.key.clone());
        for atom in all_atoms(rule) {
            if let AtomKind::Finding { task, .. } = atom {
                tasks.insert(task.key.clone());
            }
        }
    }
    tasks
}
