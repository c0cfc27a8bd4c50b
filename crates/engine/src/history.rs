//! A book's entries as they are: what an item's log says, and how much each use counts for a rule's part.
//!
//! For those who look ahead or back. Nothing here changes an answer.

use crate::book::{Book, EventKey};
use crate::line::{DATED, Fact, Line, OTHER_UNIT, READING, VOIDED};
use crate::problem::Place;
use crate::program::{Life, WEIGHT_ONE};
use crate::spans::Spans;
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::Amount;
use std::num::NonZeroUsize;

/// What a usage part of a rule counts: an event under conditions, with weights. Parts that count alike have
/// equal keys, in whichever rule they stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct UsageKey {
    event: u32,
    test: u32,
}

impl UsageKey {
    pub(crate) fn new(event: u32, test: u32) -> Self {
        Self { event, test }
    }

    /// The event it counts.
    pub fn event(self) -> EventKey {
        EventKey(self.event)
    }
}

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

/// A reader of a book's uses. A clone has room of its own, for another thread.
#[derive(Debug)]
pub struct Uses<'b> {
    book: &'b Book,
    spans: Spans,
    room: Vec<Line>,
    held: Vec<u32>,
    meters: Vec<Option<i64>>,
}

impl Clone for Uses<'_> {
    fn clone(&self) -> Self {
        Self::new(self.book)
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
        let book = &*self;
        let (mut spans, mut room) = (Spans::default(), Vec::new());
        let lines = Uses::gather(book, &mut spans, item, &mut room);
        let zone = book.program.inner().zone;
        let mut held = Vec::new();
        lines
            .iter()
            .filter(|line| !line.is(VOIDED))
            .map(|line| {
                spans.conditions(book, zone, line, &mut held);
                book.logged(line, &held)
            })
            .collect()
    }

    fn logged(&self, line: &Line, held: &[u32]) -> Logged {
        let fact = self.fact(line);
        let extra = self.extra(fact);
        let (begin, end) = extents(self, line, fact);
        let reading = if fact.has(READING) { Some(fact.amount) } else { extra.and_then(|e| e.reading) };
        let found = extra.map_or(&[][..], |extra| &extra.found);
        Logged {
            at: fact.at(line),
            begin,
            end,
            event: self.events.singular(fact.event),
            done: self.program.inner().info(fact.event).task.is_some(),
            amount: (!fact.has(READING)).then_some(Amount::from_micros(fact.amount)),
            reading: reading.map(Amount::from_micros),
            conditions: held.iter().map(|number| self.conditions.text(*number).to_owned()).collect(),
            found: found.iter().map(|finding| self.findings.text(*finding).to_owned()).collect(),
            reference: extra.and_then(|extra| extra.reference).and_then(|number| self.reference_text(number)),
            expect: self.expected_by(fact),
            place: self.place(line.seq),
        }
    }

    /// What an entry expects a day.
    pub(crate) fn expected_by(&self, fact: &Fact) -> Vec<(String, Amount)> {
        let expect = self.extra(fact).map_or(&[][..], |extra| &extra.expect);
        expect
            .iter()
            .map(|(event, micros)| (self.events.text(*event).to_owned(), Amount::from_micros(*micros)))
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
        Uses::new(self)
    }

    fn item_record(&self, item: &str) -> Option<&crate::book::ItemRecord> {
        let stream = self.cabinet.stream(self.find_stream(item.trim())?)?;
        self.items.get(stream.item? as usize)
    }

    pub(crate) fn reference_text(&self, number: u32) -> Option<String> {
        self.references.iter().find(|(_, known)| **known == number).map(|(text, _)| text.to_string())
    }
}

impl<'b> Uses<'b> {
    fn new(book: &'b Book) -> Self {
        Self { book, spans: Spans::default(), room: Vec::new(), held: Vec::new(), meters: Vec::new() }
    }

    /// The item's entries, and in `spans` those with conditions.
    fn gather<'r>(book: &'r Book, spans: &mut Spans, item: &str, room: &'r mut Vec<Line>) -> &'r [Line] {
        let Some(record) = book.item_record(item) else { return &[] };
        let streams = book.streams_of(record);
        let lines = book.merge(&streams, room);
        let spanned = |stream: &u32| book.cabinet.stream(*stream).is_some_and(|stream| stream.spans > 0);
        let has_spans = streams.iter().any(|(stream, _)| spanned(stream));
        spans.gather(book, book.program.inner().zone, if has_spans { lines } else { &[] });
        lines
    }

    /// Calls `take` for every entry of an item that counts for a usage, in order, also for those to come.
    /// A meter's first reading counts for none: what was used before it, and when, is not known.
    pub fn each(&mut self, item: &str, asked: &[UsageKey], mut take: impl FnMut(Use)) {
        let (book, program) = (self.book, self.book.program.inner());
        let zone = program.zone;
        let mut held = std::mem::take(&mut self.held);
        let mut meters = std::mem::take(&mut self.meters);
        meters.clear();
        meters.resize(program.meters, None);
        let mut room = std::mem::take(&mut self.room);
        let lines = Self::gather(book, &mut self.spans, item, &mut room);
        for line in lines.iter().filter(|line| !line.is(VOIDED)) {
            let fact = book.fact(line);
            if fact.has(OTHER_UNIT) || !asked.iter().any(|usage| usage.event == fact.event) {
                continue;
            }
            let mut amount = fact.amount;
            if fact.has(READING) {
                let meter = program.info(fact.event).meter.and_then(|meter| meters.get_mut(meter as usize));
                let Some(before) = meter.and_then(|last| last.replace(fact.amount)) else { continue };
                amount = if fact.amount < before { fact.amount } else { fact.amount - before };
            }
            let mut inherited = false;
            for (which, usage) in asked.iter().enumerate().filter(|(_, usage)| usage.event == fact.event) {
                let weight = if usage.test == 0 || self.spans.is_empty() {
                    book.sets.weight(fact.conditions, usage.test, program)
                } else {
                    if !std::mem::replace(&mut inherited, true) {
                        self.spans.conditions(book, zone, line, &mut held);
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
        (self.held, self.meters, self.room) = (held, meters, room);
    }

    /// What an item's plans that are not over at an instant expect of the usages asked for.
    pub fn plans(&mut self, item: &str, asked: &[UsageKey], at: Instant) -> Vec<Expected> {
        let (book, program) = (self.book, self.book.program.inner());
        let zone = program.zone;
        let Some(record) = book.item_record(item) else { return Vec::new() };
        let streams = book.streams_of(record);
        // An entry counts at 00:00 of the date of its end, or later.
        let today = zone.midnight(zone.date(at));
        let mut plans = Vec::new();
        for (stream, _) in streams {
            let lines = book.cabinet.lines(stream);
            let first = lines.partition_point(|line| book.fact(line).at(line) < today);
            for line in lines.iter().skip(first).filter(|line| !line.is(VOIDED)) {
                let fact = book.fact(line);
                let expect = book.extra(fact).map_or(&[][..], |extra| &extra.expect);
                let (begin, end) = extents(book, line, fact);
                if expect.is_empty() || end <= at {
                    continue;
                }
                let conditions = book.sets.list(fact.conditions);
                let daily = asked.iter().enumerate().filter_map(|(which, usage)| {
                    let (_, micros) = expect.iter().find(|(event, _)| *event == usage.event)?;
                    let weight = program.tests.get(usage.test as usize)?.weight(conditions).unwrap_or(0);
                    Some((which, i128::from(*micros) * i128::from(weight)))
                });
                plans.push(Expected { from: zone.date(begin), to: zone.date(end), daily: daily.collect() });
            }
        }
        plans
    }

    /// How much an amount of an event counts for a usage under conditions, in billionths; 0 where they do not
    /// match, nothing where it counts another event.
    pub fn weigh(&self, usage: UsageKey, event: &str, amount: Amount, conditions: &[String]) -> Option<i128> {
        let program = self.book.program.inner();
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
        let record = self.book.item_record(item)?;
        let streams = self.book.streams_of(record);
        let life = |life| self.book.life_date(&streams, life);
        let in_service = record.item.in_service.or_else(|| life(Life::InService));
        in_service.or(record.item.received).or_else(|| life(Life::Received))
    }

    /// When the first entry of the log that is no plan counts.
    pub fn first(&self) -> Option<Instant> {
        let book = self.book;
        let firsts = (0..crate::names::index(book.cabinet.streams.len())).filter_map(|stream| {
            let line = book.cabinet.lines(stream).iter().find(|line| !line.is(VOIDED))?;
            Some(book.fact(line).at(line))
        });
        firsts.min()
    }

    /// The rules of the book.
    pub fn program(&self) -> &'b crate::Program {
        &self.book.program
    }

    /// One whole use of anything, in billionths.
    pub const ONE: i128 = 1_000_000 * WEIGHT_ONE;
}

/// When an entry begins, and when it is over.
pub(crate) fn extents(book: &Book, line: &Line, fact: &Fact) -> (Instant, Instant) {
    let zone = book.program.inner().zone;
    let at = fact.at(line);
    match book.extra(fact).and_then(|extra| extra.span) {
        Some(span) => (span.begin.at, span.end.at),
        None if fact.has(DATED) => (at, zone.end(zone.date(at))),
        None => (at, at),
    }
}
