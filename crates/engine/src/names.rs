//! Names as small integers, and the name that was probably meant.

use kitlore_syntax::key;
use smol_str::SmolStr;
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
    texts: Vec<String>,
}

impl Names {
    /// The number of a name, given on first sight; its spelling is the first one.
    pub fn add(&mut self, text: &str) -> u32 {
        let next = u32::try_from(self.texts.len()).unwrap_or(u32::MAX);
        let id = *self.by_key.entry(key(text)).or_insert(next);
        if id == next {
            self.texts.push(text.to_owned());
        }
        id
    }

    /// The number of a key that was met.
    pub fn find(&self, key: &str) -> Option<u32> {
        self.by_key.get(key).copied()
    }

    /// The name of a number.
    pub fn text(&self, id: u32) -> &str {
        self.texts.get(id as usize).map_or("", String::as_str)
    }

    pub fn texts(&self) -> impl Iterator<Item = &str> {
        self.texts.iter().map(String::as_str)
    }

    pub fn len(&self) -> usize {
        self.texts.len()
    }
}

/// Names of a log: as [`Names`], with every spelling remembered so that a key is made once per spelling.
#[derive(Debug, Clone)]
pub(crate) struct Lexicon {
    names: Names,
    spellings: Map<SmolStr, u32>,
    /// The names that were met, each as first spelled, in order.
    met: Vec<(u32, SmolStr)>,
    /// By number: whether it was met.
    is_met: Vec<bool>,
}

impl Lexicon {
    /// Starts with the names of the rules.
    pub fn from_rules(names: &Names) -> Self {
        Self { names: names.clone(), spellings: Map::default(), met: Vec::new(), is_met: Vec::new() }
    }

    pub fn add(&mut self, spelling: &str) -> u32 {
        if let Some(&id) = self.spellings.get(spelling) {
            return id;
        }
        let name = spelling.trim();
        let id = self.names.add(name);
        self.spellings.insert(spelling.into(), id);
        let at = id as usize;
        if self.is_met.len() <= at {
            self.is_met.resize(at + 1, false);
        }
        if let Some(is_met) = self.is_met.get_mut(at).filter(|is_met| !**is_met) {
            *is_met = true;
            self.met.push((id, name.into()));
        }
        id
    }

    /// The number of a spelling that was met.
    pub fn spelled(&self, spelling: &str) -> Option<u32> {
        self.spellings.get(spelling).copied()
    }

    /// The names that were met, each as first spelled whatever the rules spell, in order.
    pub fn met(&self) -> &[(u32, SmolStr)] {
        &self.met
    }

    pub fn text(&self, id: u32) -> &str {
        self.names.text(id)
    }

    /// The name as a log would write it: as first spelled, unless that is a plural of the rules.
    pub fn singular(&self, id: u32) -> String {
        let text = self.text(id);
        let key = key(text);
        if text.to_lowercase() == key { text.to_owned() } else { key }
    }

    pub fn texts(&self) -> impl Iterator<Item = &str> {
        self.names.texts()
    }
}

/// So many names are compared with one that looks like a slip: more than any house has, and few enough that
/// no text makes the comparing long.
const COMPARED: usize = 2_000;

/// The most bytes that two letters more can have.
const TWO_LETTERS: usize = 8;

/// Names that may have been meant.
pub(crate) struct Candidates<'a>(Vec<(String, &'a str)>);

impl<'a> Candidates<'a> {
    pub fn new(names: impl Iterator<Item = &'a str>) -> Self {
        Self(names.take(COMPARED).map(|name| (key(name), name)).collect())
    }

    /// The candidate closest to a name, if one is close enough to be a slip of it: as spelled, or by its key
    /// where the spelling is a plural, which a log would not use.
    pub fn closest(&self, name: &str) -> Option<&str> {
        let wanted = key(name);
        let limit = match wanted.chars().count() {
            0..=2 => 0,
            3..=5 => 1,
            _ => 2,
        };
        self.0
            .iter()
            .filter(|(candidate, _)| candidate.len().abs_diff(wanted.len()) <= TWO_LETTERS)
            .map(|known| (strsim::osa_distance(&wanted, &known.0), known))
            .filter(|(distance, _)| *distance <= limit)
            .min_by_key(|(distance, _)| *distance)
            .map(|(_, (key, text))| if text.to_lowercase() == *key { text } else { key.as_str() })
    }
}
