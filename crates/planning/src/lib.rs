//! Looking ahead: forecasts of when use brings a task due, and trips with what to do and to pack.
//!
//! Reads a [`kitlore_engine::Book`] and adds nothing to its answers: a standing says what is, a forecast says
//! with which chance a task will be due by which day. Answers are values; `kitlore-render` puts them into words.
//! No clock, no files; chance comes from a seed. Internal to kitlore; use the `kitlore` crate.

mod forecast;
mod plan;
mod trip;

pub use forecast::{
    Basis, Chance, Counted, Forecast, Forecasts, GammaPoisson, KnownUse, Options, forecast, time_at_rate,
};
pub use plan::Plan;
pub use trip::{
    AtHand, BeforeTask, Cause, ChanceBy, DailyUse, FollowUp, HeldBy, Journey, LeftAtHome, Note, Packed,
    Reason, ReturnTask, RulePart, Task, Trip, TripAsk, TripEntry, TripError, TripItem, UnknownName, WayTask,
    trip,
};
