//! Entries of the log, made from the frames of one body.

mod counts;
mod dated;
mod lens_changes;

pub(crate) use counts::FrameCounts;
pub(crate) use dated::DatedEntry;
pub(crate) use lens_changes::LensChanges;
