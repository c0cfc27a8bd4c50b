//! The book: an inventory and a log, filed so that any item's standing can be asked at any time.
//!
//! An entry is filed under the word it names (an id, a kit, a model, a kind, or nothing for every item);
//! which items that means is settled when a standing is asked for, so items and entries may come in any order.

use crate::cabinet::Cabinet;
use crate::checkpoint::Checkpoints;
use crate::conditions::ConditionSets;
use crate::evaluate::KindRules;
use crate::identity::{Identities, Values};
use crate::input::{Entry, Fields, Item};
use crate::kept::{Kept, Other, Why};
use crate::line::Extra;
use crate::names::{Lexicon, Map, Names, Set, index};
use crate::places::Places;
use crate::problem::{Place, Problem};
use crate::profile::Profile;
use crate::program::{Life, Program};
use crate::read::Read;
use crate::sources::Sources;
use crate::standings::Standings;
use crate::time::Instant;
use kitlore_syntax::{Amount, When, key};
use smol_str::SmolStr;
use std::num::NonZeroUsize;
use std::sync::{Arc, RwLock};

/// Inventory and log under one set of rules.
///
/// ```
/// use kitlore_engine::{Book, Entry, Item, Program, When};
/// let rules = Program::parse("for cameras\n after 20 lens changes in dust, inspect sensor").unwrap();
/// let mut book = Book::new(&rules);
/// book.add_item(Item::new("C1", "camera")).unwrap();
/// book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(20).condition("dust")).unwrap();
/// let at = rules.when_is_over(When::parse("2026-02-08").unwrap());
/// let found = book.standings(at);
/// assert_eq!(found.rows().next().unwrap().standing.word(), "overdue");
/// ```
#[derive(Debug, Clone)]
pub struct Book {
    pub(crate) program: Program,
    pub(crate) items: Vec<ItemRecord>,
    /// Item numbers in order of id; rebuilt when items were added.
    pub(crate) by_id: Vec<u32>,
    pub(crate) kits: Set<String>,
    pub(crate) models: Set<String>,
    pub(crate) kinds: Vec<KindRecord>,
    kind_names: Lexicon,
    pub(crate) events: Lexicon,
    pub(crate) conditions: Lexicon,
    pub(crate) findings: Lexicon,
    pub(crate) units: Lexicon,
    pub(crate) references: Map<Box<str>, u32>,
    pub(crate) sets: ConditionSets,
    pub(crate) cabinet: Cabinet,
    stream_names: Map<SmolStr, u32>,
    /// Streams whose name was no id when first met, by key: kits, models, kinds, and names nobody knows.
    pub(crate) groups: Map<String, Vec<u32>>,
    pub(crate) extras: Vec<Extra>,
    /// Where each entry was read, by order of record.
    pub(crate) places: Places,
    /// Numbers in the order of record whose entry was refused.
    pub(crate) unused: usize,
    pub(crate) sources: Sources,
    pub(crate) identities: Identities,
    /// What other rules may ask of the entries.
    pub(crate) kept: Kept,
    /// Problems of the host, and of entries as they were read.
    pub(crate) noted: Vec<Noted>,
    /// Entries of events that no rule knows.
    pub(crate) strangers: Vec<(u32, u32)>,
    /// By event: whether any entry is of it.
    pub(crate) seen: Vec<bool>,
    pub(crate) other_units: Map<(u32, u32), bool>,
    pub(crate) texts: crate::batch::TextNumbers,
    pub(crate) checkpoints: Checkpoints,
    /// By a kind's key, the rules that are for it; shared as the next.
    pub(crate) by_kind: Arc<RwLock<Map<String, KindRules>>>,
    /// By rules; shared by copies of the book, which are under the same rules.
    pub(crate) profiles: Arc<RwLock<Map<Vec<u32>, Arc<Profile>>>>,
}

/// A problem that is known before a standing is asked for.
#[derive(Debug, Clone)]
pub(crate) enum Noted {
    /// Of an entry, by its order of record.
    OfEntry(u32, Problem),
    /// As a host met it while reading, and the order of record of the entry after it.
    ByHost(u32, Problem),
}

/// A source of entries, as [`Book::source`] gave it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SourceKey(pub(crate) u32);

/// An event's name in one book.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct EventKey(pub(crate) u32);

/// What entries can be for, in one book: an item, a kit, a model, a kind, or every item.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ItemKey(pub(crate) u32);

/// A set of conditions in one book.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct ConditionsKey(pub(crate) u32);

/// An entry with no more than these fields, names looked up.
#[derive(Debug, Clone, Copy)]
pub struct Keyed {
    /// When it happened.
    pub when: When,
    /// What happened.
    pub event: EventKey,
    /// For what.
    pub item: ItemKey,
    /// How much; 1 if absent.
    pub amount: Option<Amount>,
    /// Under which conditions.
    pub conditions: ConditionsKey,
}

#[derive(Debug, Clone)]
pub(crate) struct ItemRecord {
    /// The id, shared with every answer.
    pub id: Arc<str>,
    /// The kind as spelled for this item, shared where others are spelled alike.
    pub kind_name: Arc<str>,
    pub item: Item,
    pub kind: u32,
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

impl Noted {
    /// What a host reported.
    pub fn by_host(&self) -> Option<(u32, &Problem)> {
        match self {
            Self::ByHost(before, problem) => Some((*before, problem)),
            Self::OfEntry(..) => None,
        }
    }
}

impl Book {
    /// An empty book.
    pub fn new(program: &Program) -> Self {
        let rules = program.inner();
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
            references: Map::default(),
            sets: ConditionSets::new(program),
            cabinet: Cabinet::default(),
            stream_names: Map::default(),
            groups: Map::default(),
            extras: Vec::new(),
            places: Places::default(),
            unused: 0,
            sources: Sources::default(),
            identities: Identities::default(),
            kept: Kept::default(),
            noted: Vec::new(),
            strangers: Vec::new(),
            seen: Vec::new(),
            other_units: Map::default(),
            texts: crate::batch::TextNumbers::default(),
            checkpoints: Checkpoints::default(),
            by_kind: Arc::default(),
            profiles: Arc::default(),
        }
    }

    /// The rules of the book.
    pub fn program(&self) -> &Program {
        &self.program
    }

    /// Adds an item to the inventory.
    ///
    /// # Errors
    /// `missing-id`, `missing-kind`, or `duplicate-item`: the first of two items with one id stands.
    pub fn add_item(&mut self, mut item: Item) -> Result<(), Problem> {
        item.id = item.id.trim().to_owned();
        let place = item.place.clone();
        if item.id.is_empty() {
            return Err(Problem::new("missing-id", "this item has no id; give it one").at(place));
        }
        if item.kind.trim().is_empty() {
            let message = format!("`{}` has no kind; say what it is", item.id);
            return Err(Problem::new("missing-kind", message).at(place));
        }
        let stream = self.stream(&item.id, true);
        let number = index(self.items.len());
        if let Some(filed) = self.cabinet.streams.get_mut(stream as usize) {
            if filed.item.is_some() {
                let message = format!("there is an item `{}` already; the first one stands", item.id);
                return Err(Problem::new("duplicate-item", message).at(place));
            }
            filed.item = Some(number);
        }
        let trimmed = |text: &String| Some(text.trim().to_owned()).filter(|text| !text.is_empty());
        item.kits = item.kits.iter().filter_map(trimmed).collect();
        item.model = item.model.as_ref().and_then(trimmed);
        self.kits.extend(item.kits.iter().cloned());
        self.models.extend(item.model.clone());
        let attributes = item
            .attributes
            .iter()
            .filter(|(_, value)| !value.trim().is_empty())
            .map(|(heading, value)| (key(heading), value.trim().to_owned()))
            .collect();
        let kind = self.kind(item.kind.trim());
        let first = self.kinds.get(kind as usize).map(|known| &known.name);
        let kind_name = match first.filter(|first| ***first == *item.kind.trim()) {
            Some(first) => first.clone(),
            None => item.kind.trim().into(),
        };
        let id = item.id.as_str().into();
        self.items.push(ItemRecord { id, kind_name, item, kind, stream, attributes });
        Ok(())
    }

    /// Records an entry. Items, kits and kinds it names may be added later.
    ///
    /// # Errors
    /// The entry is unusable: `bad-time`, `bad-number`, `negative-amount`, `until-before-when`,
    /// `missing-event`; it is not filed. All other problems appear in [`Standings::problems`].
    pub fn record(&mut self, entry: Entry) -> Result<(), Problem> {
        let place = entry.place.as_ref().map(|place| (self.source(&place.source), place.line));
        self.record_fields(&entry.fields(), place)
    }

    /// A source of entries, by the name people know it by.
    pub fn source(&mut self, name: &str) -> SourceKey {
        SourceKey(self.sources.add(name))
    }

    /// The names of the sources of entries, in the order they were first named.
    pub fn sources(&self) -> impl Iterator<Item = &str> {
        self.sources.list().iter().map(|name| &**name)
    }

    /// Adds a problem that a host met while reading.
    pub fn report(&mut self, problem: Problem) {
        self.noted.push(Noted::ByHost(index(self.places.len()), problem));
    }

    /// Records an entry with borrowed fields, the way of tables.
    ///
    /// # Errors
    /// As [`Book::record`].
    pub fn record_fields(
        &mut self,
        fields: &Fields<'_>,
        place: Option<(SourceKey, u32)>,
    ) -> Result<(), Problem> {
        let read = self.read(fields).map_err(|problem| problem.at(self.place_of(place)))?;
        self.admit(read, fields, place)
    }

    /// Records an entry whose fields were read.
    pub(crate) fn admit(
        &mut self,
        read: Read,
        fields: &Fields<'_>,
        place: Option<(SourceKey, u32)>,
    ) -> Result<(), Problem> {
        self.check_or_keep(&read, fields, place, None)?;
        let seq = self.places.add(place);
        let void = read.info.life == Some(Life::Void);
        let id = fields.id.trim();
        let values = (void || !id.is_empty()).then(|| Values::new(&read, fields));
        match values.as_ref().and_then(|values| self.identities.same(id, values)) {
            Some(true) => {
                self.kept.others.push(Other { seq, id: id.into(), why: Why::Repeated });
                return Ok(());
            }
            Some(false) => {
                let taken = values.map(|values| Why::Taken(Box::new(values)));
                self.kept.others.extend(taken.map(|why| Other { seq, id: id.into(), why }));
                let message = format!("another entry has the id `{id}`; the first one stands");
                self.note(seq, Problem::new("duplicate-id", message));
                return Ok(());
            }
            None => {}
        }
        match (values, void) {
            (Some(values), true) => self.identities.add_void(id, values, seq),
            (values, _) => {
                self.note_doubts(&read, seq);
                let (stream, order) = self.file(&read, seq);
                if let Some(values) = values {
                    self.identities.add(id, values, stream, order);
                }
            }
        }
        Ok(())
    }

    /// Checks an entry; one that these rules refuse is kept for others, with its order of record if it has one.
    pub(crate) fn check_or_keep(
        &mut self,
        read: &Read,
        fields: &Fields<'_>,
        place: Option<(SourceKey, u32)>,
        seq: Option<u32>,
    ) -> Result<(), Problem> {
        self.check(read).map_err(|problem| {
            let seq = seq.unwrap_or_else(|| index(self.places.len()));
            let why = Why::Refused(Box::new(Values::new(read, fields)), place);
            self.kept.others.push(Other { seq, id: fields.id.trim().into(), why });
            problem.at(self.place_of(place))
        })
    }

    /// The key of an event's name, for [`Book::record_keyed`].
    pub fn event_key(&mut self, event: &str) -> EventKey {
        EventKey(self.events.add(event))
    }

    /// The key of an item's id, a kit, a model or a kind; of an empty text, for every item.
    pub fn item_key(&mut self, item: &str) -> ItemKey {
        ItemKey(self.stream(item.trim(), false))
    }

    /// The key of a `;`-joined list of conditions.
    pub fn conditions_key(&mut self, conditions: &str) -> ConditionsKey {
        ConditionsKey(self.sets.spelled(conditions, &mut self.conditions, &self.program))
    }

    /// The key of an event as spelled, if that spelling was met.
    pub fn find_event(&self, event: &str) -> Option<EventKey> {
        self.events.spelled(event).map(EventKey)
    }

    /// The key of what entries can be for, if that spelling was met.
    pub fn find_item(&self, item: &str) -> Option<ItemKey> {
        self.find_stream(item).map(ItemKey)
    }

    /// The key of a list of conditions as spelled, if that spelling was met.
    pub fn find_conditions(&self, conditions: &str) -> Option<ConditionsKey> {
        self.sets.met(conditions).map(ConditionsKey)
    }

    /// Records an entry that has only the fields of [`Keyed`], its names looked up before: the way of
    /// columns, where a name is looked up once and not once a row.
    ///
    /// # Errors
    /// As [`Book::record`].
    pub fn record_keyed(&mut self, entry: &Keyed, place: Option<(SourceKey, u32)>) -> Result<(), Problem> {
        let read = self.plain(entry);
        self.check_or_keep(&read, &Fields::default(), place, None)?;
        let seq = self.places.add(place);
        self.keep(&read, seq);
        Ok(())
    }

    /// Files an entry without id.
    pub(crate) fn keep(&mut self, read: &Read, seq: u32) {
        if read.info.life == Some(Life::Void) {
            let values = Values::new(read, &Fields::default());
            self.identities.add_void("", values, seq);
        } else {
            self.note_doubts(read, seq);
            self.file(read, seq);
        }
    }

    /// How every item stands with every task at an instant.
    pub fn standings(&mut self, at: Instant) -> Standings {
        self.settle(NonZeroUsize::MIN);
        crate::evaluate::standings(self, at)
    }

    /// How one item stands with every task at an instant; empty if there is no such item. Its problems are
    /// those of the item; what the log as a whole has wrong is told by [`Book::standings`] alone.
    ///
    /// The cost is that of the item's own entries and of those for its kit, model and kind; of an item of
    /// long history that is asked about again, that of what came since. A late or voided entry, or an instant
    /// before the one asked about last, makes it go through all of them once more.
    pub fn standing(&mut self, item: &str, at: Instant) -> Standings {
        self.settle_entries(NonZeroUsize::MIN);
        let stream = self.find_stream(item.trim()).and_then(|stream| self.cabinet.stream(stream));
        let Some(item) = stream.and_then(|stream| stream.item) else {
            return Standings::new(self, at, Vec::new(), Vec::new());
        };
        let checkpoint = self.checkpoints.take(item);
        let (standings, checkpoint) = crate::evaluate::standing(self, at, item, checkpoint);
        if let Some(checkpoint) = checkpoint {
            self.checkpoints.put(item, checkpoint);
        }
        standings
    }

    /// As [`Book::standings`], worked out by several threads at once; the answer is the same.
    pub fn standings_on(&mut self, at: Instant, threads: NonZeroUsize) -> Standings {
        self.settle(threads);
        crate::evaluate::standings_on(self, at, threads)
    }

    /// The number of entries filed.
    pub fn len(&self) -> usize {
        self.places.len() - self.unused
    }

    /// Whether nothing was recorded.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The items, in the order they were added.
    pub fn items(&self) -> impl Iterator<Item = &Item> {
        self.items.iter().map(|record| &record.item)
    }

    /// The ids of the entries recorded, in no order; also of those that corrections take out.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.identities.ids()
    }

    /// Brings order into what was recorded since the last question.
    pub(crate) fn settle(&mut self, threads: NonZeroUsize) {
        self.settle_entries(threads);
        if self.by_id.len() != self.items.len() {
            let items = &self.items;
            self.by_id = (0..index(items.len())).collect();
            self.by_id
                .sort_by_key(|&number| items.get(number as usize).map(|record| record.item.id.as_str()));
        }
    }

    /// Puts what was recorded where it belongs, and takes out what corrections take out.
    fn settle_entries(&mut self, threads: NonZeroUsize) {
        self.cabinet.file(threads);
        self.identities.resolve(&mut self.cabinet);
    }

    /// The place of an entry by its order of record: source and line.
    pub(crate) fn spot(&self, seq: u32) -> Option<(SourceKey, u32)> {
        self.places.get(seq)
    }

    pub(crate) fn place(&self, seq: u32) -> Option<Place> {
        self.place_of(self.spot(seq))
    }

    pub(crate) fn place_of(&self, place: Option<(SourceKey, u32)>) -> Option<Place> {
        let (source, line) = place?;
        let source = self.sources.get(source.0)?.clone();
        Some(Place { source, line })
    }

    pub(crate) fn note(&mut self, seq: u32, problem: Problem) {
        let place = self.place(seq);
        self.noted.push(Noted::OfEntry(seq, problem.at(place)));
    }

    /// The number of a name under which entries are filed.
    pub(crate) fn stream(&mut self, name: &str, is_id: bool) -> u32 {
        if let Some(&stream) = self.stream_names.get(name) {
            return stream;
        }
        let stream = self.cabinet.add(name);
        self.stream_names.insert(name.into(), stream);
        if !is_id {
            self.groups.entry(key(name)).or_default().push(stream);
        }
        stream
    }

    pub(crate) fn find_stream(&self, name: &str) -> Option<u32> {
        self.stream_names.get(name).copied()
    }

    fn kind(&mut self, name: &str) -> u32 {
        let number = self.kind_names.add(name);
        if number == index(self.kinds.len()) {
            let keys = self.program.inner().broader(&key(name));
            self.kinds.push(KindRecord { name: name.into(), keys });
        }
        number
    }

    pub(crate) fn reference(&mut self, text: &str) -> Option<u32> {
        if text.is_empty() {
            return None;
        }
        let next = index(self.references.len());
        if let Some(&number) = self.references.get(text) {
            return Some(number);
        }
        self.references.insert(text.into(), next);
        Some(next)
    }
}
