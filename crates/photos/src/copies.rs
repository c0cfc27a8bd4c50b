//! Copies told from the frames of a burst, by their names.

use crate::frames::Placed;
use crate::metadata::Gear;
use crate::pictures::Shot;
use chrono::Timelike;
use indexmap::IndexSet;
use std::collections::HashMap;
use std::collections::hash_map::Entry;
use std::ffi::OsStr;
use std::path::Path;

/// With so many names of one moment each further one is compared, lest a folder of files with one and the same
/// time take forever.
const COMPARED: usize = 64;

/// The frames among the pictures of one body and one moment, which come in order of folder and name. Of several files of
/// a frame the one that gives most is taken: a copy may have lost what its original gives.
pub(crate) fn without_copies(moment: Vec<Placed>, pairs: &IndexSet<(Gear, Gear)>) -> Vec<Placed> {
    let lacks = |shot: &Shot| {
        let shows_lens = pairs.get_index(shot.pair as usize).is_some_and(|(_, lens)| !lens.is_empty());
        (!shows_lens, shot.offset.is_none(), shot.measured.is_none())
    };
    let mut named: Vec<(Name, Placed)> = moment.into_iter().map(|one| (Name::of(&one.shot), one)).collect();
    // Originals before what is named after them.
    named.sort_by(|(a, _), (b, _)| a.stem.len().cmp(&b.stem.len()).then_with(|| a.cmp(b)));
    let mut frames: Vec<(Name, Placed)> = Vec::new();
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
            Some((_, kept)) if lacks(&one.shot) < lacks(&kept.shot) => *kept = one,
            Some(_) => {}
        }
    }
    frames.into_iter().map(|(_, one)| one).collect()
}

/// A file's name, for telling copies from the frames of a burst.
#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Name {
    stem: String,
    ending: String,
    folder: u32,
}

impl Name {
    fn of(shot: &Shot) -> Self {
        let name = Path::new(&shot.name);
        let part = |part: Option<&OsStr>| part.unwrap_or_default().to_string_lossy().to_lowercase();
        Self { folder: shot.folder, stem: part(name.file_stem()), ending: part(name.extension()) }
    }

    /// Whether it is another file of the same frame, both being of one body and moment.
    ///
    /// To a fraction of a second only a numbered neighbour in the same folder is another frame; to a whole
    /// second every name is, except one with a mark of a copy or of an edit. In doubt it is another frame:
    /// counted early, never late.
    fn is_copy(&self, other: &Name, fraction: bool) -> bool {
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
