//! From rows of text to entries: what can be read, identity, corrections (contract, section 4).

use super::clock::{Clock, Instant};
use super::rows::{LogRow, Problem};
use kitlore_syntax::{Amount, When, key};
use std::collections::BTreeSet;

/// What the column `item` says in words where an entry is for every item.
pub const EVERY_ITEM: &str = "every item";

/// One log entry, read.
#[derive(Debug, Clone)]
pub struct Entry {
    /// Its row in the log.
    pub row: u32,
    /// Its place in the order of record.
    pub order: usize,
    /// When, as written.
    pub when: When,
    /// Until when, as written.
    pub until: Option<When>,
    /// The instant of `when`.
    pub start: Instant,
    /// The instant at which it counts.
    pub counts: Instant,
    /// The last instant at which it is under way.
    pub ends: Instant,
    /// Key of the event.
    pub event: String,
    /// What it is for; empty or [`EVERY_ITEM`] for every item.
    pub item: String,
    /// The same read as a kind.
    pub item_key: String,
    /// The amount.
    pub amount: Option<Amount>,
    /// The reading.
    pub reading: Option<Amount>,
    /// Key of the unit; empty if none.
    pub unit: String,
    /// Keys of its own conditions.
    pub conditions: BTreeSet<String>,
    /// Keys of its findings.
    pub found: BTreeSet<String>,
    /// The ref; empty if none.
    pub reference: String,
    /// The id; empty if none.
    pub id: String,
    by: String,
    note: String,
    expect: String,
}

impl Entry {
    /// Whether two entries are equal in all columns, once read (section 4, identity).
    pub fn says_the_same(&self, other: &Entry) -> bool {
        let columns = |e: &Entry| {
            (
                (matches!(e.when, When::Date(_)), e.start),
                (e.until.map(|u| matches!(u, When::Date(_))), e.ends),
                (e.event.clone(), e.item.clone()),
                (e.amount, e.reading, e.unit.clone()),
                (e.conditions.clone(), e.found.clone()),
                (e.reference.clone(), e.by.clone(), e.note.clone(), e.expect.clone()),
            )
        };
        columns(self) == columns(other)
    }
}

/// Keys of a list.
fn keys(list: &str) -> BTreeSet<String> {
    list.split([';', ',']).map(key).filter(|k| !k.is_empty()).collect()
}

/// The column `item`; `every item` is so in any case.
fn whose(item: &str) -> &str {
    if item.trim().to_lowercase() == EVERY_ITEM { EVERY_ITEM } else { item.trim() }
}

/// A number column: absent, read, or not a number.
fn number(text: &str) -> Result<Option<Amount>, &'static str> {
    match text.trim() {
        "" => Ok(None),
        text => Amount::parse_signed(text).map(Some).map_err(|_| "bad-number"),
    }
}

fn time(text: &str) -> Result<Option<When>, &'static str> {
    match text.trim() {
        "" => Ok(None),
        text => When::parse(text).map(Some).map_err(|_| "bad-time"),
    }
}

/// One row, or the code of why it cannot be read (section 4, last point).
fn read(clock: Clock, order: usize, log: &LogRow) -> Result<Entry, &'static str> {
    let when = time(&log.when)?.ok_or("bad-time")?;
    if key(&log.event).is_empty() {
        return Err("missing-event");
    }
    let until = time(&log.until)?;
    let start = clock.starts(when);
    let too_early = |until: When| match until {
        When::Date(date) => date < clock.date_of(when),
        timed => clock.starts(timed) < start,
    };
    if until.is_some_and(too_early) {
        return Err("until-before-when");
    }
    let amount = number(&log.amount)?;
    if amount.is_some_and(|a| a < Amount::ZERO) {
        return Err("negative-amount");
    }
    let reading = number(&log.reading)?;
    Ok(Entry {
        row: log.row,
        order,
        when,
        until,
        start,
        counts: until.map_or(start, |until| clock.starts(until).max(start)),
        ends: clock.is_over(until.unwrap_or(when)),
        event: key(&log.event),
        item: whose(&log.item).to_owned(),
        item_key: key(whose(&log.item)),
        amount,
        reading,
        unit: key(&log.unit),
        conditions: keys(&log.conditions),
        found: keys(&log.found),
        reference: log.reference.trim().to_owned(),
        id: log.id.trim().to_owned(),
        by: log.by.trim().to_owned(),
        note: log.note.trim().to_owned(),
        expect: log.expect.trim().to_owned(),
    })
}

/// All that can be read.
pub fn read_all(clock: Clock, log: &[LogRow], problems: &mut BTreeSet<Problem>) -> Vec<Entry> {
    let mut entries = Vec::new();
    for (order, row) in log.iter().enumerate() {
        match read(clock, order, row) {
            Ok(entry) => entries.push(entry),
            Err(code) => drop(problems.insert(Problem::log(code, row.row))),
        }
    }
    entries
}

/// Of entries with one id the first (section 4, identity).
pub fn one_per_id(entries: Vec<Entry>, problems: &mut BTreeSet<Problem>) -> Vec<Entry> {
    let mut kept: Vec<Entry> = Vec::new();
    for entry in entries {
        match kept.iter().find(|k| !entry.id.is_empty() && k.id == entry.id) {
            None => kept.push(entry),
            Some(first) if first.says_the_same(&entry) => {}
            Some(_) => drop(problems.insert(Problem::log("duplicate-id", entry.row))),
        }
    }
    kept
}

/// What is left after the corrections, in time order (section 4, order and identity).
pub fn corrected(entries: Vec<Entry>, problems: &mut BTreeSet<Problem>) -> Vec<Entry> {
    #[derive(Clone, Copy, PartialEq)]
    enum Fate {
        Open,
        Stands,
        Out,
    }
    let strikes = |v: &Entry, e: &Entry| v.event == "void" && !e.id.is_empty() && v.reference == e.id;
    let mut fates = vec![Fate::Open; entries.len()];
    loop {
        let before = fates.clone();
        for (i, entry) in entries.iter().enumerate() {
            let mut struck_by =
                entries.iter().zip(&before).filter(|(v, _)| strikes(v, entry)).map(|(_, f)| *f);
            if fates[i] != Fate::Open {
                continue;
            }
            if struck_by.clone().any(|f| f == Fate::Stands) {
                fates[i] = Fate::Out;
            } else if struck_by.all(|f| f == Fate::Out) {
                fates[i] = Fate::Stands;
            }
        }
        if fates == before {
            break;
        }
    }
    for (entry, fate) in entries.iter().zip(&fates).filter(|(e, _)| e.event == "void") {
        if *fate == Fate::Open {
            problems.insert(Problem::log("void-loop", entry.row));
        }
        if !entries.iter().any(|e| strikes(entry, e)) {
            problems.insert(Problem::log("void-unknown", entry.row));
        }
    }
    let mut left: Vec<Entry> = entries
        .into_iter()
        .zip(fates)
        .filter(|(e, fate)| *fate != Fate::Out && e.event != "void")
        .map(|(e, _)| e)
        .collect();
    left.sort_by_key(|e| (e.counts, e.order));
    left
}
