//! Adding items to a ledger.

use super::input::Item;
use super::item::{ItemRecord, KindRecord};
use super::kits;
use super::ledger::Ledger;
use crate::codes::Code;
use crate::names::index;
use crate::problem::Problem;
use kitlore_syntax::key;

impl Ledger {
    /// Adds an item to the inventory; `missing-id`, `missing-kind` or `duplicate-item` if it cannot be.
    pub fn add_item(&mut self, mut item: Item) -> Result<(), Problem> {
        item.id = item.id.trim().to_owned();
        let place = item.place.clone();
        if item.id.is_empty() {
            return Err(Problem::new(Code::MissingId, "this item has no id; give it one").at(place));
        }
        if item.kind.trim().is_empty() {
            let problem = Problem::new(Code::MissingKind, "`{item}` has no kind; say what it is");
            return Err(problem.with("item", item.id).at(place));
        }
        let stream = self.add_stream(&item.id, true);
        let number = index(self.items.len());
        if let Some(filed) = self.store.streams.get_mut(stream as usize) {
            if filed.item.is_some() {
                let sentence = "there is an item `{item}` already; the first one stands";
                return Err(Problem::new(Code::DuplicateItem, sentence).with("item", item.id).at(place));
            }
            filed.item = Some(number);
        }
        let trimmed = |text: &String| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
        item.kits = item.kits.iter().flat_map(|cell| kits::split(cell)).map(str::to_owned).collect();
        item.model = item.model.as_ref().and_then(trimmed);
        let (kits, bad_kits) = kits::read(&item.kits);
        self.kits.extend(kits.iter().map(|own| own.kit.to_string()));
        self.models.extend(item.model.clone());
        let attributes = item
            .attributes
            .iter()
            .filter(|(_, value)| !value.trim().is_empty())
            .map(|(heading, value)| (key(heading), value.trim().to_owned()))
            .collect();
        let kind = self.add_kind(item.kind.trim());
        let first = self.kinds.get(kind as usize).map(|known| &known.name);
        let kind_name = match first.filter(|first| ***first == *item.kind.trim()) {
            Some(first) => first.clone(),
            None => item.kind.trim().into(),
        };
        let id = item.id.as_str().into();
        self.items.push(ItemRecord { id, kind_name, item, kind, kits, bad_kits, stream, attributes });
        Ok(())
    }

    fn add_kind(&mut self, name: &str) -> u32 {
        let number = self.kind_names.add(name);
        if number == index(self.kinds.len()) {
            let keys = self.program.inner().broader(&key(name));
            self.kinds.push(KindRecord { name: name.into(), keys });
        }
        number
    }

    /// The item with an id.
    pub fn item(&self, id: &str) -> Option<&ItemRecord> {
        self.items.get(self.item_number(id)? as usize)
    }

    /// The number of the item with an id.
    pub fn item_number(&self, id: &str) -> Option<u32> {
        self.store.stream(self.find_stream(id.trim())?)?.item
    }
}
