//! Items whose kits change, where rules ask for kits: which of their completions count depends on when they were.

use super::filter::Filtered;
use super::prepared::{KindRules, Prepared};
use super::profile::Profile;
use crate::log::{Ledger, Member};
use crate::problem::Problem;
use chrono::NaiveDate;
use std::sync::Arc;

/// The kits of one item over time.
pub(crate) struct KitChanges<'a> {
    ledger: &'a Ledger,
    prepared: &'a Prepared,
    member: &'a Member<'a>,
    rules: KindRules,
}

impl<'a> KitChanges<'a> {
    /// Those of an item, if they change and rules for its kind ask for them.
    pub fn of(
        ledger: &'a Ledger,
        prepared: &'a Prepared,
        member: &'a Member<'a>,
        rules: &KindRules,
    ) -> Option<Self> {
        let changes = rules.asks_kit && member.record.kits.iter().any(|kit| !kit.dates.is_all());
        changes.then(|| Self { ledger, prepared, member, rules: rules.clone() })
    }

    /// The rules that applied on some dates: a filter's kit is any that the item was in on one of them.
    pub fn profile(&self, from: NaiveDate, to: NaiveDate) -> Arc<Profile> {
        let item = Filtered { member: self.member, from, to };
        let applicable = applicable(self.ledger, &self.rules, &item, &mut Vec::new());
        self.prepared.profile(self.ledger, applicable)
    }

    /// The times between which the kits change, in order.
    pub fn times(&self) -> impl Iterator<Item = (NaiveDate, NaiveDate)> {
        let ranges = self.member.record.kits.iter().flat_map(|kit| kit.dates.ranges());
        let mut firsts: Vec<NaiveDate> =
            ranges.flat_map(|(from, to)| [Some(*from), to.succ_opt()]).flatten().collect();
        firsts.push(NaiveDate::MIN);
        firsts.sort_unstable();
        firsts.dedup();
        let mut lasts: Vec<NaiveDate> =
            firsts.iter().skip(1).map(|next| next.pred_opt().unwrap_or(*next)).collect();
        lasts.push(NaiveDate::MAX);
        firsts.into_iter().zip(lasts)
    }
}

/// The numbers of the rules for a kind that apply to an item of it.
pub(crate) fn applicable(
    ledger: &Ledger,
    rules: &KindRules,
    item: &Filtered<'_>,
    problems: &mut Vec<Problem>,
) -> Vec<u32> {
    let all = &ledger.program.inner().rules;
    let mut applicable = Vec::new();
    for &(rule, filtered) in rules.candidates.iter() {
        let filter = all.get(rule as usize).and_then(|rule| rule.section.filter.as_ref());
        if !filtered || filter.is_none_or(|filter| item.passes(filter, problems)) {
            applicable.push(rule);
        }
    }
    applicable
}
