//! Writing version 1.

use super::form::{Block, ItemForm, Log, Rare, Report, Sort, Time, Totals};
use crate::log::{ItemRecord, Ledger, Lexicon, SourceKey};
use crate::names::{Map, Set, index};
use crate::problem::{Place, Problem};
use crate::saved::blocks::{Writer, size};
use crate::saved::error::SaveError;
use crate::saved::rows::{Entry, Step, each};
use chrono::{Datelike, NaiveDate};
use kitlore_syntax::Amount;
use serde::Serialize;
use std::io::Write;

/// So many entries or names are a block.
const ROWS: usize = 1 << 16;

/// A block with so many bytes of what can be long is closed.
const FULL: usize = 1 << 20;

const MILLION: i64 = 1_000_000;

/// Writes a ledger.
pub(in crate::saved) fn save<W: Write>(ledger: &Ledger, mut to: Writer<W>) -> Result<(), SaveError> {
    let sources = Sources::new(ledger);
    let lexicons = [
        (Sort::Event, &ledger.events),
        (Sort::Condition, &ledger.conditions),
        (Sort::Finding, &ledger.findings),
        (Sort::Unit, &ledger.units),
    ];
    for (sort, lexicon) in lexicons {
        write_names(&mut to, sort, lexicon.met().iter().map(|(_, name)| name.as_str()))?;
    }
    let references = (0..index(ledger.references.len())).map(|number| ledger.references.get(number));
    write_names(&mut to, Sort::Reference, references)?;
    write_names(&mut to, Sort::Source, ledger.sources.list().iter().map(|name| &**name))?;
    write_names(&mut to, Sort::OtherSource, sources.others.iter().copied())?;

    let in_groups: Set<u32> = ledger.groups.values().flatten().copied().collect();
    let streams = ledger.store.streams.iter().zip(0..);
    let streams = streams.map(|(stream, number)| (&*stream.name, !in_groups.contains(&number)));
    pieces(streams, |list| to.write(&Block::Streams(list), "a name"))?;

    let numbers = Numbers::new(ledger);
    let sets = ledger
        .condition_sets
        .lists()
        .map(|list| list.iter().map(|id| number(&numbers.conditions, *id)).collect());
    pieces(sets, |list| to.write(&Block::Sets(list), "a list of conditions"))?;

    let items = ledger.items.iter().map(|record| item(record, &sources));
    pieces(items, |list| to.write(&Block::Items(list), "an item"))?;

    let mut totals = Totals { items: ledger.items.len() as u64, ..Totals::default() };
    let mut open = Open::default();
    each(ledger, |step| {
        match step {
            Step::Entry(entry) => {
                totals.entries += 1;
                open.add(&entry, ledger, &numbers);
            }
            Step::Report(problem) => {
                totals.reports += 1;
                open.report(problem, &sources);
            }
        }
        if open.is_full() { std::mem::take(&mut open).close(&mut to) } else { Ok(()) }
    })?;
    open.close(&mut to)?;
    totals.blocks = to.count();
    to.write(&Block::End(totals), "the end")?;
    to.finish()
}

fn write_names<'a, W: Write>(
    to: &mut Writer<W>,
    sort: Sort,
    names: impl Iterator<Item = &'a str>,
) -> Result<(), SaveError> {
    pieces(names, |list| to.write(&Block::Names(sort, list), "a name"))
}

/// Hands on a list in pieces of bounded number and size.
fn pieces<T: Serialize>(
    list: impl Iterator<Item = T>,
    mut write: impl FnMut(Vec<T>) -> Result<(), SaveError>,
) -> Result<(), SaveError> {
    let (mut piece, mut sizes) = (Vec::new(), 0);
    for one in list {
        sizes += size(&one);
        piece.push(one);
        if piece.len() == ROWS || sizes >= FULL {
            write(std::mem::take(&mut piece))?;
            sizes = 0;
        }
    }
    if piece.is_empty() { Ok(()) } else { write(piece) }
}

/// The sources of a book, and those of items and reports alone.
struct Sources<'a> {
    numbers: Map<&'a str, u32>,
    others: Vec<&'a str>,
}

impl<'a> Sources<'a> {
    fn new(ledger: &'a Ledger) -> Self {
        let mut numbers: Map<&str, u32> = ledger.sources.list().iter().map(|name| &**name).zip(0..).collect();
        let mut others = Vec::new();
        let of_items = ledger.items.iter().filter_map(|record| record.item.place.as_ref());
        let of_reports = ledger.reports.iter().filter_map(|(_, problem)| problem.place.as_ref());
        for place in of_items.chain(of_reports) {
            let next = index(numbers.len());
            numbers.entry(&*place.source).or_insert_with(|| {
                others.push(&*place.source);
                next
            });
        }
        Self { numbers, others }
    }

    fn place(&self, place: Option<&Place>) -> Option<(u32, u32)> {
        place.and_then(|place| Some((*self.numbers.get(&*place.source)?, place.line)))
    }
}

/// The numbers of names in the file, by their numbers in the book.
struct Numbers {
    events: Vec<u32>,
    conditions: Vec<u32>,
    findings: Vec<u32>,
    units: Vec<u32>,
}

impl Numbers {
    fn new(ledger: &Ledger) -> Self {
        let of = |lexicon: &Lexicon| {
            let mut numbers = Vec::new();
            for ((id, _), place) in lexicon.met().iter().zip(0..) {
                let id = *id as usize;
                if numbers.len() <= id {
                    numbers.resize(id + 1, u32::MAX);
                }
                if let Some(number) = numbers.get_mut(id) {
                    *number = place;
                }
            }
            numbers
        };
        Self {
            events: of(&ledger.events),
            conditions: of(&ledger.conditions),
            findings: of(&ledger.findings),
            units: of(&ledger.units),
        }
    }
}

fn number(numbers: &[u32], id: u32) -> u32 {
    numbers.get(id as usize).copied().unwrap_or(u32::MAX)
}

fn item<'a>(record: &'a ItemRecord, sources: &Sources<'_>) -> ItemForm<'a> {
    let item = &record.item;
    let days = |date: Option<NaiveDate>| date.map(|date| date.num_days_from_ce());
    ItemForm {
        id: &item.id,
        kind: &item.kind,
        received: days(item.received),
        in_service: days(item.in_service),
        retired: days(item.retired),
        kits: item.kits.iter().map(String::as_str).collect(),
        model: item.model.as_deref(),
        attributes: item.attributes.iter().map(|(heading, value)| (&**heading, &**value)).collect(),
        place: sources.place(item.place.as_ref()),
    }
}

/// A block of entries that more may join.
#[derive(Default)]
struct Open<'a> {
    log: Log<'a>,
    last_time: i64,
    last_place: Option<(SourceKey, u32)>,
    /// Of what few entries have, and of reports.
    sizes: usize,
}

impl<'a> Open<'a> {
    fn add(&mut self, entry: &Entry<'a>, ledger: &'a Ledger, numbers: &Numbers) {
        let row = &entry.row;
        let expect = ledger.expects.get(row.expect);
        let found = ledger.finding_sets.list(row.found);
        let Time(form, time, nanos, ahead) = Time::of(row.when);
        let log = &mut self.log;
        match log.forms.last_mut() {
            Some((count, last)) if *last == form => *count += 1,
            _ => log.forms.push((1, form)),
        }
        log.times.push(time.wrapping_sub(std::mem::replace(&mut self.last_time, time)));
        log.nanos.push(nanos);
        let rare = Rare {
            ahead,
            until: row.until.map(Time::of),
            amount: None,
            reading: row.reading.map(Amount::micros),
            unit: row.unit.checked_sub(1).map(|unit| number(&numbers.units, unit)),
            found: found.iter().map(|finding| number(&numbers.findings, *finding)).collect(),
            reference: row.reference.checked_sub(1),
            expect: expect
                .daily
                .iter()
                .map(|(event, a_day)| (number(&numbers.events, *event), *a_day))
                .collect(),
            bad_expect: expect.wrong.as_deref(),
            id: row.id,
            by: row.by,
            note: row.note,
            refused: entry.refused,
        };
        // Without a reading, an entry that states 1 is as one that states nothing, unless ids are compared.
        let is_usual = row.id.is_empty() && row.reading.is_none() && row.amount == Some(Amount::ONE);
        let amount = row.amount.filter(|_| !is_usual).map(Amount::micros);
        if rare == Rare::default() {
            log.amounts.push(amount.unwrap_or(MILLION));
        } else {
            let rare = Rare { amount, ..rare };
            self.sizes += size(&rare);
            log.rare.push((index(log.events.len()), rare));
            log.amounts.push(MILLION);
        }
        log.events.push(number(&numbers.events, row.event));
        log.items.push(row.item);
        log.conditions.push(row.conditions);
        let follows = self.last_place.map(|(source, line)| (source, line.saturating_add(1)));
        match log.places.last_mut() {
            Some((count, _)) if entry.place == follows => *count += 1,
            _ => log.places.push((1, entry.place.map(|(source, line)| (source.0, line)))),
        }
        self.last_place = entry.place;
    }

    fn report(&mut self, problem: &'a Problem, sources: &Sources<'_>) {
        let report = Report {
            code: &problem.code,
            message: problem.message().into(),
            place: sources.place(problem.place.as_ref()),
            meant: problem.meant.as_deref(),
        };
        self.sizes += size(&report);
        self.log.reports.push((index(self.log.events.len()), report));
    }

    fn is_full(&self) -> bool {
        self.log.events.len() >= ROWS || self.sizes >= FULL
    }

    fn close<W: Write>(self, to: &mut Writer<W>) -> Result<(), SaveError> {
        let mut log = self.log;
        if log.events.is_empty() && log.reports.is_empty() {
            return Ok(());
        }
        if log.nanos.iter().all(|nanos| *nanos == 0) {
            log.nanos = Vec::new();
        }
        log.whole = log.amounts.iter().all(|amount| amount % MILLION == 0);
        if log.whole {
            log.amounts.iter_mut().for_each(|amount| *amount /= MILLION);
        }
        to.write(&Block::Log(Box::new(log)), "an entry")
    }
}
