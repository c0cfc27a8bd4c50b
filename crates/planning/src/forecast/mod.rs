//! When use brings a task due: what items of a kind did so far, and what that makes likely.

mod answer;
mod basis;
mod chance;
mod clock;
mod cohort;
mod counted;
mod gamma_poisson;
mod learn;
mod predict;
mod resample;
mod run;
mod season;
mod threads;

pub use answer::{Forecast, Forecasts, Options};
pub use basis::{Basis, KnownUse};
pub use chance::Chance;
pub use counted::Counted;
pub use gamma_poisson::{GammaPoisson, time_at_rate};
pub use run::forecast;
