//! The book: a ledger with what was worked out of it, and what it answers.

use crate::answer::{Checkpoints, Prepared, Standings, evaluate};
use crate::log::batch::Batch;
use crate::log::columns::Refused;
use crate::log::{
    ConditionsKey, Entry, EventKey, ExpectKey, Fields, FindingsKey, Item, ItemKey, Ledger, ReferenceKey,
    SourceKey, UnitKey,
};
use crate::problem::Problem;
use crate::report;
use crate::rules::Program;
use crate::time::Instant;
use std::num::NonZeroUsize;

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
    pub(crate) ledger: Ledger,
    prepared: Prepared,
    pub(crate) checkpoints: Checkpoints,
}

impl Book {
    /// An empty book.
    pub fn new(program: &Program) -> Self {
        Self::of(Ledger::new(program))
    }

    /// The book of a ledger.
    pub(crate) fn of(ledger: Ledger) -> Self {
        Self { ledger, prepared: Prepared::default(), checkpoints: Checkpoints::default() }
    }

    /// The rules of the book.
    pub fn program(&self) -> &Program {
        &self.ledger.program
    }

    /// Adds an item to the inventory.
    ///
    /// # Errors
    /// `missing-id`, `missing-kind`, or `duplicate-item`: the first of two items with one id stands.
    pub fn add_item(&mut self, item: Item) -> Result<(), Problem> {
        self.ledger.add_item(item)
    }

    /// From now on keeps only entries that can concern some items, and answers for these alone: other items have no
    /// rows and no history. An entry is left out if it names another item's id; of it only the id is remembered,
    /// for corrections and for entries that have the same, and that its names occur. Ids that no item has name
    /// nothing. Where a book answers for some items already, those named both times stay.
    ///
    /// The memory then depends on what these items have, not on the log. Entries recorded before are not touched.
    ///
    /// ```
    /// use kitlore_engine::{Book, Entry, Item, Program, When};
    /// let rules = Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera")).unwrap();
    /// book.add_item(Item::new("C2", "camera")).unwrap();
    /// book.answer_for(["C1"]);
    /// book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(20)).unwrap();
    /// book.record(Entry::new("2026-02-07", "lens change").item("C2").amount(20)).unwrap();
    /// let found = book.standings(rules.when_is_over(When::parse("2026-02-08").unwrap()));
    /// assert_eq!(found.rows().map(|row| row.item).collect::<Vec<_>>(), ["C1"]);
    /// ```
    pub fn answer_for<'i>(&mut self, items: impl IntoIterator<Item = &'i str>) {
        let ledger = &mut self.ledger;
        let known = items.into_iter().filter_map(|item| ledger.item_number(item));
        ledger.only = Some(known.filter(|item| ledger.answers_for(*item)).collect());
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

    /// Records an entry with borrowed fields.
    ///
    /// # Errors
    /// As [`Book::record`].
    pub fn record_fields(
        &mut self,
        fields: &Fields<'_>,
        place: Option<(SourceKey, u32)>,
    ) -> Result<(), Problem> {
        let read = self.ledger.read(fields).map_err(|problem| problem.at(self.ledger.place_of(place)))?;
        self.ledger.admit(&read, place, None)
    }

    /// Records batches, one after the other, on as many threads as given. Answers and problems are the same
    /// however entries are cut into batches, and whatever the threads.
    ///
    /// Gives what could not be recorded: of a time outside the years 0001 to 9999, without a key, or as
    /// [`Book::record`] says.
    pub fn record_batches(&mut self, batches: &[Batch<'_>], threads: NonZeroUsize) -> Vec<Refused> {
        self.ledger.take(batches, threads)
    }

    /// A source of entries, by the name people know it by.
    pub fn source(&mut self, name: &str) -> SourceKey {
        SourceKey(self.ledger.sources.add(name))
    }

    /// The names of the sources of entries, in the order they were first named.
    pub fn sources(&self) -> impl Iterator<Item = &str> {
        self.ledger.sources.list().iter().map(|name| &**name)
    }

    /// Adds a problem that a host met while reading.
    pub fn report(&mut self, problem: Problem) {
        self.ledger.report(problem);
    }

    /// The key of an event's name.
    pub fn event_key(&mut self, event: &str) -> EventKey {
        EventKey(self.ledger.events.add(event))
    }

    /// The key of an item's id, a kit, a model or a kind; of an empty text, for every item.
    pub fn item_key(&mut self, item: &str) -> ItemKey {
        ItemKey(self.ledger.add_stream(item.trim(), false))
    }

    /// The key of a list of conditions joined by `;` or `,`.
    pub fn conditions_key(&mut self, conditions: &str) -> ConditionsKey {
        let Ledger { condition_sets, conditions: names, .. } = &mut self.ledger;
        ConditionsKey(condition_sets.add_spelled(conditions, names))
    }

    /// The key of a list of findings joined by `;` or `,`.
    pub fn findings_key(&mut self, findings: &str) -> FindingsKey {
        let Ledger { finding_sets, findings: names, .. } = &mut self.ledger;
        FindingsKey(finding_sets.add_spelled(findings, names))
    }

    /// The key of a unit; of an empty text, for none.
    pub fn unit_key(&mut self, unit: &str) -> UnitKey {
        UnitKey(self.ledger.add_unit(unit.trim()))
    }

    /// The key of what entries refer to; of an empty text, for nothing.
    pub fn reference_key(&mut self, reference: &str) -> ReferenceKey {
        ReferenceKey(self.ledger.add_reference(reference.trim()))
    }

    /// The key of what a plan expects a day, see [`crate::parse_expect`]; what is wrong with it is reported of
    /// each entry that has it.
    pub fn expect_key(&mut self, expect: &str) -> ExpectKey {
        let Ledger { expects, events, .. } = &mut self.ledger;
        ExpectKey(expects.add_spelled(expect, events))
    }

    /// The key of an event as spelled, if that spelling was met.
    pub fn find_event(&self, event: &str) -> Option<EventKey> {
        self.ledger.events.find_spelled(event).map(EventKey)
    }

    /// The key of what entries can be for, trimmed, if that name was met.
    pub fn find_item(&self, item: &str) -> Option<ItemKey> {
        self.ledger.find_item_stream(item).map(ItemKey)
    }

    /// The key of a list of conditions as spelled, if that spelling was met.
    pub fn find_conditions(&self, conditions: &str) -> Option<ConditionsKey> {
        self.ledger.condition_sets.find_spelled(conditions).map(ConditionsKey)
    }

    /// The key of a list of findings as spelled, if that spelling was met.
    pub fn find_findings(&self, findings: &str) -> Option<FindingsKey> {
        self.ledger.finding_sets.find_spelled(findings).map(FindingsKey)
    }

    /// The key of a unit as spelled, if that spelling was met.
    pub fn find_unit(&self, unit: &str) -> Option<UnitKey> {
        if unit.is_empty() {
            return Some(UnitKey::default());
        }
        self.ledger.units.find_spelled(unit).map(|unit| UnitKey(unit + 1))
    }

    /// The key of what entries refer to, trimmed, if it was met.
    pub fn find_reference(&self, reference: &str) -> Option<ReferenceKey> {
        if reference.is_empty() {
            return Some(ReferenceKey::default());
        }
        self.ledger.references.find(reference).map(|reference| ReferenceKey(reference + 1))
    }

    /// The key of what a plan expects as spelled, if that spelling was met.
    pub fn find_expect(&self, expect: &str) -> Option<ExpectKey> {
        self.ledger.expects.find_spelled(expect).map(ExpectKey)
    }

    /// How every item stands with every task at an instant.
    pub fn standings(&mut self, at: Instant) -> Standings {
        self.standings_on(at, NonZeroUsize::MIN)
    }

    /// As [`Book::standings`], worked out by several threads at once; the answer is the same.
    pub fn standings_on(&mut self, at: Instant, threads: NonZeroUsize) -> Standings {
        self.settle(threads);
        let (chunks, groups) = evaluate::all(&self.ledger, &self.prepared, at, threads);
        Standings::new(&self.ledger, at, chunks, report::of_log(&self.ledger, &groups))
    }

    /// As [`Book::standings_on`], where the instant is now: work that is done later is reported.
    pub fn standings_now(&mut self, now: Instant, threads: NonZeroUsize) -> Standings {
        self.settle(threads);
        let (chunks, groups) = evaluate::all(&self.ledger, &self.prepared, now, threads);
        let mut problems = report::of_log(&self.ledger, &groups);
        problems.extend(report::not_yet_done(&self.ledger, now));
        Standings::new(&self.ledger, now, chunks, problems)
    }

    /// How one item stands with every task at an instant; empty if there is no such item. Its problems are
    /// those of the item; what the log as a whole has wrong is reported by [`Book::standings`] alone.
    ///
    /// The cost is that of the item's own entries and of those for its kit, model and kind; of an item of
    /// long history that is asked about again, that of what came since. A late or voided entry, or an instant
    /// before the one asked about last, makes it go through all of them once more.
    pub fn standing(&mut self, item: &str, at: Instant) -> Standings {
        self.settle_entries(NonZeroUsize::MIN);
        let Some(item) = self.ledger.item_number(item) else {
            return Standings::new(&self.ledger, at, Vec::new(), Vec::new());
        };
        let checkpoint = self.checkpoints.take(item);
        let (chunk, checkpoint) = evaluate::one(&self.ledger, &self.prepared, at, item, checkpoint);
        if let Some(checkpoint) = checkpoint {
            self.checkpoints.put(item, checkpoint);
        }
        Standings::new(&self.ledger, at, vec![chunk], Vec::new())
    }

    /// Names of the rules that nothing in the book has, each as first spelled in the rules and after its sort:
    /// `event`, `condition`, `finding`, `kind`, or `column` for what filters ask of items. Tasks are left out: that
    /// one was never done is no slip.
    ///
    /// ```
    /// use kitlore_engine::{Book, Item, Program};
    /// let rules = Program::parse("for bodies\n after 20 shoots in dust, inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera")).unwrap();
    /// assert_eq!(book.unused_names(), [("event", "shoots"), ("condition", "dust"), ("kind", "bodies")]);
    /// ```
    pub fn unused_names(&self) -> Vec<(&'static str, &str)> {
        report::unused_names(&self.ledger)
    }

    /// Whether an entry has a condition of this name.
    pub fn has_condition(&self, name: &str) -> bool {
        let names = &self.ledger.conditions;
        names
            .find(&kitlore_syntax::key(name))
            .is_some_and(|number| names.met().iter().any(|(met, _)| *met == number))
    }

    /// The number of entries filed.
    pub fn len(&self) -> usize {
        self.ledger.len()
    }

    /// Whether nothing was recorded.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The items, in the order they were added.
    pub fn items(&self) -> impl Iterator<Item = &Item> {
        self.ledger.items.iter().map(|record| &record.item)
    }

    /// The ids of the entries recorded, in no order; also of those that corrections take out.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.ledger.corrections.ids()
    }

    /// Brings order into what was recorded since the last question.
    pub(crate) fn settle(&mut self, threads: NonZeroUsize) {
        self.ledger.settle(threads);
        self.prepared.catch_up(&self.ledger);
    }

    fn settle_entries(&mut self, threads: NonZeroUsize) {
        self.ledger.settle_entries(threads);
        self.prepared.catch_up(&self.ledger);
    }

    /// What was worked out of the rules for the ledger.
    pub(crate) fn prepared(&self) -> &Prepared {
        &self.prepared
    }
}

#[cfg(feature = "saved")]
impl Book {
    /// Writes the book: its items, what was recorded, in which order and from which places.
    ///
    /// Who did it (`by`) and the `note` of entries without an id have no part in any answer and are not
    /// kept: a saved book is quick to read, the log stays the record. It takes up to 250 MB beside the book.
    /// The writer is flushed; a host that needs the file to survive a crash syncs it, and renames it over
    /// the one before only then.
    ///
    /// ```
    /// use kitlore_engine::{Book, Entry, Item, Program, When};
    /// let rules = Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera")).unwrap();
    /// book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(12)).unwrap();
    /// let mut file = Vec::new();
    /// book.save(&mut file).unwrap();
    ///
    /// // Overnight the house made its rule stricter.
    /// let rules = Program::parse("for cameras\n after 10 lens changes, inspect sensor").unwrap();
    /// let mut book = Book::load(&rules, &*file).unwrap();
    /// let at = rules.when_is_over(When::parse("2026-02-08").unwrap());
    /// assert_eq!(book.standings(at).rows().next().unwrap().standing.word(), "overdue");
    /// ```
    ///
    /// # Errors
    /// The writer's, a single item or entry of more than 64 MiB, and a book that does not keep all entries, see
    /// [`Book::answer_for`].
    pub fn save(&self, to: impl std::io::Write) -> Result<(), crate::saved::SaveError> {
        crate::saved::save(&self.ledger, to)
    }

    /// Reads a saved book under any rules. It then answers what a book under these rules answers into which
    /// the same tables were read. Entries that only these rules refuse are among the problems, as where a
    /// table is read.
    ///
    /// Memory stays within that of the book and one block; no length is believed before its bytes are there.
    ///
    /// # Errors
    /// The reader's; that this is no saved book, or one of a later version; that anything in it is missing or
    /// not as it was saved, with the block in which that shows. Nothing is ever read in part.
    pub fn load(program: &Program, from: impl std::io::Read) -> Result<Self, crate::saved::LoadError> {
        crate::saved::load(program, from).map(Self::of)
    }
}
