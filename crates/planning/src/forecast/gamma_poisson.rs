//! Counted uses at a rate that is known only so well: the gamma–Poisson model, in closed form.

use statrs::function::beta::beta_reg;
use statrs::function::gamma::{gamma_lr, gamma_ur};

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
