//! How pictures are turned into entries.

use crate::conditions::MeasuredCondition;
use crate::imported::Imported;
use chrono::TimeDelta;
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// How pictures are turned into entries.
#[derive(Debug, Default)]
pub struct Settings {
    /// The zone of pictures that give no offset from UTC; without it their times are local times of the house.
    pub zone: Option<Tz>,
    /// The correction of a body's clock, by the id of its item.
    pub shifts: BTreeMap<String, TimeDelta>,
    /// Conditions that follow from what a body measured; the first 64 count.
    pub conditions: Vec<MeasuredCondition>,
    /// What the log has already.
    pub imported: Imported,
}
