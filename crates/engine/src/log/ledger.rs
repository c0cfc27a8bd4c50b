//! The ledger: what was recorded, filed so that any item's entries can be read in order at any time.
//!
//! An entry is filed under the word it names (an id, a kit, a model, a kind, or nothing for every item); which
//! items that means is settled when somebody asks, so items and entries may come in any order.

use super::corrections::Corrections;
use super::entries::{EntrySpan, Extra, Fact, Line};
use super::expect::Expects;
use super::item::{ItemRecord, KindRecord};
use super::keys::SourceKey;
use super::lexicon::Lexicon;
use super::places::Places;
use super::sets::NameSets;
use super::sources::Sources;
use super::spellings::Spellings;
use super::store::{EVERY_ITEM, Store, is_every_item};
use super::text_pool::TextPool;
use super::written::Written;
use crate::names::{Map, Names, Set, index};
use crate::problem::{Place, Problem};
use crate::rules::Program;
use crate::time::Zone;
use kitlore_syntax::{Amount, key};
use std::num::NonZeroUsize;

/// Inventory and log.
#[derive(Debug, Clone)]
pub(crate) struct Ledger {
    /// The rules whose names and zone it uses.
    pub program: Program,
    pub items: Vec<ItemRecord>,
    /// Item numbers in order of id; made anew when items were added.
    pub by_id: Vec<u32>,
    pub kits: Set<String>,
    pub models: Set<String>,
    pub kinds: Vec<KindRecord>,
    pub kind_names: Lexicon,
    pub events: Lexicon,
    pub conditions: Lexicon,
    pub findings: Lexicon,
    pub units: Lexicon,
    pub references: TextPool,
    pub condition_sets: NameSets,
    pub finding_sets: NameSets,
    pub expects: Expects,
    pub store: Store,
    pub stream_names: Spellings,
    /// Streams whose name was no id when first met, by key: kits, models, kinds, and names nobody knows.
    pub groups: Map<String, Vec<u32>>,
    /// Where each entry was read, by order of record.
    pub places: Places,
    /// Numbers in the order of record whose entry was refused.
    pub unused: usize,
    pub sources: Sources,
    pub corrections: Corrections,
    pub written: Written,
    /// Problems that a host met while reading, each with the order of record of the entry after it.
    pub reports: Vec<(u32, Problem)>,
    /// The items it answers for, if not for all: entries that name the id of another are not kept.
    pub only: Option<Set<u32>>,
}

impl Ledger {
    pub fn new(program: &Program) -> Self {
        let rules = program.inner();
        let mut store = Store::default();
        let no_name = store.add("");
        let mut stream_names = Spellings::default();
        stream_names.insert("", no_name);
        Self {
            program: program.clone(),
            items: Vec::new(),
            by_id: Vec::new(),
            kits: Set::default(),
            models: Set::default(),
            kinds: Vec::new(),
            kind_names: Lexicon::from_rules(&Names::default()),
            events: Lexicon::from_rules(&rules.events),
            conditions: Lexicon::from_rules(&rules.conditions),
            findings: Lexicon::from_rules(&rules.findings),
            units: Lexicon::from_rules(&rules.units),
            references: TextPool::default(),
            condition_sets: NameSets::default(),
            finding_sets: NameSets::default(),
            expects: Expects::default(),
            store,
            stream_names,
            groups: Map::default(),
            places: Places::default(),
            unused: 0,
            sources: Sources::default(),
            corrections: Corrections::default(),
            written: Written::default(),
            reports: Vec::new(),
            only: None,
        }
    }

    /// Whether it answers for an item.
    pub fn answers_for(&self, item: u32) -> bool {
        self.only.as_ref().is_none_or(|only| only.contains(&item))
    }

    /// Whether the entries filed under a name are kept: they can concern an item that it answers for.
    pub fn keeps(&self, stream: u32) -> bool {
        let named = || self.store.stream(stream).and_then(|stream| stream.item);
        self.only.is_none() || named().is_none_or(|item| self.answers_for(item))
    }

    /// The house's zone.
    pub fn zone(&self) -> Zone {
        self.program.inner().zone
    }

    /// Brings order into what was recorded since the last question.
    pub fn settle(&mut self, threads: NonZeroUsize) {
        self.settle_entries(threads);
        if self.by_id.len() != self.items.len() {
            let items = &self.items;
            self.by_id = (0..index(items.len())).collect();
            self.by_id
                .sort_by_key(|&number| items.get(number as usize).map(|record| record.item.id.as_str()));
        }
    }

    /// Puts what was recorded where it belongs, and takes out what corrections take out.
    pub fn settle_entries(&mut self, threads: NonZeroUsize) {
        self.store.file(threads);
        self.corrections.resolve(&mut self.store);
    }

    /// The number of entries filed.
    pub fn len(&self) -> usize {
        self.places.len() - self.unused
    }

    /// Adds a problem that a host met while reading.
    pub fn report(&mut self, problem: Problem) {
        self.reports.push((index(self.places.len()), problem));
    }

    /// The place of an entry by its order of record: source and line.
    pub fn spot(&self, seq: u32) -> Option<(SourceKey, u32)> {
        self.places.get(seq)
    }

    /// The place of an entry by its order of record.
    pub fn place(&self, seq: u32) -> Option<Place> {
        self.place_of(self.spot(seq))
    }

    pub fn place_of(&self, place: Option<(SourceKey, u32)>) -> Option<Place> {
        let (source, line) = place?;
        let source = self.sources.get(source.0)?.clone();
        Some(Place { source, line })
    }

    /// What a line says.
    pub fn fact(&self, line: &Line) -> &Fact {
        self.store.facts.of(line)
    }

    /// What a fact has that few have.
    pub fn extra(&self, fact: &Fact) -> Option<&Extra> {
        self.store.facts.extra_of(fact)
    }

    /// From when to when an entry lasted, if it has an end.
    pub fn span(&self, line: &Line, fact: &Fact) -> Option<&EntrySpan> {
        self.store.facts.span_of(line, fact)
    }

    /// What an entry refers to, if it refers to anything.
    pub fn reference(&self, line: &Line, fact: &Fact) -> Option<&str> {
        self.reference_text(self.store.facts.reference_of(line, fact))
    }

    /// What was found, sorted.
    pub fn found(&self, extra: Option<&Extra>) -> &[u32] {
        extra.map_or(&[], |extra| self.finding_sets.list(extra.found))
    }

    /// The text of a reference; of 0, nothing.
    pub fn reference_text(&self, reference: u32) -> Option<&str> {
        Some(self.references.get(reference.checked_sub(1)?))
    }

    /// The name of a unit; of 0, nothing.
    pub fn unit_text(&self, unit: u32) -> Option<&str> {
        Some(self.units.text(unit.checked_sub(1)?))
    }

    /// Whether a unit is not an event's own name.
    pub fn is_other_unit(&self, event: u32, unit: u32) -> bool {
        unit.checked_sub(1).is_some_and(|unit| self.events.key(event) != self.units.key(unit))
    }

    /// What an entry expects a day, names as people spell them.
    pub fn expected_by(&self, fact: &Fact) -> Vec<(String, Amount)> {
        let expect = self.expects.get(self.extra(fact).map_or(0, |extra| extra.expect));
        let named = |(event, micros): &(u32, i64)| {
            (self.events.text(*event).to_owned(), Amount::from_micros(*micros))
        };
        expect.daily.iter().map(named).collect()
    }

    /// The number of a name under which entries are filed; of `every item` in any case, one.
    pub fn add_stream(&mut self, name: &str, is_id: bool) -> u32 {
        let name = if !is_id && is_every_item(name) { EVERY_ITEM } else { name };
        if let Some(stream) = self.stream_names.get(name) {
            return stream;
        }
        let stream = self.store.add(name);
        self.stream_names.insert(name, stream);
        if !is_id {
            self.groups.entry(key(name)).or_default().push(stream);
        }
        stream
    }

    pub fn find_stream(&self, name: &str) -> Option<u32> {
        self.stream_names.get(name)
    }

    /// The number of a reference; of an empty text, 0.
    pub fn add_reference(&mut self, text: &str) -> u32 {
        if text.is_empty() { 0 } else { self.references.add(text).0 + 1 }
    }

    /// The number of a unit; of an empty text, 0.
    pub fn add_unit(&mut self, text: &str) -> u32 {
        if text.is_empty() { 0 } else { self.units.add(text) + 1 }
    }
}
