//! Clocks that jump back: file numbers that go on while the time goes back.

use crate::folder::Found;
use crate::frames::{File, Frames};
use crate::problems::Problems;
use chrono::TimeDelta;
use kitlore_engine::Problem;
use std::cmp::Ordering;
use std::ffi::OsStr;
use std::path::Path;

/// The jumps of one body. Only files that follow each other by number in one folder are compared.
pub(crate) fn jumps(body: &str, mut frames: Frames<'_>, files: &Found, problems: &mut Problems) {
    let mut list = std::mem::take(&mut frames.shots);
    let numbered = |shot: u32| Numbered::of(frames.file(shot));
    list.retain(|shot| numbered(*shot).is_some());
    list.sort_unstable_by(|a, b| match (numbered(*a), numbered(*b)) {
        (Some(one), Some(other)) => one.compare(&other).then(a.cmp(b)),
        _ => Ordering::Equal,
    });
    let is_one = |a: &u32, b: &u32| {
        numbered(*a).zip(numbered(*b)).is_some_and(|(one, other)| one.series(&other).is_eq())
    };
    for series in list.chunk_by(is_one) {
        // Numbers that began anew in the same folder: the highest number lies before the lowest.
        if series.last().and_then(|last| numbered(*last)).is_some_and(|last| last.is_highest()) {
            continue;
        }
        for pair in series.windows(2) {
            let [earlier, later] = pair else { continue };
            let Some((one, next)) = numbered(*earlier).zip(numbered(*later)) else { continue };
            let back = one.file.order - next.file.order;
            if next.number == one.number + 1 && back > TimeDelta::seconds(1) {
                problems.add(Problem::new(
                    "clock-jumps-back",
                    format!(
                        "the clock of `{body}` goes back by {} from `{}` to `{}`; if it was wrong, mend it with a shift; if it was set for another zone or for winter time, all is well",
                        spoken(back),
                        one.file.name.to_string_lossy(),
                        files.in_folder(next.file.folder, next.file.name).display()
                    ),
                ));
            }
        }
    }
}

/// A file with a number at the end of its name.
struct Numbered<'a> {
    file: File<'a>,
    /// What stands before the number.
    before: &'a str,
    number: u64,
    digits: u32,
}

impl<'a> Numbered<'a> {
    fn of(file: File<'a>) -> Option<Self> {
        let stem = Path::new(file.name).file_stem().and_then(OsStr::to_str)?;
        let digits = stem.bytes().rev().take_while(u8::is_ascii_digit).count();
        let (before, number) = stem.split_at_checked(stem.len() - digits)?;
        if !(3..=9).contains(&digits) {
            return None;
        }
        Some(Self { file, before, number: number.parse().ok()?, digits: u32::try_from(digits).ok()? })
    }

    /// Whether numbers go on from one to the other: in one folder, with the same letters before.
    fn series(&self, other: &Self) -> Ordering {
        let lower = |numbered: &Self| numbered.before.bytes().map(|byte| byte.to_ascii_lowercase());
        let before = || lower(self).cmp(lower(other));
        let folder = self.file.folder.cmp(&other.file.folder);
        folder.then_with(before).then(self.digits.cmp(&other.digits))
    }

    fn compare(&self, other: &Self) -> Ordering {
        let number = || self.number.cmp(&other.number).then(self.file.order.cmp(&other.file.order));
        self.series(other).then_with(number)
    }

    fn is_highest(&self) -> bool {
        self.number + 1 == 10_u64.pow(self.digits)
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
