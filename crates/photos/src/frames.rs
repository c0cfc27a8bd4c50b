//! From pictures to frames: clocks mended, in the order in which one body took them.

use crate::known::Stamp;
use crate::marks::{Mark, holding};
use crate::pictures::{Day, Shot};
use crate::report::Settings;
use crate::sorter::Record;
use crate::stored::fields;
use chrono::{FixedOffset, NaiveDate, NaiveDateTime, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;
use kitlore_engine::Item;
use std::cmp::Ordering;
use std::ffi::OsStr;

/// One release of the shutter.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Frame {
    /// As the picture gives it.
    pub stamp: Stamp,
    /// By the body's clock, mended, and its offset from UTC where that is known.
    pub local: NaiveDateTime,
    pub offset: Option<FixedOffset>,
    /// By what frames of one body are ordered.
    pub order: NaiveDateTime,
    /// Into the pairs of body and lens.
    pub pair: u32,
    /// The conditions that were measured.
    pub conditions: u64,
}

impl Frame {
    /// The shooting day: the date where the picture was taken.
    pub fn day(&self) -> NaiveDate {
        self.local.date()
    }

    /// For the log.
    pub fn written(&self) -> String {
        match self.offset {
            Some(offset) => format!("{}{offset}", self.local.format("%Y-%m-%dT%H:%M:%S%.f")),
            None => self.local.format("%Y-%m-%dT%H:%M:%S%.f").to_string(),
        }
    }
}

/// How the clock of one body is read.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Clock {
    pub zone: Option<Tz>,
    pub shift: TimeDelta,
    /// Whether some of its pictures give an offset: then instants order them, else its clock alone, which
    /// goes on evenly where that of the zone is changed.
    pub offsets: bool,
    /// Whether some do not, and no zone says theirs.
    pub is_mixed: bool,
}

impl Clock {
    /// Of an item with so many pictures that give an offset and do not.
    pub fn of(item: &Item, pictures: Day, settings: &Settings) -> Self {
        let offsets = pictures.with_offset > 0;
        Self {
            zone: settings.zone,
            shift: settings.shifts.get(&item.id).copied().unwrap_or_default(),
            offsets,
            is_mixed: offsets && pictures.without > 0 && settings.zone.is_none(),
        }
    }

    /// Mended clock time, offset, order.
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

    /// The order of a moment that the log knows.
    pub fn order(&self, stamp: Stamp) -> NaiveDateTime {
        let offset = FixedOffset::east_opt(0).filter(|_| stamp.utc);
        self.read(stamp.at, offset).2
    }
}

/// The offset of a zone at a local time: the earlier one where the clock shows it twice; where it leaves it
/// out, that of before, so that the time is shifted forward.
fn offset_in(zone: Tz, local: NaiveDateTime) -> FixedOffset {
    use chrono::LocalResult;
    match zone.offset_from_local_datetime(&local) {
        LocalResult::Single(offset) | LocalResult::Ambiguous(offset, _) => offset.fix(),
        // No gap but that of a skipped day is as long.
        LocalResult::None => zone.offset_from_utc_datetime(&(local - TimeDelta::days(1))).fix(),
    }
}

/// A frame as it is kept: the picture that shows it, and where it stands among those of all bodies.
#[derive(Debug, Clone)]
pub(crate) struct Placed {
    /// The number of the body's item.
    pub item: u32,
    pub order: NaiveDateTime,
    /// Its folder by the place of that among all.
    pub shot: Shot,
}

fields!(Placed { item, order, shot });

impl Record for Placed {
    fn compare(&self, other: &Self) -> Ordering {
        let (one, another) = (&self.shot, &other.shot);
        let by_name = || natural(&one.name).cmp(&natural(&another.name));
        let by_place = || (one.folder, &one.name).cmp(&(another.folder, &another.name));
        let by_time = self.item.cmp(&other.item).then(self.order.cmp(&other.order));
        by_time.then_with(by_name).then_with(by_place)
    }

    fn group(&self) -> u32 {
        self.item
    }
}

impl Frame {
    /// Of a picture.
    pub fn of(shot: &Shot, clock: &Clock, marks: &[Mark]) -> Self {
        let (local, offset, order) = clock.read(shot.taken, shot.offset);
        let stamp = match shot.offset.and_then(|offset| shot.taken.checked_sub_offset(offset)) {
            Some(at) => Stamp { utc: true, at },
            None => Stamp { utc: false, at: shot.taken },
        };
        let conditions = shot.measured.as_ref().map_or(0, |measured| holding(marks, measured));
        Self { stamp, local, offset, order, pair: shot.pair, conditions }
    }
}

/// A name in pieces, so that `IMG_9` stands before `IMG_10`.
fn natural(name: &OsStr) -> Vec<(String, u64)> {
    let name = name.to_string_lossy().to_lowercase();
    let mut pieces = vec![(String::new(), 0_u64)];
    let mut digits = false;
    for c in name.chars() {
        let number = c.to_digit(10);
        if number.is_none() && digits {
            pieces.push((String::new(), 0));
        }
        digits = number.is_some();
        if let Some((text, value)) = pieces.last_mut() {
            match number {
                Some(number) => *value = value.saturating_mul(10).saturating_add(number.into()),
                None => text.push(c),
            }
        }
    }
    pieces
}
