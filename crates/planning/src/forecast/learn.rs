//! What items of a kind were used so far: week by week, and what is learnt from all of them.

use super::gamma_poisson::GammaPoisson;
use super::resample::{WEEKS, weight};
use super::season::Season;
use crate::plan::Plan;
use chrono::NaiveDate;
use kitlore_engine::{Expected, Instant, UsageKey, Uses};
use std::collections::HashSet;

const WEEK: i64 = 7 * 86_400;

/// The past of one item, and what is planned for it.
#[derive(Debug, Default)]
pub(crate) struct PastUse {
    /// How many weeks of it are known.
    pub weeks: f64,
    /// For each usage what each week brought, the latest first; the oldest may be part of a week.
    pub past: Vec<Vec<f32>>,
    /// Entries still to come: usage, day, amount.
    pub ahead: Vec<(usize, i32, f64)>,
    /// What plans expect.
    pub expected: Vec<Expected>,
}

/// What the log of a book is read for.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Asked<'a> {
    pub usages: &'a [UsageKey],
    pub at: Instant,
    /// Its date.
    pub from: NaiveDate,
    /// The date the log begins.
    pub first: NaiveDate,
    pub plans: &'a [PlannedUse<'a>],
}

/// A plan that is not in the log, with its items to look up.
#[derive(Debug)]
pub(crate) struct PlannedUse<'a> {
    plan: &'a Plan,
    items: HashSet<&'a str>,
}

impl<'a> PlannedUse<'a> {
    pub fn new(plan: &'a Plan) -> Self {
        Self { plan, items: plan.items.iter().map(String::as_str).collect() }
    }
}

fn whole(billionths: i128) -> f64 {
    billionths as f64 / Uses::ONE as f64
}

impl PastUse {
    /// Reads an item's log; `whole_uses` is cleared for usages that come in other amounts than 1.
    pub fn read(uses: &mut Uses<'_>, item: &str, asked: &Asked<'_>, whole_uses: &mut [bool]) -> Self {
        let mut log = PastUse { past: vec![Vec::new(); asked.usages.len()], ..PastUse::default() };
        let mut oldest = None;
        let begun = uses.begun(item);
        uses.each(item, asked.usages, |used| {
            if used.billionths != Uses::ONE
                && let Some(whole) = whole_uses.get_mut(used.which)
            {
                *whole = false;
            }
            let before = asked.at.seconds - used.at.seconds;
            if used.at > asked.at {
                let day = i32::try_from((-before).div_euclid(86_400)).unwrap_or(i32::MAX).saturating_add(1);
                log.ahead.push((used.which, day, whole(used.billionths)));
                return;
            }
            oldest.get_or_insert(before);
            let week = usize::try_from(before / WEEK).unwrap_or(usize::MAX);
            let Some(past) = log.past.get_mut(used.which).filter(|_| week < WEEKS) else { return };
            if past.len() <= week {
                past.resize(week + 1, 0.0);
            }
            if let Some(sum) = past.get_mut(week) {
                *sum += whole(used.billionths) as f32;
            }
        });
        let since = match begun {
            Some(begun) => (asked.from - begun.max(asked.first)).num_days() as f64 / 7.0,
            None => oldest.map_or(0.0, |oldest| oldest as f64 / WEEK as f64),
        };
        log.weeks = since.clamp(0.0, WEEKS as f64);
        for past in &mut log.past {
            past.resize(log.weeks.ceil() as usize, 0.0);
        }
        if !asked.usages.is_empty() {
            log.expected = uses.plans(item, asked.usages, asked.at);
            log.add_plans(uses, item, asked);
        }
        log
    }

    /// Plans that are not in the log.
    fn add_plans(&mut self, uses: &Uses<'_>, item: &str, asked: &Asked<'_>) {
        for PlannedUse { plan, .. } in asked.plans.iter().filter(|plan| plan.items.contains(item)) {
            let daily = asked.usages.iter().enumerate().filter_map(|(which, usage)| {
                let weigh =
                    |(event, amount): &(String, _)| uses.weigh(*usage, event, *amount, &plan.conditions);
                Some((which, plan.expect.iter().find_map(weigh)?))
            });
            self.expected.push(Expected { from: plan.from, to: plan.to, daily: daily.collect() });
        }
    }

    /// How much of a usage is planned to have come by the end of each of the days ahead; nothing if none is.
    pub fn given(&self, which: usize, from: NaiveDate, days: u32) -> Option<Vec<f64>> {
        let mut daily = vec![0.0; days as usize + 1];
        let mut any = false;
        for (_, day, amount) in self.ahead.iter().filter(|(of, ..)| *of == which) {
            if let Some(sum) = usize::try_from(*day).ok().and_then(|day| daily.get_mut(day)) {
                *sum += amount;
                any = true;
            }
        }
        for expected in &self.expected {
            let Some((_, amount)) = expected.daily.iter().find(|(of, _)| *of == which) else { continue };
            for (date, sum) in from.iter_days().zip(&mut daily).skip(1) {
                if (expected.from..=expected.to).contains(&date) {
                    *sum += whole(*amount);
                    any = true;
                }
            }
        }
        let mut sum = 0.0;
        daily.iter_mut().for_each(|day| {
            sum += *day;
            *day = sum;
        });
        any.then_some(daily)
    }

    /// Whether a plan says what is used on a date.
    pub fn is_planned(&self, which: usize, date: NaiveDate) -> bool {
        self.expected.iter().any(|expected| {
            (expected.from..=expected.to).contains(&date) && expected.daily.iter().any(|(of, _)| *of == which)
        })
    }
}

/// What is known of one usage of a kind.
#[derive(Debug, Clone)]
pub(crate) struct Learnt {
    pub season: Season,
    /// How many uses come at a time.
    pub burst: f64,
    /// Uses and time of all items together: recent weeks count more, time in average weeks.
    uses: f64,
    time: f64,
    /// How uses of all items stand against time as a prior: how much time it weighs.
    weight: f64,
    /// How many items there are.
    pub items: usize,
    /// All that was counted.
    pub counted: f64,
}

/// A prior weighs at least and at most so many bursts.
const PRIOR: std::ops::RangeInclusive<f64> = 0.5..=40.0;

/// Uses and time of one item, as one that counted all weeks alike would have them.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Seen {
    pub uses: f64,
    pub time: f64,
}

/// Weighs the weeks of a past; `shares` are what each brings in average weeks.
pub(crate) fn seen(past: &[f32], weeks: f64, shares: &[f64]) -> Seen {
    let (mut uses, mut time, mut squares) = (0.0, 0.0, 0.0);
    for ((number, used), share) in past.iter().enumerate().zip(shares) {
        let weight = weight(number);
        let time_of_week = share * (weeks - number as f64).clamp(0.0, 1.0);
        uses += weight * f64::from(*used);
        time += weight * time_of_week;
        squares += weight * weight * time_of_week;
    }
    if squares <= 0.0 {
        return Seen::default();
    }
    let alike = time * time / squares;
    Seen { uses: uses / time * alike, time: alike }
}

impl Learnt {
    /// From the past of all items of a kind.
    pub fn of(pasts: &[(f64, &[f32])], from: NaiveDate) -> Self {
        let season = season(pasts, from);
        let shares = season.past(from, WEEKS);
        let burst = burst(pasts, &shares);
        let all: Vec<Seen> = pasts.iter().map(|(weeks, past)| seen(past, *weeks, &shares)).collect();
        let (uses, time) = all.iter().fold((0.0, 0.0), |(u, t), seen| (u + seen.uses, t + seen.time));
        let rate = if time > 0.0 { uses / time } else { 0.0 };
        // Moments: how much the items' rates differ beyond what chance makes of one rate.
        let spread: f64 =
            all.iter().filter(|s| s.time > 0.0).map(|s| s.time * (s.uses / s.time - rate).powi(2)).sum();
        let count = all.iter().filter(|seen| seen.time > 0.0).count();
        let spare = time - all.iter().map(|seen| seen.time * seen.time).sum::<f64>() / time.max(1e-9);
        let chance = burst * rate * (count as f64 - 1.0);
        let variance = if spare > 0.0 { ((spread - chance) / spare).max(0.0) } else { 0.0 };
        let bursts = rate / burst;
        let weight = if rate <= 0.0 {
            0.0
        } else {
            let shape = if variance > 0.0 { rate * rate / variance } else { f64::INFINITY };
            shape.clamp(*PRIOR.start(), *PRIOR.end()) / bursts
        };
        let counted = pasts.iter().flat_map(|(_, past)| *past).map(|used| f64::from(*used)).sum();
        Self { season, burst, uses, time, weight, items: pasts.len(), counted }
    }

    /// What is known of an item's rate, in bursts an average week: what others of its kind do, then what it did.
    /// `among`: it is one of those learnt from.
    pub fn rate(&self, own: Seen, among: bool) -> GammaPoisson {
        let mine = if among { own } else { Seen::default() };
        let (uses, time) = (self.uses - mine.uses, self.time - mine.time);
        let others = if self.items > usize::from(among) && time > 0.01 && uses / self.burst >= 1.0 {
            GammaPoisson { shape: uses / time * self.weight / self.burst, exposure: self.weight }
        } else {
            // Jeffreys: as little as can be said.
            GammaPoisson { shape: 0.5, exposure: 0.0 }
        };
        others.after(own.uses / self.burst, own.time)
    }
}

/// The season of a kind: items are averaged week by week, for weeks of one job go together.
fn season(pasts: &[(f64, &[f32])], from: NaiveDate) -> Season {
    let mut sums = vec![(0.0, 0.0); WEEKS];
    for (weeks, past) in pasts {
        for ((sum, count), used) in sums.iter_mut().zip(*past).take(weeks.floor() as usize) {
            *sum += f64::from(*used);
            *count += 1.0;
        }
    }
    let means: Vec<f64> =
        sums.into_iter().take_while(|(_, count)| *count > 0.0).map(|(sum, count)| sum / count).collect();
    Season::of(&means, from)
}

/// How many uses come at a time: from how much more the weeks, and months, of an item differ than single uses
/// at its rate would make them. A geometric burst of mean m makes counts vary 2 m − 1 times as much.
fn burst(pasts: &[(f64, &[f32])], shares: &[f64]) -> f64 {
    let factor = |length: usize| {
        let (mut squares, mut sum, mut error) = (0.0, 0.0, 0.0);
        for (weeks, past) in pasts {
            let blocks = weeks.floor() as usize / length;
            let whole = past.get(..blocks * length).unwrap_or(&[]);
            let used: f64 = whole.iter().map(|used| f64::from(*used)).sum();
            let time: f64 = shares.iter().take(whole.len()).sum();
            if blocks < 2 || used <= 0.0 || time <= 0.0 {
                continue;
            }
            let free = blocks as f64 / (blocks as f64 - 1.0);
            for (block, share) in whole.chunks(length).zip(shares.chunks(length)) {
                let expected = used / time * share.iter().sum::<f64>();
                let counted: f64 = block.iter().map(|used| f64::from(*used)).sum();
                squares += free * (counted - expected).powi(2);
                sum += expected;
                error += expected * (2.0 * expected + 1.0);
            }
        }
        // More than twice the error of it: else it may be chance.
        let factor = if sum > 0.0 { squares / sum } else { 1.0 };
        if factor > 1.0 + 2.0 * error.sqrt() / sum.max(1e-9) { factor } else { 1.0 }
    };
    f64::midpoint(factor(1).max(factor(4)), 1.0)
}
