//! Looking ahead: forecasts of when use brings a task due, and trips with what to do and to pack.

mod carriage;
mod expect;
mod journey;
mod outlook;
mod packing;
mod rows;
#[cfg(feature = "serde")]
mod serial;
mod stock;
mod trip;
mod trip_answer;
mod why;

pub use expect::{ExpectError, read_expect};
pub use journey::{Journey, TripAsk, TripError};
pub use trip::trip;
pub use trip_answer::{
    AtHand, BeforeTask, ChanceBy, DailyUse, FollowUp, HeldBy, LeftAtHome, Packed, Reason, ReturnTask, Task,
    Trip, TripEntry, TripItem, WayTask,
};
