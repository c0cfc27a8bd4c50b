//! Looking ahead: forecasts of when use brings a task due, and trips with what to do and to pack.
//!
//! Reads a [`kitlore_engine::Book`] and adds nothing to its answers: a standing says what is, a forecast says
//! with which chance a task will be due by which day. No clock, no files; chance comes from a seed.
//! Internal to kitlore; use the `kitlore` crate.

mod carriage;
mod chance;
mod counts;
mod forecast;
#[cfg(feature = "serde")]
mod forecast_serial;
mod foresee;
mod home;
mod journey;
mod kin;
mod learn;
mod look;
mod near;
mod packing;
mod plan;
mod rows;
mod season;
#[cfg(feature = "serde")]
mod serial;
mod stock;
mod trip;
mod trip_answer;
mod weeks;

pub use chance::Chance;
pub use counts::{Counted, GammaPoisson, time_at_rate};
pub use forecast::{Forecast, Forecasts, Options, forecast};
pub use journey::{Journey, TripAsk, TripError};
pub use plan::Plan;
pub use trip::trip;
pub use trip_answer::{
    AtHand, BeforeTask, ChanceBy, DailyUse, FollowUp, HeldBy, LeftAtHome, Packed, Reason, ReturnTask, Task,
    Trip, TripEntry, TripItem, WayTask,
};
