//! A book's entries as they are: what an item's log says, and how much each use counts for a rule's part.
//!
//! For those who look ahead or back. Nothing here changes an answer.

use crate::answer::{Meter, Prepared, Spans, UsageKey};
use crate::book::Book;
use crate::log::{Ledger, Line, READING, VOIDED};
use crate::problem::Place;
use crate::rules::WEIGHT_ONE;
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::Amount;
use std::num::NonZeroUsize;

/// One entry of an item's log, names as people spell them.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logged {
    /// When it counts: for what has a span, at its end.
    pub at: Instant,
    /// When it begins.
    pub begin: Instant,
    /// When it is over; for a date alone the end of that date.
    pub end: Instant,
    /// What happened.
    pub event: String,
    /// Whether it is a task that was done.
    pub done: bool,
    /// How much; absent where it is a reading.
    pub amount: Option<Amount>,
    /// What a meter or gauge showed.
    pub reading: Option<Amount>,
    /// Its conditions, with those of the spans it lies in.
    pub conditions: Vec<String>,
    /// What was found.
    pub found: Vec<String>,
    /// What it refers to.
    pub reference: Option<String>,
    /// What it expects a day, for a plan.
    pub expect: Vec<(String, Amount)>,
    /// Where it was read.
    pub place: Option<Place>,
}

/// One entry that counts for a usage.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Use {
    /// Which of the usages asked for.
    pub which: usize,
    /// When it counts.
    pub at: Instant,
    /// How much it counts, weighted, in billionths.
    pub billionths: i128,
}

/// What a plan expects of the usages asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Expected {
    /// Its first date.
    pub from: NaiveDate,
    /// Its last date.
    pub to: NaiveDate,
    /// Which usage, and how much of it counts each day, in billionths; 0 where its conditions do not match.
    pub daily: Vec<(usize, i128)>,
}

/// A reader of a book's uses. A clone has memory of its own, for another thread.
#[derive(Debug)]
pub struct Uses<'b> {
    ledger: &'b Ledger,
    prepared: &'b Prepared,
    spans: Spans,
    buffer: Vec<Line>,
    held: Vec<u32>,
    meters: Vec<Meter>,
}

impl Clone for Uses<'_> {
    fn clone(&self) -> Self {
        Self::new(self.ledger, self.prepared)
    }
}

impl Book {
    /// An item's entries in order, also those still to come; empty if there is no such item.
    ///
    /// ```
    /// use kitlore_engine::{Book, Entry, Item, Program};
    /// let rules = Program::parse("after 20 lens changes in dust, inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera")).unwrap();
    /// book.record(Entry::new("2026-02-07", "shoot").until("2026-02-08").item("C1").condition("dust")).unwrap();
    /// book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(12)).unwrap();
    /// let log = book.history("C1");
    /// assert_eq!((log[0].event.as_str(), log[0].conditions.as_slice()), ("lens change", &["dust".to_owned()][..]));
    /// ```
    pub fn history(&mut self, item: &str) -> Vec<Logged> {
        self.settle(NonZeroUsize::MIN);
        let ledger = &self.ledger;
        let (mut spans, mut buffer) = (Spans::default(), Vec::new());
        let lines = gather(ledger, &mut spans, item, &mut buffer);
        let mut held = Vec::new();
        lines
            .iter()
            .filter(|line| !line.is(VOIDED))
            .map(|line| {
                spans.conditions(ledger, line, &mut held);
                logged(ledger, line, &held)
            })
            .collect()
    }

    /// A reader of how much every entry counts for the parts of rules.
    ///
    /// ```
    /// use kitlore_engine::{Book, Entry, Item, Program, When};
    /// let rules = Program::parse("after 20 lens changes (in dust count 2), inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera")).unwrap();
    /// book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(3).condition("dust")).unwrap();
    /// let found = book.standings(rules.when_is_over(When::parse("2026-02-08").unwrap()));
    /// let counted = found.rows().next().unwrap().rules().next().unwrap().parts()[0].usage.unwrap();
    /// let mut sum = 0;
    /// book.uses().each("C1", &[counted], |used| sum += used.billionths);
    /// assert_eq!(sum, 6_000_000_000);
    /// ```
    pub fn uses(&mut self) -> Uses<'_> {
        self.settle(NonZeroUsize::MIN);
        Uses::new(&self.ledger, self.prepared())
    }
}

impl<'b> Uses<'b> {
    fn new(ledger: &'b Ledger, prepared: &'b Prepared) -> Self {
        Self {
            ledger,
            prepared,
            spans: Spans::default(),
            buffer: Vec::new(),
            held: Vec::new(),
            meters: Vec::new(),
        }
    }

    /// Calls `take` for every entry of an item that counts for a usage, in order, also for those to come.
    /// A meter's first reading counts for none: what was used before it, and when, is not known.
    pub fn each(&mut self, item: &str, asked: &[UsageKey], mut take: impl FnMut(Use)) {
        let (ledger, program) = (self.ledger, self.ledger.program.inner());
        let mut held = std::mem::take(&mut self.held);
        let mut meters = std::mem::take(&mut self.meters);
        meters.clear();
        meters.resize(program.meters, Meter::default());
        let mut buffer = std::mem::take(&mut self.buffer);
        let lines = gather(ledger, &mut self.spans, item, &mut buffer);
        for line in lines.iter().filter(|line| !line.is(VOIDED)) {
            let fact = ledger.fact(line);
            if !asked.iter().any(|usage| usage.event == fact.event) {
                continue;
            }
            let info = program.info(fact.event);
            let unit = ledger.extra(fact).map_or(0, |extra| extra.unit);
            let amount = match info.meter {
                // A completion is one occurrence of its own name.
                None => Amount::ONE.micros(),
                Some(_) if ledger.is_other_unit(fact.event, unit) => continue,
                Some(_) if fact.has(READING) && line.says_no_item() => continue,
                Some(meter) if fact.has(READING) => {
                    let step = meters.get_mut(meter as usize).map(|meter| meter.read(fact.amount));
                    match step.filter(|step| step.before.is_some()) {
                        Some(step) => step.by,
                        None => continue,
                    }
                }
                Some(_) => fact.amount,
            };
            let mut inherited = false;
            for (which, usage) in asked.iter().enumerate().filter(|(_, usage)| usage.event == fact.event) {
                let weight = if usage.test == 0 || self.spans.is_empty() {
                    self.prepared.weight(ledger, fact.conditions, usage.test)
                } else {
                    if !std::mem::replace(&mut inherited, true) {
                        self.spans.conditions(ledger, line, &mut held);
                    }
                    program.tests.get(usage.test as usize).and_then(|test| test.weight(&held))
                };
                if let Some(weight) = weight {
                    take(Use {
                        which,
                        at: fact.at(line),
                        billionths: i128::from(amount) * i128::from(weight),
                    });
                }
            }
        }
        (self.held, self.meters, self.buffer) = (held, meters, buffer);
    }

    /// What an item's plans that are not over at an instant expect of the usages asked for.
    pub fn plans(&mut self, item: &str, asked: &[UsageKey], at: Instant) -> Vec<Expected> {
        let (ledger, program) = (self.ledger, self.ledger.program.inner());
        let zone = program.zone;
        let mut held = std::mem::take(&mut self.held);
        let mut buffer = std::mem::take(&mut self.buffer);
        let lines = gather(ledger, &mut self.spans, item, &mut buffer);
        // An entry counts at 00:00 of the date of its end, or later.
        let today = zone.midnight(zone.date(at));
        let first = lines.partition_point(|line| ledger.fact(line).at(line) < today);
        let mut plans = Vec::new();
        for line in lines.iter().skip(first).filter(|line| !line.is(VOIDED)) {
            let fact = ledger.fact(line);
            let expect = ledger.extra(fact).map_or(0, |extra| extra.expect);
            let expect = &ledger.expects.get(expect).daily;
            let (begin, end) = ledger.extents(line, fact);
            if expect.is_empty() || end <= at {
                continue;
            }
            self.spans.conditions(ledger, line, &mut held);
            let daily = asked.iter().enumerate().filter_map(|(which, usage)| {
                let (_, micros) = expect.iter().find(|(event, _)| *event == usage.event)?;
                let weight = program.tests.get(usage.test as usize)?.weight(&held).unwrap_or(0);
                Some((which, i128::from(*micros) * i128::from(weight)))
            });
            plans.push(Expected { from: zone.date(begin), to: zone.date(end), daily: daily.collect() });
        }
        (self.held, self.buffer) = (held, buffer);
        plans
    }

    /// How much an amount of an event counts for a usage under conditions, in billionths; 0 where they do not
    /// match, nothing where it counts another event.
    pub fn weigh(&self, usage: UsageKey, event: &str, amount: Amount, conditions: &[String]) -> Option<i128> {
        let program = self.ledger.program.inner();
        if program.events.find(&kitlore_syntax::key(event)) != Some(usage.event) {
            return None;
        }
        let held: Vec<u32> = conditions
            .iter()
            .filter_map(|name| program.conditions.find(&kitlore_syntax::key(name)))
            .collect();
        let weight = program.tests.get(usage.test as usize)?.weight(&held).unwrap_or(0);
        Some(i128::from(amount.micros()) * i128::from(weight))
    }

    /// The date an item was put into service, else received, by the inventory or else by the log.
    pub fn begun(&self, item: &str) -> Option<NaiveDate> {
        let member = self.ledger.member(self.ledger.item(item)?);
        member.in_service.or(member.received)
    }

    /// When the first entry of the log that is no plan counts.
    pub fn first(&self) -> Option<Instant> {
        let ledger = self.ledger;
        let firsts = (0..crate::names::index(ledger.store.streams.len())).filter_map(|stream| {
            let line = ledger.store.lines(stream).iter().find(|line| !line.is(VOIDED))?;
            Some(ledger.fact(line).at(line))
        });
        firsts.min()
    }

    /// The rules of the book.
    pub fn program(&self) -> &'b crate::Program {
        &self.ledger.program
    }

    /// One whole use of anything, in billionths.
    pub const ONE: i128 = 1_000_000 * WEIGHT_ONE;
}

/// The item's entries, and in `spans` those with conditions.
fn gather<'r>(ledger: &'r Ledger, spans: &mut Spans, item: &str, buffer: &'r mut Vec<Line>) -> &'r [Line] {
    let Some(number) = ledger.item_number(item).filter(|number| ledger.answers_for(*number)) else {
        return &[];
    };
    let Some(record) = ledger.items.get(number as usize) else { return &[] };
    let member = ledger.member(record);
    let lines = ledger.entries_of(&member, buffer);
    let spanned = |stream: u32| ledger.store.stream(stream).is_some_and(|stream| stream.spans > 0);
    let has_spans = member.namings.iter().any(|naming| spanned(naming.stream));
    spans.gather(ledger, if has_spans { lines } else { &[] }, i64::MIN);
    lines
}

/// An entry with its names, under these conditions.
fn logged(ledger: &Ledger, line: &Line, held: &[u32]) -> Logged {
    let fact = ledger.fact(line);
    let (begin, end) = ledger.extents(line, fact);
    let done = ledger.program.inner().info(fact.event).task.is_some();
    let is_reading = fact.has(READING);
    let amount =
        if done { Some(Amount::ONE) } else { Some(Amount::from_micros(fact.amount)).filter(|_| !is_reading) };
    // Of an entry that says no item neither reading nor findings are used.
    let found = if line.says_no_item() { &[][..] } else { ledger.found(ledger.extra(fact)) };
    Logged {
        at: fact.at(line),
        begin,
        end,
        event: ledger.events.singular(fact.event),
        done,
        amount,
        reading: (is_reading && !line.says_no_item()).then_some(Amount::from_micros(fact.amount)),
        conditions: held.iter().map(|number| ledger.conditions.text(*number).to_owned()).collect(),
        found: found.iter().map(|found| ledger.findings.text(*found).to_owned()).collect(),
        reference: ledger.reference(line, fact).map(str::to_owned),
        expect: ledger.expected_by(fact),
        place: ledger.place(line.seq),
    }
}
