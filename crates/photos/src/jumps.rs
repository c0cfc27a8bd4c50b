//! Clocks that jump back: file numbers that go on while the time goes back.

use crate::folder::Found;
use crate::frames::{Frame, numbered};
use chrono::{NaiveDateTime, TimeDelta};
use kitlore_engine::Problem;
use std::collections::BTreeMap;

/// The jumps of one body. Only files that follow each other by number in one folder are compared.
pub(crate) fn jumps(body: &str, frames: &[Frame], files: &Found) -> Vec<Problem> {
    let mut series: BTreeMap<_, Vec<(u64, NaiveDateTime, u32)>> = BTreeMap::new();
    for frame in frames {
        let (folder, name) = files.folder_and_name(frame.file);
        if let Some((before, number, digits)) = numbered(name) {
            series.entry((folder, before, digits)).or_default().push((number, frame.order, frame.file));
        }
    }
    let mut told = Vec::new();
    for ((_, _, digits), mut list) in series {
        list.sort_unstable();
        // Numbers that began anew in the same folder: the highest number lies before the lowest.
        let turned = list.last().is_some_and(|(number, ..)| number + 1 == 10_u64.pow(digits as u32));
        for pair in list.windows(2) {
            let [(number, before, earlier), (next, after, later)] = pair else { continue };
            let back = *before - *after;
            if *next == number + 1 && back > TimeDelta::seconds(1) && !turned {
                let name = |file| files.folder_and_name(file).1.to_string_lossy().into_owned();
                told.push(Problem::new(
                    "clock-jumps-back",
                    format!(
                        "the clock of `{body}` goes back by {} from `{}` to `{}`; if it was wrong, mend it with a shift; if it was set for another zone or for winter time, all is well",
                        spoken(back),
                        name(*earlier),
                        files.path(*later).display()
                    ),
                ));
            }
        }
    }
    told
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
