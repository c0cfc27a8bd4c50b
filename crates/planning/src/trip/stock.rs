//! Which items of the inventory a need is, and how many of it there are.
//!
//! A need is an item whose kind it names (or a broader kind), whose model it is, or whose column `supply`
//! lists it (joined by `;`). Its stock is the last reading of an event `stock` for that item, else its column
//! `stock`.

use super::answer::{AtHand, Packed};
use super::snapshot::Snapshot;
use kitlore_engine::{Amount, Book, Instant, Item, Standing};
use kitlore_syntax::key;
use std::collections::HashSet;

/// Looks every need up in the inventory.
pub(crate) fn look_up(book: &mut Book, packed: &mut [Packed], trip_items: &[String], at: Instant) {
    let today = book.program().local(at).date_naive();
    let trip_items: HashSet<&String> = trip_items.iter().collect();
    for packed in packed {
        let need = key(&packed.need);
        let items: Vec<Item> = book
            .items()
            .filter(|item| item.retired.is_none_or(|retired| retired > today))
            .filter(|item| is_it(book, item, &need))
            .cloned()
            .collect();
        for item in items {
            let rows = Snapshot::of(book, [&item.id], at);
            if !rows.has(&item.id) || rows.rows().any(|row| row.standing == Standing::Grounded) {
                continue;
            }
            let reading = book.last_reading(&item.id, "stock", at).map(|(stock, _)| stock);
            let stock =
                reading.or_else(|| column(&item, "stock").and_then(|text| Amount::parse_signed(text).ok()));
            let comes_along = trip_items.contains(&item.id);
            packed.at_hand.push(AtHand { item: item.id, comes_along, stock });
        }
        packed
            .at_hand
            .sort_by(|one, other| (!one.comes_along, &one.item).cmp(&(!other.comes_along, &other.item)));
        packed.stock = sum(packed.at_hand.iter().filter_map(|hand| hand.stock));
        packed.short = packed.stock.is_some_and(|stock| stock < Amount::from(packed.uses));
    }
}

/// Whether an item is what a need names.
fn is_it(book: &Book, item: &Item, need: &str) -> bool {
    book.program().broader_kinds(&item.kind).iter().any(|kind| kind == need)
        || item.model.as_deref().is_some_and(|model| key(model) == need)
        || column(item, "supply").is_some_and(|list| list.split(';').any(|one| key(one) == need))
}

fn column<'a>(item: &'a Item, name: &str) -> Option<&'a str> {
    let found = item.attributes.iter().find(|(heading, _)| key(heading) == name);
    found.map(|(_, value)| value.trim()).filter(|value| !value.is_empty())
}

fn sum(amounts: impl Iterator<Item = Amount>) -> Option<Amount> {
    amounts.fold(None, |sum, amount| {
        let micros = sum.unwrap_or(Amount::ZERO).micros().saturating_add(amount.micros());
        Some(Amount::from_micros(micros))
    })
}
