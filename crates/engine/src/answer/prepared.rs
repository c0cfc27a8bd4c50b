//! What the rules come to for the items of a ledger, made once: profiles, the rules of each kind, weights.

use super::profile::Profile;
use super::weights::Weights;
use crate::log::Ledger;
use crate::names::Map;
use kitlore_syntax::tree::Filter;
use std::sync::{Arc, RwLock};

/// Shared by copies of a book, which are under the same rules; weights are its own.
#[derive(Debug, Clone, Default)]
pub(crate) struct Prepared {
    /// By a kind's key, the rules that are for it.
    by_kind: Arc<RwLock<Map<String, KindRules>>>,
    /// By rules.
    profiles: Arc<RwLock<Map<Vec<u32>, Arc<Profile>>>>,
    pub weights: Weights,
}

/// The rules for a kind.
#[derive(Debug, Clone)]
pub(crate) struct KindRules {
    /// Rules for the kind, and whether each has a filter.
    pub candidates: Arc<[(u32, bool)]>,
    /// The profile, if no rule has a filter.
    pub profile: Option<Arc<Profile>>,
    /// Some filter asks which kits an item is in.
    pub asks_kit: bool,
}

impl Prepared {
    /// Takes in what was recorded since the last question.
    pub fn catch_up(&mut self, ledger: &Ledger) {
        self.weights.catch_up(&ledger.condition_sets, ledger.program.inner());
    }

    /// How a test weighs a set of conditions.
    pub fn weight(&self, ledger: &Ledger, conditions: u32, test: u32) -> Option<i64> {
        self.weights.get(conditions, test, &ledger.condition_sets, ledger.program.inner())
    }

    /// The profile of a list of rules, made once.
    pub fn profile(&self, ledger: &Ledger, rules: Vec<u32>) -> Arc<Profile> {
        if let Ok(known) = self.profiles.read()
            && let Some(profile) = known.get(&rules)
        {
            return profile.clone();
        }
        let profile = Arc::new(Profile::new(ledger.program.inner(), &rules));
        if let Ok(mut known) = self.profiles.write() {
            known.insert(rules, profile.clone());
        }
        profile
    }

    /// The rules for a kind of the inventory.
    pub fn kind_rules(&self, ledger: &Ledger, kind: u32) -> KindRules {
        let keys = ledger.kinds.get(kind as usize).map_or(&[][..], |kind| &kind.keys);
        let key = keys.first().map_or("", String::as_str);
        if let Ok(known) = self.by_kind.read()
            && let Some(rules) = known.get(key)
        {
            return rules.clone();
        }
        let rules = ledger.program.inner().rules.iter().zip(0..);
        let candidates: Arc<[(u32, bool)]> = rules
            .filter(|(rule, _)| {
                rule.kinds.as_ref().is_none_or(|kinds| kinds.iter().any(|kind| keys.contains(kind)))
            })
            .map(|(rule, number)| (number, rule.section.filter.is_some()))
            .collect();
        let plain = candidates.iter().all(|(_, filtered)| !filtered);
        let all = || candidates.iter().map(|(rule, _)| *rule).collect();
        let profile = plain.then(|| self.profile(ledger, all()));
        let filters =
            candidates.iter().filter_map(|(rule, _)| ledger.program.inner().rules.get(*rule as usize));
        let asks_kit = filters.filter_map(|rule| rule.section.filter.as_ref()).any(asks_kit);
        let rules = KindRules { candidates, profile, asks_kit };
        if let Ok(mut known) = self.by_kind.write() {
            known.insert(key.to_owned(), rules.clone());
        }
        rules
    }
}

fn asks_kit(filter: &Filter) -> bool {
    match filter {
        Filter::All(parts) | Filter::Any(parts) => parts.iter().any(asks_kit),
        Filter::Test { attribute, .. } => attribute.key == "kit",
    }
}
