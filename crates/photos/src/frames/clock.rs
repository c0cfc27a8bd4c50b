//! How the clock of a body is read.

use crate::imported::Stamp;
use crate::pictures::Day;
use crate::settings::Settings;
use chrono::{FixedOffset, NaiveDateTime, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;
use kitlore_engine::Item;

/// How the clock of one body is read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct BodyClock {
    pub zone: Option<Tz>,
    pub shift: TimeDelta,
    /// Whether some of its pictures give an offset. If so, they are ordered as instants; else by the body's clock
    /// alone, which runs on evenly while the zone changes to summer time.
    pub offsets: bool,
    /// Whether others give none, and no zone is given for them.
    pub is_mixed: bool,
}

impl BodyClock {
    /// The clock of an item, given how many of its pictures give an offset.
    pub fn of(item: &Item, pictures: Day, settings: &Settings) -> Self {
        let offsets = pictures.with_offset > 0;
        Self {
            zone: settings.zone,
            shift: settings.shifts.get(&item.id).copied().unwrap_or_default(),
            offsets,
            is_mixed: offsets && pictures.without > 0 && settings.zone.is_none(),
        }
    }

    /// Corrected local time, offset, and the time to sort by.
    pub fn read(
        &self,
        taken: NaiveDateTime,
        offset: Option<FixedOffset>,
    ) -> (NaiveDateTime, Option<FixedOffset>, NaiveDateTime) {
        let local = taken.checked_add_signed(self.shift).unwrap_or(taken);
        let offset = offset.or_else(|| self.zone.map(|zone| offset_in(zone, local)));
        let order = match offset {
            Some(offset) if self.offsets => local.checked_sub_offset(offset).unwrap_or(local),
            _ => local,
        };
        (local, offset, order)
    }

    /// The time to sort by of a moment in the log.
    pub fn order(&self, stamp: Stamp) -> NaiveDateTime {
        let offset = FixedOffset::east_opt(0).filter(|_| stamp.utc);
        self.read(stamp.at, offset).2
    }
}

/// The offset of a zone at a local time. Of a time that occurs twice it is the earlier one; for a time that the
/// clock skips it is the offset before, so that the time moves forward.
fn offset_in(zone: Tz, local: NaiveDateTime) -> FixedOffset {
    use chrono::LocalResult;
    match zone.offset_from_local_datetime(&local) {
        LocalResult::Single(offset) | LocalResult::Ambiguous(offset, _) => offset.fix(),
        // Only a skipped day makes a gap this long.
        LocalResult::None => zone.offset_from_utc_datetime(&(local - TimeDelta::days(1))).fix(),
    }
}
