//! Items of the inventory as a ledger keeps them.

use super::input::Item;
use super::kits::InKit;
use crate::problem::Problem;
use std::sync::Arc;

#[derive(Debug, Clone)]
pub(crate) struct ItemRecord {
    /// The id, shared with every answer.
    pub id: Arc<str>,
    /// The kind as spelled for this item, shared where others are spelled alike.
    pub kind_name: Arc<str>,
    pub item: Item,
    pub kind: u32,
    /// The kits it is in, each once.
    pub kits: Vec<InKit>,
    /// What is wrong with its kits as written.
    pub bad_kits: Vec<Problem>,
    /// The name under which entries for its id are filed.
    pub stream: u32,
    /// Other columns by key.
    pub attributes: Vec<(String, String)>,
}

impl ItemRecord {
    /// Whether it is in a kit on some date.
    pub fn is_in(&self, kit: &str) -> bool {
        self.kits.iter().any(|own| *own.kit == *kit)
    }
}

#[derive(Debug, Clone)]
pub(crate) struct KindRecord {
    /// As first spelled in the inventory.
    pub name: Arc<str>,
    /// Its own key and those of broader kinds.
    pub keys: Vec<String>,
}
