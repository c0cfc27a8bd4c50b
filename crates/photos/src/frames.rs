//! From pictures to frames: copies taken out, clocks mended, in the order in which one body took them.

use crate::copies::without_copies;
use crate::known::Stamp;
use crate::marks::{Mark, holding};
use crate::pictures::{Pictures, Shot};
use chrono::{FixedOffset, NaiveDate, NaiveDateTime, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;
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
}

impl Clock {
    /// Mended clock time, offset, order.
    fn read(
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

/// Where a frame stands in time and in its folder.
#[derive(Debug, Clone, Copy)]
pub(crate) struct File<'a> {
    pub order: NaiveDateTime,
    pub folder: u32,
    pub name: &'a OsStr,
}

/// The frames of one body, in order: numbers of pictures, of which each frame is made when it is asked for.
pub(crate) struct Frames<'a> {
    pictures: &'a Pictures,
    clock: Clock,
    marks: &'a [Mark],
    /// The numbers of their pictures.
    pub shots: Vec<u32>,
}

impl<'a> Frames<'a> {
    /// Of these pictures of a body. Pictures of one moment are one frame where their names say so.
    pub fn of(pictures: &'a Pictures, clock: Clock, marks: &'a [Mark], mut shots: Vec<u32>) -> Self {
        let taken = |number: u32| pictures.shots.get(number as usize).map(|shot| shot.taken);
        shots.sort_unstable_by_key(|number| (taken(*number), *number));
        let mut kept = Vec::with_capacity(shots.len());
        for moment in shots.chunk_by(|a, b| taken(*a) == taken(*b)) {
            match moment {
                [only] => kept.push(*only),
                several => kept.extend(without_copies(pictures, several)),
            }
        }
        let mut frames = Self { pictures, clock, marks, shots: Vec::new() };
        kept.sort_unstable_by(|a, b| {
            let (one, other) = (frames.file(*a), frames.file(*b));
            let by_name = || natural(one.name).cmp(&natural(other.name));
            one.order.cmp(&other.order).then_with(by_name).then(a.cmp(b))
        });
        frames.shots = kept;
        frames
    }

    pub fn iter(&self) -> impl Iterator<Item = Frame> {
        self.shots
            .iter()
            .filter_map(|number| self.pictures.shots.get(*number as usize))
            .map(|shot| self.frame(shot))
    }

    fn frame(&self, shot: &Shot) -> Frame {
        let view = self.pictures.view(shot);
        let (local, offset, order) = self.clock.read(shot.taken, view.offset);
        let stamp = match view.offset.and_then(|offset| shot.taken.checked_sub_offset(offset)) {
            Some(at) => Stamp { utc: true, at },
            None => Stamp { utc: false, at: shot.taken },
        };
        Frame {
            stamp,
            local,
            offset,
            order,
            pair: view.pair,
            conditions: holding(self.marks, &view.measured),
        }
    }

    /// The file of a picture.
    pub fn file(&self, number: u32) -> File<'a> {
        let Some(shot) = self.pictures.shots.get(number as usize) else {
            return File { order: NaiveDateTime::MIN, folder: 0, name: OsStr::new("") };
        };
        let (folder, name) = self.pictures.files.folder_and_name(shot.file);
        let (_, _, order) = self.clock.read(shot.taken, self.pictures.view(shot).offset);
        File { order, folder, name }
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
