//! The names of a log as numbers.

use super::spellings::Spellings;
use crate::names::Names;
use smol_str::SmolStr;

/// Names of a log: as [`Names`], with every spelling remembered so that a key is made once per spelling.
#[derive(Debug, Clone)]
pub(crate) struct Lexicon {
    names: Names,
    spellings: Spellings,
    /// The names that were met, each as first spelled, in order.
    met: Vec<(u32, SmolStr)>,
    /// By number: whether it was met.
    is_met: Vec<bool>,
}

impl Lexicon {
    /// Starts with the names of the rules.
    pub fn from_rules(names: &Names) -> Self {
        Self { names: names.clone(), spellings: Spellings::default(), met: Vec::new(), is_met: Vec::new() }
    }

    pub fn add(&mut self, spelling: &str) -> u32 {
        if let Some(id) = self.spellings.get(spelling) {
            return id;
        }
        let name = spelling.trim();
        let id = self.names.add(name);
        self.spellings.insert(spelling, id);
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
    pub fn find_spelled(&self, spelling: &str) -> Option<u32> {
        self.spellings.get(spelling)
    }

    /// The names that were met, each as first spelled whatever the rules spell, in order.
    pub fn met(&self) -> &[(u32, SmolStr)] {
        &self.met
    }

    pub fn text(&self, id: u32) -> &str {
        self.names.text(id)
    }

    /// The key of a number's name.
    pub fn key(&self, id: u32) -> &str {
        self.names.key(id)
    }

    /// The number of a key that the rules or the log have.
    pub fn find(&self, key: &str) -> Option<u32> {
        self.names.find(key)
    }

    /// The name as a log would write it: as first spelled, unless that is a plural of the rules.
    pub fn singular(&self, id: u32) -> String {
        let (text, key) = (self.text(id), self.key(id));
        if text.to_lowercase() == key { text.to_owned() } else { key.to_owned() }
    }

    pub fn texts(&self) -> impl Iterator<Item = &str> {
        self.names.texts()
    }
}
