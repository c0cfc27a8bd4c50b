//! The chance that counted uses have come by a day.

use super::clock::{UseClock, at_day};
use super::gamma_poisson::GammaPoisson;
use statrs::function::beta::beta_reg;
use std::sync::Arc;

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
    pub(crate) clock: Arc<UseClock>,
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
