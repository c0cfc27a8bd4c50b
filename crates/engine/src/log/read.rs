//! Entries one by one: from their fields to values, or the reason why they cannot be used, and into the ledger.

use super::corrections::Filed;
use super::entries::{EntrySpan, Extra, Fact, Line, Moment, Own};
use super::input::{Fields, Number, Time};
use super::keys::SourceKey;
use super::ledger::Ledger;
use super::row::Row;
use super::written::{Unfiled, Why};
use crate::codes::Code;
use crate::names::index;
use crate::problem::Problem;
use crate::rules::{EventInfo, Life};
use crate::time::Zone;
use kitlore_syntax::{Amount, When};

/// Whether entries of an event are taken one by one: corrections, and dates of an item's life.
pub(crate) fn one_by_one(info: EventInfo) -> bool {
    info.life.is_some_and(|life| life != Life::Finding)
}

impl Ledger {
    /// Reads the fields of an entry, or says why it cannot be used.
    pub fn read<'a>(&mut self, fields: &Fields<'a>) -> Result<Row<'a>, Problem> {
        let event = fields.event.trim();
        if event.is_empty() {
            return Err(Problem::new(Code::MissingEvent, "this entry has no event; say what happened"));
        }
        let when = read_time("when", fields.when)?.ok_or_else(|| {
            Problem::new(Code::BadTime, "`{event}` has no `when`; give a date such as `2026-03-01`")
                .with("event", event)
        })?;
        let event = self.events.add(event);
        let item = self.add_stream(fields.item.trim(), false);
        Ok(Row {
            found: self.finding_sets.add_spelled(fields.found, &mut self.findings),
            expect: self.expects.add_spelled(fields.expect, &mut self.events),
            amount: read_number("amount", fields.amount)?,
            conditions: self.condition_sets.add_spelled(fields.conditions, &mut self.conditions),
            until: read_time("until", fields.until)?,
            reading: read_number("reading", fields.reading)?,
            unit: self.add_unit(fields.unit.trim()),
            reference: self.add_reference(fields.reference.trim()),
            id: fields.id.trim(),
            by: fields.by.trim(),
            note: fields.note.trim(),
            ..Row::new(when, event, item)
        })
    }

    /// Takes an entry, with its order of record if it has one; one that these rules refuse is kept for others.
    pub fn admit(
        &mut self,
        row: &Row<'_>,
        place: Option<(SourceKey, u32)>,
        seq: Option<u32>,
    ) -> Result<(), Problem> {
        if let Err(problem) = self.check(row) {
            let seq = seq.unwrap_or_else(|| index(self.places.len()));
            self.set_aside(row, seq, Why::Refused(place));
            return Err(problem.at(self.place_of(place)));
        }
        let seq = seq.unwrap_or_else(|| self.places.add(place));
        match self.corrections.same(row) {
            Some(true) => self.set_aside(row, seq, Why::Repeated),
            Some(false) => self.set_aside(row, seq, Why::Taken),
            None if self.program.inner().info(row.event).life == Some(Life::Void) => {
                let of = self.reference_text(row.reference).unwrap_or("").to_owned();
                self.corrections.add_void(row, &of, seq);
            }
            None => {
                let filed = self.file(row, seq);
                if !row.id.is_empty() {
                    self.corrections.add(row, filed);
                }
            }
        }
        Ok(())
    }

    fn set_aside(&mut self, row: &Row<'_>, seq: u32, why: Why) {
        self.written.unfiled.push(Unfiled { seq, row: row.owned(), why });
    }

    /// Whether an entry can be used.
    pub fn check(&self, row: &Row<'_>) -> Result<(), Problem> {
        let rules = self.program.inner();
        let event = || self.events.singular(row.event);
        if let Some(until) = row.until
            && ends_before(until, row.when, rules.zone)
        {
            let sentence = "`{event}` ends (`until` {until}) before it begins (`when` {when})";
            let problem = Problem::new(Code::UntilBeforeWhen, sentence).with("event", event());
            return Err(problem.with("until", until.to_string()).with("when", row.when.to_string()));
        }
        let negative = |amount: Option<Amount>| amount.is_some_and(|amount| amount < Amount::ZERO);
        if negative(row.amount) {
            let sentence =
                "`{event}` has a negative amount; to take an entry back, record `void` with its id as `ref`";
            return Err(Problem::new(Code::NegativeAmount, sentence).with("event", event()));
        }
        let is_meter = rules.info(row.event).meter.is_some();
        if is_meter && negative(row.reading) && !self.is_other_unit(row.event, row.unit) {
            let sentence = "`{event}` has a negative reading, and a meter starts at 0";
            return Err(Problem::new(Code::NegativeAmount, sentence).with("event", event()));
        }
        Ok(())
    }

    /// Files an entry under the name it is for; says where.
    fn file(&mut self, row: &Row<'_>, seq: u32) -> Filed {
        let zone = self.zone();
        let begin = zone.stands(row.when);
        let at = row.until.map_or(begin, |until| zone.stands(until).max(begin));
        let (ticks, fine) = at.ticks();
        let filed = Filed { stream: row.item, ticks, seq };
        let is_life = one_by_one(self.program.inner().info(row.event));
        // Since when an item is there matters to the entries of its kit.
        if !is_life && !self.keeps(row.item) {
            self.store.facts.add_names(row.event, row.conditions, row.found);
            return filed;
        }
        self.written.add(row, seq, zone);
        let span = row.until.map(|until| EntrySpan {
            begin: moment(row.when, begin, zone),
            end: moment(until, zone.over(until), zone),
        });
        let (amount, reading) = (row.amount.map(Amount::micros), row.reading.map(Amount::micros));
        let dated = matches!(row.when, When::Date(_)) && row.until.is_none();
        let fact = Fact { fine, ..Fact::new(row.event, row.conditions, amount, reading, dated) };
        let extra = Extra {
            found: row.found,
            unit: row.unit,
            expect: row.expect,
            amount: amount.filter(|_| reading.is_some()),
        };
        if span.is_some() && row.conditions != 0 {
            self.store.add_spanned(row.item);
        }
        if is_life {
            self.store.add_life(row.item);
        }
        let own = Own { span, reference: row.reference };
        let fact = self.store.facts.add_with(seq, fact, extra, own);
        self.store.push(row.item, Line::new(ticks, seq, fact));
        filed
    }
}

fn moment(when: When, at: crate::time::Instant, zone: Zone) -> Moment {
    let (date, dated) = match when {
        When::Date(date) => (date, true),
        _ => (zone.date(at), false),
    };
    Moment::on(at, date, dated)
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
                .map_err(|error| Problem::unreadable(Code::BadTime, field, text, error)),
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
                .map_err(|error| Problem::unreadable(Code::BadNumber, field, text, error)),
        },
    }
}
