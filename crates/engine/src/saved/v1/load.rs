//! Reading version 1.

use super::form::{Block, ItemForm, Log, Rare, Report, Sort, Time, Totals, date};
use crate::log::{Expect, Item, Ledger, Row, SourceKey};
use crate::problem::{Place, Problem};
use crate::rules::Program;
use crate::saved::blocks::{Reader, damaged};
use crate::saved::error::LoadError;
use kitlore_syntax::Amount;
use std::sync::Arc;

const MILLION: i64 = 1_000_000;

/// Reads a book.
pub(in crate::saved) fn load<R: std::io::Read>(
    program: &Program,
    mut from: Reader<R>,
) -> Result<Ledger, LoadError> {
    let mut loading = Loading::new(program);
    loop {
        let before = from.count();
        let taken = match from.read::<Block<'_>>()? {
            Block::End(totals) => Ok(Some(totals)),
            block => loading.take(block).map(|()| None),
        };
        let (block, at) = from.position();
        match taken {
            Ok(None) => {}
            Ok(Some(totals)) if totals == (Totals { blocks: before, ..loading.totals }) => {
                from.finish()?;
                return Ok(loading.ledger);
            }
            Ok(Some(_)) => return Err(damaged(block, at, "counts other than what was read")),
            Err(Foreign) => return Err(damaged(block, at, "holds what no book holds")),
        }
    }
}

/// A content that no book has, though its checksum is right.
struct Foreign;

/// A book on its way, and the numbers its names have in it by those they have in the file.
struct Loading {
    ledger: Ledger,
    events: Vec<u32>,
    conditions: Vec<u32>,
    findings: Vec<u32>,
    units: Vec<u32>,
    references: Vec<u32>,
    streams: Vec<u32>,
    sets: Vec<u32>,
    sources: Vec<(Arc<str>, Option<SourceKey>)>,
    totals: Totals,
}

impl Loading {
    fn new(program: &Program) -> Self {
        Self {
            ledger: Ledger::new(program),
            events: Vec::new(),
            conditions: Vec::new(),
            findings: Vec::new(),
            units: Vec::new(),
            references: Vec::new(),
            streams: Vec::new(),
            sets: Vec::new(),
            sources: Vec::new(),
            totals: Totals::default(),
        }
    }

    fn take(&mut self, block: Block<'_>) -> Result<(), Foreign> {
        match block {
            Block::Names(sort, names) => names.into_iter().for_each(|name| self.name(sort, name)),
            Block::Streams(names) => {
                self.streams
                    .extend(names.into_iter().map(|(name, is_id)| self.ledger.add_stream(name, is_id)));
            }
            Block::Sets(sets) => {
                for set in sets {
                    let list = known(&self.conditions, &set)?;
                    self.sets.push(self.ledger.condition_sets.add(list));
                }
            }
            Block::Items(items) => items.into_iter().try_for_each(|item| self.item(item))?,
            Block::Log(log) => self.log(*log)?,
            Block::End(_) => {}
        }
        Ok(())
    }

    fn name(&mut self, sort: Sort, name: &str) {
        let ledger = &mut self.ledger;
        match sort {
            Sort::Event => self.events.push(ledger.events.add(name)),
            Sort::Condition => self.conditions.push(ledger.conditions.add(name)),
            Sort::Finding => self.findings.push(ledger.findings.add(name)),
            Sort::Unit => self.units.push(ledger.units.add(name)),
            Sort::Reference => {
                // As entries have them: without blanks at their ends.
                self.references.push(ledger.add_reference(name.trim()));
            }
            Sort::Source => {
                let key = SourceKey(ledger.sources.add(name));
                let name = ledger.sources.get(key.0).cloned();
                self.sources.extend(name.map(|name| (name, Some(key))));
            }
            Sort::OtherSource => self.sources.push((name.into(), None)),
        }
    }

    fn place(&self, place: Option<(u32, u32)>) -> Result<Option<Place>, Foreign> {
        let Some((source, line)) = place else { return Ok(None) };
        let (source, _) = self.sources.get(source as usize).ok_or(Foreign)?;
        Ok(Some(Place { source: source.clone(), line }))
    }

    fn item(&mut self, form: ItemForm<'_>) -> Result<(), Foreign> {
        let dated = |days: Option<i32>| days.map(|days| date(days).ok_or(Foreign)).transpose();
        let item = Item {
            id: form.id.to_owned(),
            kind: form.kind.to_owned(),
            received: dated(form.received)?,
            in_service: dated(form.in_service)?,
            retired: dated(form.retired)?,
            kits: form.kits.into_iter().map(str::to_owned).collect(),
            model: form.model.map(str::to_owned),
            attributes: form
                .attributes
                .into_iter()
                .map(|(heading, value)| (heading.to_owned(), value.to_owned()))
                .collect(),
            place: self.place(form.place)?,
        };
        self.totals.items += 1;
        self.ledger.add_item(item).map_err(|_| Foreign)
    }

    fn log(&mut self, log: Log<'_>) -> Result<(), Foreign> {
        let rows = log.events.len();
        let whole = if log.whole { MILLION } else { 1 };
        let alike = [log.times.len(), log.items.len(), log.conditions.len(), log.amounts.len()];
        let nanos = [0, rows].contains(&log.nanos.len());
        if alike.iter().any(|count| *count != rows) || !nanos {
            return Err(Foreign);
        }
        let mut forms = Runs::new(log.forms);
        let mut places = Runs::new(log.places);
        let mut rare = log.rare.into_iter().peekable();
        let mut reports = log.reports.into_iter().peekable();
        let mut time = 0_i64;
        let each = log.times.iter().zip(&log.events).zip(&log.items).zip(&log.conditions).zip(&log.amounts);
        for (row, ((((step, event), item), conditions), amount)) in (0_u32..).zip(each) {
            while let Some((_, report)) = reports.next_if(|(before, _)| *before <= row) {
                self.report(&report)?;
            }
            time = time.checked_add(*step).ok_or(Foreign)?;
            let (form, _) = forms.next().ok_or(Foreign)?;
            let (place, since) = places.next().ok_or(Foreign)?;
            let place = match place {
                Some((source, line)) => {
                    let (_, key) = self.sources.get(source as usize).ok_or(Foreign)?;
                    Some((key.ok_or(Foreign)?, line.saturating_add(since)))
                }
                None => None,
            };
            let rare = rare.next_if(|(of, _)| *of == row).map(|(_, rare)| rare);
            let nanos = log.nanos.get(row as usize).copied().unwrap_or(0);
            let ahead = rare.as_ref().map_or(0, |rare| rare.ahead);
            let row = Row {
                amount: Some(Amount::from_micros(amount.checked_mul(whole).ok_or(Foreign)?)),
                conditions: one(&self.sets, *conditions)?,
                ..Row::new(
                    Time(form, time, nanos, ahead).when().ok_or(Foreign)?,
                    one(&self.events, *event)?,
                    one(&self.streams, *item)?,
                )
            };
            match rare {
                Some(rare) => self.rare(row, rare, place)?,
                None => {
                    if let Err(problem) = self.ledger.admit(&row, place, None) {
                        self.ledger.report(problem);
                    }
                }
            }
            self.totals.entries += 1;
        }
        for (_, report) in reports {
            self.report(&report)?;
        }
        if rare.next().is_some() { Err(Foreign) } else { Ok(()) }
    }

    fn rare(&mut self, row: Row<'_>, rare: Rare<'_>, place: Option<(SourceKey, u32)>) -> Result<(), Foreign> {
        let reference = rare.reference.map(|reference| one(&self.references, reference)).transpose()?;
        let daily = rare.expect.into_iter().map(|(event, a_day)| Ok((one(&self.events, event)?, a_day)));
        let expect =
            Expect { daily: daily.collect::<Result<_, _>>()?, wrong: rare.bad_expect.map(Into::into) };
        let row = Row {
            until: rare.until.map(|until| until.when().ok_or(Foreign)).transpose()?,
            amount: rare.amount.map(Amount::from_micros),
            reading: rare.reading.map(Amount::from_micros),
            unit: rare.unit.map(|unit| one(&self.units, unit)).transpose()?.map_or(0, |unit| unit + 1),
            found: self.ledger.finding_sets.add(known(&self.findings, &rare.found)?),
            reference: reference.unwrap_or(0),
            expect: self.ledger.expects.add(expect),
            id: rare.id.trim(),
            by: rare.by.trim(),
            note: rare.note.trim(),
            ..row
        };
        // What the rules of then refused may stand in the table of the host's own problems already.
        if let Err(problem) = self.ledger.admit(&row, place, None)
            && rare.refused.unwrap_or(true)
        {
            self.ledger.report(problem);
        }
        Ok(())
    }

    fn report(&mut self, report: &Report<'_>) -> Result<(), Foreign> {
        let problem = Problem::new(report.code.to_owned(), report.message.to_string())
            .at(self.place(report.place)?)
            .meant(report.meant);
        self.totals.reports += 1;
        self.ledger.report(problem);
        Ok(())
    }
}

/// Values of runs, and how far into its run each is.
struct Runs<T> {
    runs: std::vec::IntoIter<(u32, T)>,
    now: Option<T>,
    since: u32,
    count: u32,
}

impl<T: Copy> Runs<T> {
    fn new(runs: Vec<(u32, T)>) -> Self {
        Self { runs: runs.into_iter(), now: None, since: 0, count: 0 }
    }

    fn next(&mut self) -> Option<(T, u32)> {
        if self.since == self.count {
            let (count, value) = self.runs.find(|(count, _)| *count > 0)?;
            (self.now, self.since, self.count) = (Some(value), 0, count);
        }
        self.since += 1;
        Some((self.now?, self.since - 1))
    }
}

fn one(numbers: &[u32], number: u32) -> Result<u32, Foreign> {
    numbers.get(number as usize).copied().ok_or(Foreign)
}

/// The numbers of some names, sorted.
fn known(numbers: &[u32], list: &[u32]) -> Result<Vec<u32>, Foreign> {
    let mut known = list.iter().map(|number| one(numbers, *number)).collect::<Result<Vec<u32>, _>>()?;
    known.sort_unstable();
    known.dedup();
    Ok(known)
}
