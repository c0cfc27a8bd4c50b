//! From pictures to frames: copies taken out, clocks mended, in the order in which one body took them.

use crate::copies::without_copies;
use crate::known::Stamp;
use crate::pictures::{Pictures, Shot};
use chrono::{FixedOffset, NaiveDate, NaiveDateTime, Offset, TimeDelta, TimeZone};
use chrono_tz::Tz;
use std::ffi::OsStr;
use std::path::Path;

/// One release of the shutter.
#[derive(Debug, Clone)]
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
    pub file: u32,
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

/// The frames of one body, in order. Pictures of one moment are one frame where their names say so.
pub(crate) fn frames(
    pictures: &Pictures,
    mut shots: Vec<&Shot>,
    clock: &Clock,
    conditions: impl Fn(&Shot) -> u64,
) -> Vec<Frame> {
    shots.sort_by_key(|shot| shot.taken);
    let mut frames = Vec::new();
    for moment in shots.chunk_by(|a, b| a.taken == b.taken) {
        for shot in without_copies(pictures, moment) {
            let (local, offset, order) = clock.read(shot.taken, shot.offset);
            let stamp = match shot.offset.and_then(|offset| shot.taken.checked_sub_offset(offset)) {
                Some(at) => Stamp { utc: true, at },
                None => Stamp { utc: false, at: shot.taken },
            };
            frames.push(Frame {
                stamp,
                local,
                offset,
                order,
                pair: shot.pair,
                conditions: conditions(shot),
                file: shot.file,
            });
        }
    }
    frames.sort_by(|a, b| {
        let name = |frame: &Frame| pictures.files.folder_and_name(frame.file).1;
        a.order.cmp(&b.order).then_with(|| natural(name(a)).cmp(&natural(name(b))))
    });
    frames
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

/// The number at the end of a file's name, and what stands before it.
pub(crate) fn numbered(name: &OsStr) -> Option<(String, u64, usize)> {
    let stem = Path::new(name).file_stem()?.to_string_lossy().to_lowercase();
    let digits = stem.bytes().rev().take_while(u8::is_ascii_digit).count();
    let (before, number) = stem.split_at_checked(stem.len() - digits)?;
    if !(3..=9).contains(&digits) {
        return None;
    }
    Some((before.to_owned(), number.parse().ok()?, digits))
}
