//! Items of one kind: their past, and what they share.

use super::clock::UseClock;
use super::gamma_poisson::GammaPoisson;
use super::learn::{Asked, Learnt, PastUse, seen};
use super::resample::{Pool, WEEKS};
use super::threads::on_threads;
use chrono::NaiveDate;
use kitlore_engine::{UsageKey, Uses};
use std::num::NonZeroUsize;
use std::sync::Arc;

/// What is shared is learnt from so many items at most: more would tell the same.
const LEARNT_FROM: usize = 1_000;

/// So many fellows are drawn from.
const FELLOWS: usize = 64;

/// All items of a kind that have rows.
#[derive(Debug)]
pub(crate) struct Cohort {
    pub usages: Vec<UsageKey>,
    pub logs: Vec<PastUse>,
    pub shared: Vec<Shared>,
}

/// What items of a kind share for one usage.
#[derive(Debug)]
pub(crate) struct Shared {
    /// All entries are of amount 1.
    pub single: bool,
    pub learnt: Learnt,
    pub clock: Arc<UseClock>,
    /// What each week of the past brings, in average weeks.
    shares: Vec<f64>,
    /// Every so many items are learnt from.
    step: usize,
    fellows: Vec<Vec<f32>>,
    fellow_step: usize,
}

impl Cohort {
    /// Reads the logs of some items and learns from them.
    pub fn of(uses: &Uses<'_>, items: &[&str], asked: &Asked<'_>, days: u32, threads: NonZeroUsize) -> Self {
        let share = items.len().div_ceil(threads.get()).max(1);
        let mut single = vec![true; asked.usages.len()];
        let read = |items: &[&str]| {
            let (mut uses, mut single) = (uses.clone(), vec![true; asked.usages.len()]);
            let logs: Vec<PastUse> =
                items.iter().map(|item| PastUse::read(&mut uses, item, asked, &mut single)).collect();
            (logs, single)
        };
        let parts: Vec<_> = on_threads(items, share, read);
        let mut logs = Vec::with_capacity(items.len());
        for (mut part, whole) in parts {
            logs.append(&mut part);
            for (all, whole) in single.iter_mut().zip(whole) {
                *all &= whole;
            }
        }
        let shared = single
            .into_iter()
            .enumerate()
            .map(|(which, single)| Shared::of(&logs, which, single, asked.from, days))
            .collect();
        Self { usages: asked.usages.to_vec(), logs, shared }
    }

    pub fn which(&self, usage: UsageKey) -> Option<usize> {
        self.usages.iter().position(|known| *known == usage)
    }
}

impl Shared {
    fn of(logs: &[PastUse], which: usize, single: bool, from: NaiveDate, days: u32) -> Self {
        let step = logs.len().div_ceil(LEARNT_FROM).max(1);
        let past = |log: &'_ PastUse| log.past.get(which).map(|past| (log.weeks, past.clone()));
        let learnt_from: Vec<_> = logs.iter().step_by(step).filter_map(past).collect();
        let pasts: Vec<(f64, &[f32])> =
            learnt_from.iter().map(|(weeks, past)| (*weeks, past.as_slice())).collect();
        let learnt = Learnt::of(&pasts, from);
        let shares = learnt.season.past(from, WEEKS);
        let fellow_step = logs.len().div_ceil(FELLOWS).max(1);
        let fellows = logs
            .iter()
            .step_by(fellow_step)
            .map(|log| {
                log.past.get(which).map_or_else(Vec::new, |past| whole_weeks(past, log.weeks).to_vec())
            })
            .collect();
        let clock = Arc::new(UseClock::new(&learnt.season, from, days, |_| false));
        Self { single, learnt, clock, shares, step, fellows, fellow_step }
    }

    /// The rate of one item, and the uses counted of the others.
    pub fn rate(&self, number: usize, log: &PastUse, which: usize) -> GammaPoisson {
        let own = log.past.get(which).map_or_else(Default::default, |p| seen(p, log.weeks, &self.shares));
        self.learnt.rate(own, number.is_multiple_of(self.step))
    }

    /// How much was counted of an item, and of the others learnt from.
    pub fn counted(&self, number: usize, log: &PastUse, which: usize) -> (f64, f64) {
        let own = log.past.get(which).map_or(0.0, |past| past.iter().map(|used| f64::from(*used)).sum());
        let others = self.learnt.counted - if number.is_multiple_of(self.step) { own } else { 0.0 };
        (own, others.max(0.0))
    }

    /// The whole weeks of one item.
    pub fn own<'l>(&self, log: &'l PastUse, which: usize) -> &'l [f32] {
        whole_weeks(log.past.get(which).map_or(&[][..], Vec::as_slice), log.weeks)
    }

    /// What courses of one item are drawn from.
    pub fn pool<'p>(&'p self, number: usize, own: &'p [f32]) -> Pool<'p> {
        let itself = number.is_multiple_of(self.fellow_step).then(|| number / self.fellow_step);
        let shares = (!self.learnt.season.is_flat()).then_some(self.shares.as_slice());
        Pool { own, fellows: &self.fellows, shares, itself }
    }
}

/// The weeks of a past that are whole.
fn whole_weeks(past: &[f32], weeks: f64) -> &[f32] {
    past.get(..weeks.floor() as usize).unwrap_or(past)
}
