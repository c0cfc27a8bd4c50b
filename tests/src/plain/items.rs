//! Items (contract, section 4).

use super::kits::{self, Stay};
use super::rows::{ItemRow, Problem};
use chrono::NaiveDate;
use kitlore_syntax::{key, parse_date};
use std::collections::BTreeSet;

/// One item of the inventory, read.
#[derive(Debug, Clone)]
pub struct Item {
    /// Its row in the inventory.
    pub row: u32,
    /// The id.
    pub id: String,
    /// The kind as written.
    pub kind: String,
    /// Its key.
    pub kind_key: String,
    /// The inventory's dates.
    pub received: Option<NaiveDate>,
    /// See `received`.
    pub in_service: Option<NaiveDate>,
    /// See `received`.
    pub retired: Option<NaiveDate>,
    /// The stays in kits.
    pub kits: Vec<Stay>,
    /// The model; empty if none.
    pub model: String,
    /// Key and value of every other column that has a value.
    pub attributes: Vec<(String, String)>,
}

/// The inventory, one item per id (section 4, item).
pub fn read_all(rows: &[ItemRow], problems: &mut BTreeSet<Problem>) -> Vec<Item> {
    let mut items: Vec<Item> = Vec::new();
    for row in rows {
        let mut date = |text: &str| match text.trim() {
            "" => None,
            text => parse_date(text).map_err(|_| problems.insert(Problem::item("bad-time", row.row))).ok(),
        };
        let (stays, mistakes) = kits::read(&row.kit);
        let item = Item {
            row: row.row,
            id: row.id.trim().to_owned(),
            kind: row.kind.trim().to_owned(),
            kind_key: key(&row.kind),
            received: date(&row.received),
            in_service: date(&row.in_service),
            retired: date(&row.retired),
            kits: stays,
            model: row.model.trim().to_owned(),
            attributes: row
                .attributes
                .iter()
                .map(|(name, value)| (key(name), value.trim().to_owned()))
                .filter(|(_, value)| !value.is_empty())
                .collect(),
        };
        if item.id.is_empty() {
            problems.insert(Problem::item("missing-id", row.row));
        } else if item.kind.is_empty() {
            problems.insert(Problem::item("missing-kind", row.row));
        } else if items.iter().any(|i| i.id == item.id) {
            problems.insert(Problem::item("duplicate-item", row.row));
        } else {
            if mistakes > 0 {
                problems.insert(Problem::item("bad-time", row.row));
            }
            items.push(item);
        }
    }
    items
}

/// By which column an entry came to hold for an item (section 4, log entry).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NamedBy {
    /// The item's id.
    Id,
    /// One of its kits.
    Kit,
    /// Its model.
    Model,
    /// Its kind or a broader one.
    Kind,
    /// Nothing: it holds for every item.
    Nothing,
}
