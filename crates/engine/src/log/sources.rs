//! The names of the tables that entries come from.

use crate::names::{Map, index};
use std::sync::Arc;

/// Sources by number; answers share the list.
#[derive(Debug, Clone, Default)]
pub(crate) struct Sources {
    list: Arc<Vec<Arc<str>>>,
    numbers: Map<Arc<str>, u32>,
}

impl Sources {
    /// The number of a source, given on first sight.
    pub fn add(&mut self, name: &str) -> u32 {
        if let Some(number) = self.find(name) {
            return number;
        }
        let number = index(self.list.len());
        let name: Arc<str> = name.into();
        Arc::make_mut(&mut self.list).push(name.clone());
        self.numbers.insert(name, number);
        number
    }

    pub fn find(&self, name: &str) -> Option<u32> {
        self.numbers.get(name).copied()
    }

    pub fn get(&self, number: u32) -> Option<&Arc<str>> {
        self.list.get(number as usize)
    }

    pub fn list(&self) -> &Arc<Vec<Arc<str>>> {
        &self.list
    }
}
