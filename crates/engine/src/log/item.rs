//! Items of the inventory as a ledger keeps them.

use super::input::Item;
use std::sync::Arc;

#[derive(Debug, Clone)]
pub(crate) struct ItemRecord {
    /// The id, shared with every answer.
    pub id: Arc<str>,
    /// The kind as spelled for this item, shared where others are spelled alike.
    pub kind_name: Arc<str>,
    pub item: Item,
    pub kind: u32,
    /// The name under which entries for its id are filed.
    pub stream: u32,
    /// Other columns by key.
    pub attributes: Vec<(String, String)>,
}

#[derive(Debug, Clone)]
pub(crate) struct KindRecord {
    /// As first spelled in the inventory.
    pub name: Arc<str>,
    /// Its own key and those of broader kinds.
    pub keys: Vec<String>,
}
