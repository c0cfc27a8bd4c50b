//! Values of entries that nothing asks about: findings and conditions that the rules do not know, amounts on
//! completions, findings without any. Each is reported once for its name.

use super::limits::SUGGESTIONS;
use super::once::Once;
use crate::codes::Code;
use crate::log::{Fact, Ledger, READING, VOIDED};
use crate::names::Candidates;
use crate::problem::Problem;
use crate::rules::Life;
use kitlore_syntax::{Amount, key};

/// What of the entries of a fact has no effect.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
enum NoEffect {
    Amount,
    Finding,
}

/// The names of the log that the rules do not know, by their numbers.
struct Unknown {
    findings: Vec<bool>,
    conditions: Vec<bool>,
}

/// Looks at every fact once, and at the lines of those with such a value.
pub(super) fn report(ledger: &Ledger, problems: &mut Vec<Problem>) {
    let rules = ledger.program.inner();
    let close = Candidates::new(rules.conditions.texts());
    let declares = rules.house.conditions.is_some();
    // Where no list says which there are, a condition is any word: only one close to a known one is a doubt.
    let mut compared = 0;
    let mut is_strange = |name: &str| {
        compared += 1;
        declares || compared <= SUGGESTIONS && close.closest(name).is_some()
    };
    let unknown = Unknown {
        findings: ledger.findings.texts().map(|name| rules.findings.find(&key(name)).is_none()).collect(),
        conditions: ledger
            .conditions
            .texts()
            .map(|name| rules.conditions.find(&key(name)).is_none() && is_strange(name))
            .collect(),
    };
    let facts = ledger.store.facts.list();
    let concerned: Vec<bool> = facts.iter().map(|fact| unknown.concerns(ledger, fact)).collect();
    if !concerned.contains(&true) {
        return;
    }
    let (mut findings, mut conditions, mut no_effect) = (Once::new(), Once::new(), Once::new());
    for (stream, number) in ledger.store.streams.iter().zip(0..) {
        for line in ledger.store.lines(number) {
            if line.is(VOIDED) || concerned.get(line.fact() as usize) != Some(&true) {
                continue;
            }
            let fact = ledger.fact(line);
            unknown.findings(ledger, fact).for_each(|finding| findings.add(finding, line.seq));
            unknown.conditions(ledger, fact).for_each(|condition| conditions.add(condition, line.seq));
            if let Some(what) = no_effect_of(ledger, fact).filter(|_| !stream.name.is_empty()) {
                no_effect.add((what, number), line.seq);
            }
        }
    }
    let known = Candidates::new(rules.findings.texts());
    let mut compared = 0;
    findings.report(ledger, problems, |finding| {
        let name = ledger.findings.text(finding);
        compared += 1;
        let meant = if compared <= SUGGESTIONS { known.closest(name) } else { None };
        let sentence =
            "no rule knows the finding `{finding}`; if it is right, declare it with a `findings` line";
        Problem::new(Code::UnknownFinding, sentence).with("finding", name).meant(meant)
    });
    let mut compared = 0;
    conditions.report(ledger, problems, |condition| {
        let name = ledger.conditions.text(condition);
        compared += 1;
        let meant = if compared <= SUGGESTIONS { close.closest(name) } else { None };
        let sentence = match declares {
            true => "the condition `{condition}` is none of those declared; if it is right, add it to them",
            false => "no rule knows the condition `{condition}`",
        };
        Problem::new(Code::UnknownCondition, sentence).with("condition", name).meant(meant)
    });
    no_effect.report(ledger, problems, |(what, stream)| {
        let item = ledger.store.stream(stream).map_or("", |stream| &stream.name);
        let sentence = match what {
            NoEffect::Amount => {
                "a completion for `{item}` has an amount, which counts for nothing: what is done is done once"
            }
            NoEffect::Finding => "a `finding` for `{item}` does not say what was found; write it in `found`",
        };
        Problem::new(Code::NoEffect, sentence).with("item", item)
    });
}

impl Unknown {
    fn concerns(&self, ledger: &Ledger, fact: &Fact) -> bool {
        no_effect_of(ledger, fact).is_some()
            || self.findings(ledger, fact).next().is_some()
            || self.conditions(ledger, fact).next().is_some()
    }

    fn findings<'a>(&'a self, ledger: &'a Ledger, fact: &Fact) -> impl Iterator<Item = u32> + use<'a> {
        let found = ledger.found(ledger.extra(fact)).iter().copied();
        found.filter(|finding| self.findings.get(*finding as usize) == Some(&true))
    }

    fn conditions<'a>(&'a self, ledger: &'a Ledger, fact: &Fact) -> impl Iterator<Item = u32> + use<'a> {
        let conditions = ledger.condition_sets.list(fact.conditions).iter().copied();
        conditions.filter(|condition| self.conditions.get(*condition as usize) == Some(&true))
    }
}

/// What an entry of a fact says without effect. An amount of 1 is that of an entry that states none.
fn no_effect_of(ledger: &Ledger, fact: &Fact) -> Option<NoEffect> {
    let info = ledger.program.inner().info(fact.event);
    let extra = ledger.extra(fact);
    if info.life == Some(Life::Finding) && extra.is_none_or(|extra| extra.found == 0) {
        return Some(NoEffect::Finding);
    }
    let amount = match fact.has(READING) {
        true => extra.and_then(|extra| extra.amount),
        false => Some(fact.amount),
    };
    let states_more = amount.is_some_and(|amount| amount != Amount::ONE.micros());
    (info.task.is_some() && states_more).then_some(NoEffect::Amount)
}
