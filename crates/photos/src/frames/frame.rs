//! One frame of a body, its clock corrected.

use super::clock::BodyClock;
use crate::conditions::{MeasuredCondition, holding};
use crate::imported::Stamp;
use crate::pictures::Shot;
use chrono::{FixedOffset, NaiveDate, NaiveDateTime};

/// One release of the shutter.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    /// As the picture gives it.
    pub stamp: Stamp,
    /// By the body's corrected clock, and its offset from UTC where that is known.
    pub local: NaiveDateTime,
    pub offset: Option<FixedOffset>,
    /// What the frames of one body are sorted by.
    pub order: NaiveDateTime,
    /// An index into the pairs of body and lens.
    pub pair: u32,
    /// The conditions that follow from what was measured, as a set of [`holding`].
    pub conditions: u64,
}

impl Frame {
    /// The frame of a picture.
    pub fn of(shot: &Shot, clock: &BodyClock, conditions: &[MeasuredCondition]) -> Self {
        let (local, offset, order) = clock.read(shot.taken, shot.offset);
        let stamp = match shot.offset.and_then(|offset| shot.taken.checked_sub_offset(offset)) {
            Some(at) => Stamp { utc: true, at },
            None => Stamp { utc: false, at: shot.taken },
        };
        let conditions = shot.measured.as_ref().map_or(0, |measured| holding(conditions, measured));
        Self { stamp, local, offset, order, pair: shot.pair, conditions }
    }

    /// The shooting day: the date where the picture was taken.
    pub fn day(&self) -> NaiveDate {
        self.local.date()
    }

    /// Its time as the log writes it.
    pub fn written(&self) -> String {
        match self.offset {
            Some(offset) => format!("{}{offset}", self.local.format("%Y-%m-%dT%H:%M:%S%.f")),
            None => self.local.format("%Y-%m-%dT%H:%M:%S%.f").to_string(),
        }
    }
}
