//! Forecasts: what they must hold, their closed forms, how often they are right.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::panic, reason = "a test fails by panicking")]

mod calibration;
mod forecasts;
mod quantiles;
