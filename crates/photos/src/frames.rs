//! From pictures to frames: copies taken out, clocks mended, in the order in which one body took them.

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
    // Pictures that give more come first: a copy may have lost what its original gives.
    let shows_lens =
        |shot: &Shot| pictures.pairs.get(shot.pair as usize).is_some_and(|(_, lens)| !lens.is_empty());
    shots.sort_by(|a, b| {
        let given = |shot: &Shot| (!shows_lens(shot), shot.offset.is_none(), shot.measured.is_none());
        let name = |shot: &Shot| pictures.files.folder_and_name(shot.file);
        a.taken
            .cmp(&b.taken)
            .then_with(|| given(a).cmp(&given(b)))
            .then_with(|| name(a).1.cmp(name(b).1))
            .then_with(|| a.file.cmp(&b.file))
    });
    let mut frames = Vec::new();
    for moment in shots.chunk_by(|a, b| a.taken == b.taken) {
        let mut names: Vec<Name> = Vec::new();
        for shot in moment {
            let name = Name::new(pictures.files.folder_and_name(shot.file));
            if moment.len() > 1 && names.iter().any(|other| name.is_copy(other, has_fraction(shot.taken))) {
                continue;
            }
            names.push(name);
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

fn has_fraction(at: NaiveDateTime) -> bool {
    chrono::Timelike::nanosecond(&at) != 0
}

/// A file's name, for telling copies from the frames of a burst.
#[derive(Debug)]
struct Name {
    folder: u32,
    stem: String,
    ending: String,
}

impl Name {
    fn new((folder, name): (u32, &OsStr)) -> Self {
        let part = |part: Option<&OsStr>| part.unwrap_or_default().to_string_lossy().to_lowercase();
        Self { folder, stem: part(Path::new(name).file_stem()), ending: part(Path::new(name).extension()) }
    }

    /// Whether it is another file of the same frame, both being of one body and moment.
    ///
    /// To a fraction of a second only a numbered neighbour in the same folder is another frame; to a whole
    /// second every name is, except one with a mark of a copy or of an edit. In doubt it is another frame:
    /// counted early, never late.
    fn is_copy(&self, other: &Name, fraction: bool) -> bool {
        if self.stem == other.stem {
            return true;
        }
        let neighbours = self.folder == other.folder
            && self.ending == other.ending
            && shape(&self.stem) == shape(&other.stem);
        (fraction && !neighbours) || marked(&self.stem, &other.stem) || marked(&other.stem, &self.stem)
    }
}

/// Whether `long` is `short` with a mark such as ` (1)`, ` copy`, `-edit`, `copy of `.
fn marked(long: &str, short: &str) -> bool {
    let speaks = |mark: &str| mark.contains('(') || mark.chars().any(char::is_alphabetic);
    let parted = |c: Option<char>| c.is_some_and(|c| !c.is_alphanumeric());
    let after = long.strip_prefix(short).filter(|_| !short.is_empty());
    let before = long.strip_suffix(short).filter(|_| !short.is_empty());
    after.is_some_and(|mark| parted(mark.chars().next()) && speaks(mark))
        || before.is_some_and(|mark| parted(mark.chars().next_back()) && speaks(mark))
}

/// A name with its digits made equal.
fn shape(stem: &str) -> String {
    stem.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect()
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
