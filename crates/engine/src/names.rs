//! Names as small integers, and the name that was probably meant.

use kitlore_syntax::key;
use std::borrow::Cow;
use std::collections::{HashMap, HashSet};

/// Maps by names and numbers; the same in every run.
pub(crate) type Map<K, V> = HashMap<K, V, foldhash::fast::FixedState>;
pub(crate) type Set<K> = HashSet<K, foldhash::fast::FixedState>;

/// A count as a number of ours; books hold fewer than 2³² of anything.
pub(crate) fn index(count: usize) -> u32 {
    u32::try_from(count).unwrap_or(u32::MAX)
}

/// Names by key, numbered in the order they were met.
#[derive(Debug, Clone, Default)]
pub(crate) struct Names {
    by_key: Map<String, u32>,
    /// Spelling and key of each.
    texts: Vec<(String, String)>,
}

impl Names {
    /// The number of a name, given on first sight; its spelling is the first one.
    pub fn add(&mut self, text: &str) -> u32 {
        let next = u32::try_from(self.texts.len()).unwrap_or(u32::MAX);
        let key = key(text);
        if let Some(id) = self.by_key.get(&key) {
            return *id;
        }
        self.texts.push((text.to_owned(), key.clone()));
        self.by_key.insert(key, next);
        next
    }

    /// The number of a key that was met.
    pub fn find(&self, key: &str) -> Option<u32> {
        self.by_key.get(key).copied()
    }

    /// The name of a number.
    pub fn text(&self, id: u32) -> &str {
        self.texts.get(id as usize).map_or("", |(text, _)| text)
    }

    /// The key of a number's name.
    pub fn key(&self, id: u32) -> &str {
        self.texts.get(id as usize).map_or("", |(_, key)| key)
    }

    pub fn texts(&self) -> impl Iterator<Item = &str> {
        self.texts.iter().map(|(text, _)| text.as_str())
    }

    pub fn len(&self) -> usize {
        self.texts.len()
    }
}

/// So many names are compared with one that looks like a slip: more than any house has, and few enough that
/// no text makes the comparing long.
const COMPARED: usize = 2_000;

/// Names of the rules' sorts (events, tasks, conditions, findings, kinds) that may have been meant; of what is compared
/// as it is spelled, [`kitlore_syntax::Candidates`].
pub(crate) struct Candidates<'a>(kitlore_syntax::Candidates<'a>);

impl<'a> Candidates<'a> {
    pub fn new(names: impl Iterator<Item = &'a str>) -> Self {
        Self(kitlore_syntax::Candidates::new(names.take(COMPARED)))
    }

    /// The candidate closest to a name, if one is close enough to be meant: as spelled, or its key where the
    /// spelling is a plural, which a log would not use.
    pub fn closest(&self, name: &str) -> Option<Cow<'a, str>> {
        let text = self.0.closest(name)?;
        let key = key(text);
        let is_plural = text.to_lowercase().replace(['-', '_'], " ") != key && key != name;
        Some(if is_plural { Cow::Owned(key) } else { Cow::Borrowed(text) })
    }
}
