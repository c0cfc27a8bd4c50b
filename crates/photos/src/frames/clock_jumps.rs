//! Clocks that jump back: file numbers go on while the time goes back.

use super::placed::PlacedShot;
use crate::codes::PictureCode;
use crate::problems::Problems;
use crate::sort::{Record, SpillError, codec};
use chrono::{NaiveDateTime, TimeDelta};
use kitlore_engine::Problem;
use std::cmp::Ordering;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};

/// The jumps of one body's clock. `numbered` are its files in order; only files of one folder with consecutive
/// numbers are compared.
pub(crate) fn jumps(
    body: &str,
    numbered: impl Iterator<Item = Result<NumberedFile, SpillError>>,
    folders: &[&PathBuf],
) -> Result<Problems, SpillError> {
    let mut problems = Problems::default();
    let mut series = Problems::default();
    let mut end = |last: &NumberedFile, series: &mut Problems| {
        let series = std::mem::take(series);
        // Where numbering started again in the same folder, the highest number is older than the lowest: no jumps.
        if !last.is_highest() {
            problems.extend(series);
        }
    };
    let mut last: Option<NumberedFile> = None;
    for next in numbered {
        let next = next?;
        if let Some(one) = &last {
            let back = one.order - next.order;
            if one.series(&next).is_ne() {
                end(one, &mut series);
            } else if next.number == one.number + 1 && back > TimeDelta::seconds(1) {
                let folder = folders.get(next.folder as usize);
                let to = folder.map(|folder| folder.join(&*next.name)).unwrap_or_default();
                let sentence = "the clock of `{item}` goes back by {by} from `{from}` to `{to}`; if it was wrong, correct it with a shift; if it was set to another zone or to winter time, all is well";
                let problem = Problem::new(PictureCode::ClockJumpsBack, sentence).with("item", body);
                let problem = problem.with("by", spoken(back)).with("from", &*one.name.to_string_lossy());
                series.add(problem.with("to", to.display().to_string()));
            }
        }
        last = Some(next);
    }
    if let Some(last) = last {
        end(&last, &mut series);
    }
    Ok(problems)
}

/// The file of a frame, with a number at the end of its name.
#[derive(Debug, Clone)]
pub(crate) struct NumberedFile {
    /// The number of the body's item.
    pub item: u32,
    folder: u32,
    /// How many bytes of its name come before the number.
    prefix: u32,
    digits: u32,
    number: u32,
    order: NaiveDateTime,
    name: Box<OsStr>,
}

codec!(NumberedFile { item, folder, prefix, digits, number, order, name });

impl NumberedFile {
    pub fn of(frame: &PlacedShot) -> Option<Self> {
        let PlacedShot { item, order, shot } = frame;
        let stem = Path::new(&shot.name).file_stem().and_then(OsStr::to_str)?;
        let digits = stem.bytes().rev().take_while(u8::is_ascii_digit).count();
        let (prefix, number) = stem.split_at_checked(stem.len() - digits)?;
        if !(3..=9).contains(&digits) {
            return None;
        }
        Some(Self {
            item: *item,
            folder: shot.folder,
            prefix: u32::try_from(prefix.len()).ok()?,
            digits: u32::try_from(digits).ok()?,
            number: number.parse().ok()?,
            order: *order,
            name: shot.name.clone(),
        })
    }

    /// Equal for files whose numbers continue each other: in one folder, with the same letters before the number.
    fn series(&self, other: &Self) -> Ordering {
        let folder = self.folder.cmp(&other.folder);
        folder.then_with(|| self.prefix().cmp(other.prefix())).then(self.digits.cmp(&other.digits))
    }

    /// What comes before the number, in lower case.
    fn prefix(&self) -> impl Iterator<Item = u8> {
        let prefix = self.name.as_encoded_bytes().iter().take(self.prefix as usize);
        prefix.map(u8::to_ascii_lowercase)
    }

    fn is_highest(&self) -> bool {
        self.number + 1 == 10_u32.pow(self.digits)
    }
}

impl Record for NumberedFile {
    fn compare(&self, other: &Self) -> Ordering {
        let number = || self.number.cmp(&other.number).then(self.order.cmp(&other.order));
        let series = self.item.cmp(&other.item).then_with(|| self.series(other));
        series.then_with(number).then_with(|| self.name.cmp(&other.name))
    }

    fn group(&self) -> u32 {
        self.item
    }
}

/// `1 h 2 min`, `40 s`.
fn spoken(span: TimeDelta) -> String {
    let parts = [
        (span.num_days(), "d"),
        (span.num_hours() % 24, "h"),
        (span.num_minutes() % 60, "min"),
        (span.num_seconds() % 60, "s"),
    ];
    let parts = parts.iter().filter(|(count, _)| *count > 0).take(2);
    parts.map(|(count, unit)| format!("{count} {unit}")).collect::<Vec<_>>().join(" ")
}
