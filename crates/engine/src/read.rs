//! From the fields of an entry to values, or the reason why it cannot be used.

use crate::book::{Book, Keyed};
use crate::expect::parse_expect;
use crate::input::{Fields, Number, Time};
use crate::problem::Problem;
use crate::program::EventInfo;
use crate::time::Zone;
use kitlore_syntax::{Amount, When};

/// An entry's fields, read.
pub(crate) struct Read {
    pub when: When,
    pub until: Option<When>,
    pub event: u32,
    pub info: EventInfo,
    pub item: u32,
    pub amount: Option<Amount>,
    pub reading: Option<Amount>,
    pub unit: Option<u32>,
    pub conditions: u32,
    pub found: Vec<u32>,
    pub reference: Option<u32>,
    /// What it expects a day: events and millionths.
    pub expect: Vec<(u32, i64)>,
    /// What is wrong with what it expects.
    pub bad_expect: Option<String>,
}

impl Book {
    /// Reads the fields of an entry, or says why it cannot be used.
    pub(crate) fn read(&mut self, fields: &Fields<'_>) -> Result<Read, Problem> {
        let event = fields.event.trim();
        if event.is_empty() {
            return Err(Problem::new("missing-event", "this entry has no event; say what happened"));
        }
        let when = read_time("when", fields.when)?.ok_or_else(|| {
            Problem::new("bad-time", format!("`{event}` has no `when`; give a date such as `2026-03-01`"))
        })?;
        let event = self.event_key(event);
        let unit = fields.unit.trim();
        let found = self.found(fields.found);
        let (expect, bad_expect) = self.expected(fields.expect);
        let entry = Keyed {
            when,
            event,
            item: self.item_key(fields.item),
            amount: read_number("amount", fields.amount)?,
            conditions: self.conditions_key(fields.conditions),
        };
        Ok(Read {
            until: read_time("until", fields.until)?,
            reading: read_number("reading", fields.reading)?,
            unit: (!unit.is_empty()).then(|| self.units.add(unit)),
            found,
            expect,
            bad_expect,
            reference: self.reference(fields.reference.trim()),
            ..self.plain(&entry)
        })
    }

    /// The numbers of a `;`-joined list of findings, sorted.
    fn found(&mut self, list: &str) -> Vec<u32> {
        // Few entries find anything.
        if list.is_empty() {
            return Vec::new();
        }
        let names = list.split(';').map(str::trim).filter(|name| !name.is_empty());
        let mut found: Vec<u32> = names.map(|name| self.findings.add(name)).collect();
        found.sort_unstable();
        found.dedup();
        found
    }

    /// What an entry expects a day, or what is wrong with it.
    fn expected(&mut self, text: &str) -> (Vec<(u32, i64)>, Option<String>) {
        // Few entries are plans.
        if text.is_empty() {
            return (Vec::new(), None);
        }
        match parse_expect(text) {
            Ok(list) => (
                list.into_iter().map(|(name, amount)| (self.event_key(name).0, amount.micros())).collect(),
                None,
            ),
            Err(wrong) => (Vec::new(), Some(wrong)),
        }
    }

    /// A row of a batch, with unit, findings, reference and expectation as texts.
    pub(crate) fn batch_read(
        &mut self,
        entry: &Keyed,
        until: Option<When>,
        reading: Option<Amount>,
        [unit, found, reference, expect]: [&str; 4],
    ) -> Read {
        let (expect, bad_expect) = self.expected(expect);
        Read {
            until,
            reading,
            unit: (!unit.is_empty()).then(|| self.units.add(unit)),
            found: self.found(found),
            expect,
            bad_expect,
            reference: self.reference(reference),
            ..self.plain(entry)
        }
    }

    pub(crate) fn plain(&self, entry: &Keyed) -> Read {
        Read {
            when: entry.when,
            until: None,
            event: entry.event.0,
            info: self.program.inner().info(entry.event.0),
            item: entry.item.0,
            amount: entry.amount,
            reading: None,
            unit: None,
            conditions: entry.conditions.0,
            found: Vec::new(),
            reference: None,
            expect: Vec::new(),
            bad_expect: None,
        }
    }

    /// Whether an entry can be used.
    pub(crate) fn check(&self, read: &Read) -> Result<(), Problem> {
        let event = || self.events.singular(read.event);
        if let Some(until) = read.until
            && ends_before(until, read.when, self.program.inner().zone)
        {
            let when = read.when;
            let message = format!("`{}` ends (`until` {until}) before it begins (`when` {when})", event());
            return Err(Problem::new("until-before-when", message));
        }
        let negative = |amount: Option<Amount>| amount.is_some_and(|amount| amount < Amount::ZERO);
        if negative(read.amount) {
            let message = format!(
                "`{}` has a negative amount; to take an entry back, record `void` with its id as `ref`",
                event()
            );
            return Err(Problem::new("negative-amount", message));
        }
        let is_own = || read.unit.is_none_or(|unit| !self.differ(read.event, unit));
        if read.info.meter.is_some() && negative(read.reading) && is_own() {
            let message = format!("`{}` has a negative reading, and a meter starts at 0", event());
            return Err(Problem::new("negative-amount", message));
        }
        Ok(())
    }
}

/// Whether an end lies before its beginning; a date alone lasts to its end, also one that a zone skipped.
fn ends_before(until: When, when: When, zone: Zone) -> bool {
    let begin = zone.stands(when);
    match (until, when) {
        (When::Date(until), When::Date(when)) => until < when,
        (When::Date(until), _) => until < zone.date(begin),
        _ => zone.stands(until) < begin,
    }
}

fn read_time(field: &str, time: Time<'_>) -> Result<Option<When>, Problem> {
    match time {
        Time::Absent => Ok(None),
        Time::Read(when) => Ok(Some(when)),
        Time::Text(text) => match text.trim() {
            "" => Ok(None),
            text => When::parse(text)
                .map(Some)
                .map_err(|error| Problem::new("bad-time", format!("`{field}` `{text}` {error}"))),
        },
    }
}

fn read_number(field: &str, number: Number<'_>) -> Result<Option<Amount>, Problem> {
    match number {
        Number::Absent => Ok(None),
        Number::Read(amount) => Ok(Some(amount)),
        Number::Text(text) => match text.trim() {
            "" => Ok(None),
            text => Amount::parse_signed(text)
                .map(Some)
                .map_err(|error| Problem::new("bad-number", format!("`{field}` `{text}` {error}"))),
        },
    }
}
