//! Tells copies from the frames of a burst, by their names.

use super::placed::PlacedShot;
use crate::exif::Gear;
use crate::pictures::Shot;
use chrono::Timelike;
use indexmap::IndexSet;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::ffi::OsStr;
use std::path::Path;

/// A name is compared with at most this many others of the same moment, lest a folder of files that all have one
/// time take forever.
const COMPARED: usize = 64;

/// The frames among the pictures of one body and one moment, which come in order of folder and name. Of several
/// files of one frame the most complete is taken: a copy may have lost metadata of its original.
pub(crate) fn without_copies(moment: Vec<PlacedShot>, pairs: &IndexSet<(Gear, Gear)>) -> Vec<PlacedShot> {
    let lacks = |shot: &Shot| {
        let shows_lens = pairs.get_index(shot.pair as usize).is_some_and(|(_, lens)| !lens.is_empty());
        (!shows_lens, shot.offset.is_none(), shot.measured.is_none())
    };
    let mut named: Vec<(FileName, PlacedShot)> =
        moment.into_iter().map(|one| (FileName::of(&one.shot), one)).collect();
    // Originals come before files that are named after them.
    named.sort_by(|(a, _), (b, _)| a.stem.len().cmp(&b.stem.len()).then_with(|| a.cmp(b)));
    let mut frames: Vec<(FileName, PlacedShot)> = Vec::new();
    let mut by_stem: HashMap<String, usize> = HashMap::new();
    for (name, one) in named {
        let fraction = one.shot.taken.nanosecond() != 0;
        let at = match by_stem.entry(name.stem.clone()) {
            Entry::Occupied(at) => Some(*at.get()),
            Entry::Vacant(free) => {
                let at = frames.iter().take(COMPARED).position(|(other, _)| name.is_copy(other, fraction));
                free.insert(at.unwrap_or(frames.len()));
                at
            }
        };
        match at.and_then(|at| frames.get_mut(at)) {
            None => frames.push((name, one)),
            Some((_, frame)) if lacks(&one.shot) < lacks(&frame.shot) => *frame = one,
            Some(_) => {}
        }
    }
    frames.into_iter().map(|(_, one)| one).collect()
}

/// The name of a file in lower case, with the number of its folder.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct FileName {
    stem: String,
    ending: String,
    folder: u32,
}

impl FileName {
    fn of(shot: &Shot) -> Self {
        let name = Path::new(&shot.name);
        let part = |part: Option<&OsStr>| part.unwrap_or_default().to_string_lossy().to_lowercase();
        Self { folder: shot.folder, stem: part(name.file_stem()), ending: part(name.extension()) }
    }

    /// Whether it is another file of the same frame; both are of one body and moment.
    ///
    /// If the moment has a fraction of a second, only a neighbour by number in the same folder is another frame. If
    /// it is a whole second, every file is, except one whose name marks it as a copy or an edit. In doubt it is
    /// another frame: counted too early rather than too late.
    fn is_copy(&self, other: &FileName, fraction: bool) -> bool {
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

/// A name with every digit replaced by 0.
fn shape(stem: &str) -> String {
    stem.chars().map(|c| if c.is_ascii_digit() { '0' } else { c }).collect()
}
