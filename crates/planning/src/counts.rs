//! Counted uses at a rate that is known only so well: the gamma–Poisson model, in closed form.

use crate::season::Clock;
use statrs::function::beta::beta_reg;
use statrs::function::gamma::{gamma_lr, gamma_ur};
use std::sync::Arc;

/// A rate of use known as a gamma distribution: `shape` uses seen over `exposure`, so to speak, in any unit
/// of time. Uses come as a Poisson process of that rate, so that counts ahead are negative binomial and waiting
/// times beta prime (Gelman et al., *Bayesian Data Analysis*, section 2.6).
///
/// ```
/// use kitlore_planning::GammaPoisson;
/// // 1 use in 30 days believed beforehand, then 3 seen in 90: when will 5 more have come?
/// let rate = GammaPoisson { shape: 1.0, exposure: 30.0 }.after(3.0, 90.0);
/// assert!((rate.time(5.0, 0.5) - 152.6311).abs() < 1e-3);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GammaPoisson {
    /// The gamma distribution's shape, above 0.
    pub shape: f64,
    /// Its rate parameter: a length of time; above 0 once anything was seen.
    pub exposure: f64,
}

impl GammaPoisson {
    /// What is known after so many uses over such a time.
    pub fn after(self, uses: f64, time: f64) -> Self {
        Self { shape: self.shape + uses, exposure: self.exposure + time }
    }

    /// The rate that the true one does not exceed with a probability.
    pub fn rate(self, probability: f64) -> f64 {
        let below = |rate: f64| if rate <= 0.0 { 0.0 } else { gamma_lr(self.shape, rate * self.exposure) };
        solve(probability, self.shape / self.exposure, below)
    }

    /// The chance of at least `needed` uses within a time.
    pub fn chance(self, needed: f64, time: f64) -> f64 {
        if needed <= 0.0 {
            1.0
        } else if time <= 0.0 {
            0.0
        } else {
            beta_reg(needed, self.shape, time / (self.exposure + time))
        }
    }

    /// The time by which `needed` more uses have come with a probability.
    pub fn time(self, needed: f64, probability: f64) -> f64 {
        solve(probability, self.exposure * needed / self.shape, |time| self.chance(needed, time))
    }

    /// The smallest count that the uses within a time do not exceed with a probability.
    pub fn count(self, time: f64, probability: f64) -> u64 {
        let at_most = |count: u64| 1.0 - self.chance(count as f64 + 1.0, time);
        let reached = |count: u64| at_most(count) >= probability - 1e-13;
        let mut above = 1_u64;
        while !reached(above) && above < 1 << 52 {
            above *= 2;
        }
        let mut first = 0;
        while first < above {
            let middle = first + (above - first) / 2;
            if reached(middle) { above = middle } else { first = middle + 1 }
        }
        above
    }
}

/// The time by which `needed` uses have come with a probability, at a rate that is known.
///
/// ```
/// // 20 uses at one every second day: 40 days on average.
/// assert!((kitlore_planning::time_at_rate(0.5, 20.0, 0.5) - 39.335345).abs() < 1e-6);
/// ```
pub fn time_at_rate(rate: f64, needed: f64, probability: f64) -> f64 {
    let by = |time: f64| if time <= 0.0 { 0.0 } else { 1.0 - gamma_ur(needed, rate * time) };
    solve(probability, needed / rate, by)
}

/// Where a rising function of a positive number reaches a probability.
fn solve(probability: f64, guess: f64, by: impl Fn(f64) -> f64) -> f64 {
    if !guess.is_finite() || guess <= 0.0 {
        return f64::INFINITY;
    }
    let (mut low, mut high) = (0.0, guess);
    while by(high) < probability {
        low = high;
        high *= 2.0;
        if !high.is_finite() {
            return f64::INFINITY;
        }
    }
    // Bisection: sure, and exact to the last digits.
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if by(middle) < probability { low = middle } else { high = middle }
    }
    high
}

/// Counted uses that are still needed, by day.
#[derive(Debug, Clone)]
pub struct Counted {
    /// How many more are needed.
    pub(crate) needed: f64,
    /// What is known of the rate, in bursts a week of use.
    pub(crate) rate: GammaPoisson,
    /// How many uses come in a burst on average; 1 where each comes on its own.
    pub(crate) burst: f64,
    /// How much use each day ahead brings.
    pub(crate) clock: Arc<Clock>,
    /// What is planned to have come by the end of each day.
    pub(crate) given: Option<Arc<[f64]>>,
}

/// Up to so many are summed term by term: quicker than the incomplete beta function.
const FEW: f64 = 200.0;

impl Counted {
    /// The chance that all have come by the end of a day.
    pub(crate) fn by(&self, day: i32) -> f64 {
        let given = self.given.as_deref().map_or(0.0, |given| at_day(given, day));
        // Planned amounts are decimals: 14.9999999 planned are 15.
        let needed = (self.needed - given - 1e-6).ceil();
        if needed <= 0.0 {
            return 1.0;
        }
        let time = self.clock.by(day);
        if time <= 0.0 {
            return 0.0;
        }
        self.within(needed, time / (self.rate.exposure + time))
    }

    /// The chance of `needed` uses in bursts; `x` is the share of the coming time in all time.
    ///
    /// Bursts are geometric in size: each use after the first begins a new burst with chance 1 / `burst`,
    /// so the number of bursts needed is 1 + a binomial number.
    fn within(&self, needed: f64, x: f64) -> f64 {
        let shape = self.rate.shape;
        let new = 1.0 / self.burst;
        let none = shape * (-x).ln_1p();
        let one_burst = if self.burst > 1.0 { (needed - 1.0) * (-new).ln_1p() } else { 0.0 };
        if needed > FEW || none < -600.0 || one_burst < -600.0 {
            return beta_reg(1.0 + (needed - 1.0) * new, shape, x);
        }
        // `below`: the chance of fewer than `bursts` bursts.
        let (mut term, mut below) = (none.exp(), 0.0);
        let (mut weight, mut chance) = (one_burst.exp(), 0.0);
        let mut bursts = 1.0;
        while bursts <= needed {
            below += term;
            term *= (shape + bursts - 1.0) / bursts * x;
            if self.burst > 1.0 {
                chance += weight * (1.0 - below);
                weight *= (needed - bursts) / bursts * new / (1.0 - new);
            }
            bursts += 1.0;
        }
        if self.burst > 1.0 { chance } else { 1.0 - below }.clamp(0.0, 1.0)
    }
}

/// The value of a day, of the last one for later days; 0 before the first.
pub(crate) fn at_day(values: &[f64], day: i32) -> f64 {
    let Ok(day) = usize::try_from(day) else { return 0.0 };
    values.get(day).or(values.last()).copied().unwrap_or(0.0)
}
