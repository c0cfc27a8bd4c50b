//! What the log already has from pictures, by the ids of its entries.
//!
//! The id of counted frames gives the item, what it was used with, the first and the last moment, and the number:
//! `frames:C1:Harbour 35mm:20260207T091203/20260207T180000:120`. The moments are those of the body's own clock;
//! a zone or a correction of the clock that is given later does not change them.

use chrono::NaiveDateTime;
use std::collections::{HashMap, HashSet};
use std::fmt;
use std::str::FromStr;

/// A moment as the picture itself gives it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub(crate) struct Stamp {
    /// Whether the picture gives an offset: then the time is in UTC, else that of the body's clock.
    pub utc: bool,
    pub at: NaiveDateTime,
}

const FORMAT: &str = "%Y%m%dT%H%M%S%.f";

impl fmt::Display for Stamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.at.format(FORMAT), if self.utc { "Z" } else { "" })
    }
}

impl FromStr for Stamp {
    type Err = chrono::ParseError;

    fn from_str(text: &str) -> Result<Self, chrono::ParseError> {
        let (time, utc) = text.strip_suffix('Z').map_or((text, false), |time| (time, true));
        Ok(Self { utc, at: NaiveDateTime::parse_from_str(time, FORMAT)? })
    }
}

/// Frames that were counted from one moment to another, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct ImportedFrames {
    pub first: Stamp,
    pub last: Stamp,
    pub count: u64,
}

impl ImportedFrames {
    pub fn contains(&self, stamp: Stamp) -> bool {
        stamp.utc == self.first.utc && (self.first..=self.last).contains(&stamp)
    }
}

/// The start of the id of counted frames: an item, and what it was used with.
pub(crate) fn frames_of(item: &str, with: &str) -> String {
    format!("frames:{}:{}", escaped(item), escaped(with))
}

/// The id of counted frames.
pub(crate) fn frames_id(of: &str, span: &ImportedFrames) -> String {
    format!("{of}:{}/{}:{}", span.first, span.last, span.count)
}

/// Escapes colons, which separate the parts of an id.
pub(crate) fn escaped(text: &str) -> String {
    text.replace('%', "%25").replace(':', "%3A")
}

fn unescaped(text: &str) -> String {
    text.replace("%3A", ":").replace("%25", "%")
}

/// The entries of a log that come from pictures.
///
/// ```
/// use kitlore_photos::Imported;
/// let imported = Imported::from_ids(["frames:C1:Harbour 35mm:20260207T091203/20260207T180000:120", "something else"]);
/// assert!(!imported.is_empty());
/// ```
#[derive(Debug, Default)]
pub struct Imported {
    ids: HashSet<String>,
    /// By item, then by what it was used with.
    spans: HashMap<String, HashMap<String, Vec<ImportedFrames>>>,
}

impl Imported {
    /// From the ids of a log; ids of other entries are ignored.
    pub fn from_ids<T: AsRef<str>>(ids: impl IntoIterator<Item = T>) -> Self {
        let mut imported = Self::default();
        for id in ids {
            let id = id.as_ref();
            if let Some((item, with, span)) = read_frames(id) {
                let spans = imported.spans.entry(item).or_default().entry(with).or_default();
                // Where frames were added to a span later, the greatest number includes all.
                match spans.iter_mut().find(|old| (old.first, old.last) == (span.first, span.last)) {
                    Some(old) => old.count = old.count.max(span.count),
                    None => spans.push(span),
                }
                imported.ids.insert(id.to_owned());
            } else if id.starts_with("lens change:") || id.starts_with("shooting day:") {
                imported.ids.insert(id.to_owned());
            }
        }
        imported
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.ids.is_empty()
    }

    /// Whether there are frames of an item.
    ///
    /// ```
    /// # use kitlore_photos::Imported;
    /// let imported = Imported::from_ids(["frames:C1:Harbour 35mm:20260207T091203/20260207T180000:120"]);
    /// assert!(imported.has_frames_of("C1") && !imported.has_frames_of("C2"));
    /// ```
    pub fn has_frames_of(&self, item: &str) -> bool {
        self.spans.contains_key(item)
    }

    pub(crate) fn has(&self, id: &str) -> bool {
        self.ids.contains(id)
    }

    pub(crate) fn spans(&self, item: &str, with: &str) -> &[ImportedFrames] {
        self.spans.get(item).and_then(|spans| spans.get(with)).map(Vec::as_slice).unwrap_or_default()
    }

    /// All spans of an item, with what it was used with.
    pub(crate) fn of_item(&self, item: &str) -> impl Iterator<Item = (&str, &ImportedFrames)> {
        let spans = self.spans.get(item).into_iter().flatten();
        spans.flat_map(|(with, spans)| spans.iter().map(move |span| (with.as_str(), span)))
    }
}

fn read_frames(id: &str) -> Option<(String, String, ImportedFrames)> {
    let mut words = id.strip_prefix("frames:")?.split(':');
    let (item, with) = (unescaped(words.next()?), unescaped(words.next()?));
    let (first, last) = words.next()?.split_once('/')?;
    let (first, last) = (first.parse().ok()?, last.parse().ok()?);
    let count = words.next()?.parse().ok()?;
    Some((item, with, ImportedFrames { first, last, count })).filter(|_| words.next().is_none())
}
