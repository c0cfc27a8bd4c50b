//! What the log knows of pictures already, told by the ids of its entries.
//!
//! The id of counted frames says which item, with what, from which moment to which, and how many:
//! `frames:C1:Harbour 35mm:20260207T091203/20260207T180000:120`. The moments are those of the body's own clock
//! and do not change with a zone or a mended clock given later.

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

const FORM: &str = "%Y%m%dT%H%M%S%.f";

impl fmt::Display for Stamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.at.format(FORM), if self.utc { "Z" } else { "" })
    }
}

impl FromStr for Stamp {
    type Err = chrono::ParseError;

    fn from_str(text: &str) -> Result<Self, chrono::ParseError> {
        let (time, utc) = text.strip_suffix('Z').map_or((text, false), |time| (time, true));
        Ok(Self { utc, at: NaiveDateTime::parse_from_str(time, FORM)? })
    }
}

/// Frames from one moment to another, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Span {
    pub first: Stamp,
    pub last: Stamp,
    pub count: u64,
}

impl Span {
    pub fn holds(&self, stamp: Stamp) -> bool {
        stamp.utc == self.first.utc && (self.first..=self.last).contains(&stamp)
    }
}

/// What counted frames are counted for: an item, and what it was used with.
pub(crate) fn frames_of(item: &str, with: &str) -> String {
    format!("frames:{}:{}", escaped(item), escaped(with))
}

/// The id of counted frames.
pub(crate) fn frames_id(of: &str, span: &Span) -> String {
    format!("{of}:{}/{}:{}", span.first, span.last, span.count)
}

/// Ids part their words by colons.
pub(crate) fn escaped(text: &str) -> String {
    text.replace('%', "%25").replace(':', "%3A")
}

fn unescaped(text: &str) -> String {
    text.replace("%3A", ":").replace("%25", "%")
}

/// The entries of a log that came from pictures.
///
/// ```
/// use kitlore_photos::Known;
/// let known = Known::from_ids(["frames:C1:Harbour 35mm:20260207T091203/20260207T180000:120", "something else"]);
/// assert!(!known.is_empty());
/// ```
#[derive(Debug, Default)]
pub struct Known {
    ids: HashSet<String>,
    /// By item, by what it was used with.
    spans: HashMap<String, HashMap<String, Vec<Span>>>,
}

impl Known {
    /// From the ids of a log; those of other entries are passed over.
    pub fn from_ids<T: AsRef<str>>(ids: impl IntoIterator<Item = T>) -> Self {
        let mut known = Self::default();
        for id in ids {
            let id = id.as_ref();
            if let Some((item, with, span)) = read_frames(id) {
                let spans = known.spans.entry(item).or_default().entry(with).or_default();
                // Of frames found later within a known span the greatest number holds all.
                match spans.iter_mut().find(|old| (old.first, old.last) == (span.first, span.last)) {
                    Some(old) => old.count = old.count.max(span.count),
                    None => spans.push(span),
                }
                known.ids.insert(id.to_owned());
            } else if id.starts_with("lens change:") || id.starts_with("shooting day:") {
                known.ids.insert(id.to_owned());
            }
        }
        known
    }

    /// Whether it knows of none.
    pub fn is_empty(&self) -> bool {
        self.ids.is_empty()
    }

    /// Whether it knows of frames of an item.
    ///
    /// ```
    /// # use kitlore_photos::Known;
    /// let known = Known::from_ids(["frames:C1:Harbour 35mm:20260207T091203/20260207T180000:120"]);
    /// assert!(known.knows("C1") && !known.knows("C2"));
    /// ```
    pub fn knows(&self, item: &str) -> bool {
        self.spans.contains_key(item)
    }

    pub(crate) fn has(&self, id: &str) -> bool {
        self.ids.contains(id)
    }

    pub(crate) fn spans(&self, item: &str, with: &str) -> &[Span] {
        self.spans.get(item).and_then(|spans| spans.get(with)).map(Vec::as_slice).unwrap_or_default()
    }

    /// All spans of an item, with what it was used with.
    pub(crate) fn of_item(&self, item: &str) -> impl Iterator<Item = (&str, &Span)> {
        let spans = self.spans.get(item).into_iter().flatten();
        spans.flat_map(|(with, spans)| spans.iter().map(move |span| (with.as_str(), span)))
    }
}

fn read_frames(id: &str) -> Option<(String, String, Span)> {
    let mut words = id.strip_prefix("frames:")?.split(':');
    let (item, with) = (unescaped(words.next()?), unescaped(words.next()?));
    let (first, last) = words.next()?.split_once('/')?;
    let (first, last) = (first.parse().ok()?, last.parse().ok()?);
    let count = words.next()?.parse().ok()?;
    Some((item, with, Span { first, last, count })).filter(|_| words.next().is_none())
}
