//! Frames: the pictures of one body in order, without copies, clocks corrected.

mod clock;
mod clock_jumps;
mod copies;
mod frame;
mod order;
mod placed;

pub(crate) use clock::BodyClock;
pub(crate) use clock_jumps::jumps;
pub(crate) use frame::Frame;
pub(crate) use order::Ordered;
pub(crate) use placed::PlacedShot;
