//! What a trip needs before it, on the way, on return and in the bag.

mod again;
mod answer;
mod ask;
mod cause;
mod cautions;
mod find;
mod left_behind;
mod near;
mod outlook;
mod packing;
mod planner;
mod snapshot;
mod stock;

pub use answer::{
    AtHand, BeforeTask, ChanceBy, DailyUse, FollowUp, HeldBy, LeftAtHome, Note, Packed, Reason, ReturnTask,
    Trip, TripEntry, TripItem, TripTask, UnknownName, WayTask,
};
pub use ask::{Journey, TripAsk, TripError};
pub use cause::{Cause, RulePart};
pub use planner::trip;
