//! Doubts about single entries: what they say that rules cannot use.

use super::limits::SUGGESTIONS;
use crate::codes::Code;
use crate::log::{Extra, Fact, Ledger, NO_NAME, READING, Why};
use crate::names::{Candidates, Map, Set};
use crate::problem::Problem;
use crate::rules::Inner;
use std::borrow::Cow;

/// The doubts about all entries, each list in order of record.
#[derive(Default)]
pub(super) struct Doubts {
    pub of_entries: Vec<Problem>,
    pub unknown_events: Vec<Problem>,
}

/// Looks at every fact once, and at the lines of those that are doubtful.
pub(super) fn doubts(ledger: &Ledger) -> Doubts {
    let mut all = Doubts::default();
    let taken = ledger.written.unfiled.iter().filter(|unfiled| unfiled.why == Why::Taken);
    let mut of_entries: Vec<(u32, Problem)> = taken
        .map(|unfiled| {
            let sentence = "another entry has the id `{id}`; the first one stands";
            (unfiled.seq, Problem::new(Code::DuplicateId, sentence).with("id", unfiled.row.row().id))
        })
        .collect();
    let facts = ledger.store.facts.list();
    let doubtful: Vec<bool> = facts.iter().map(|fact| is_doubtful(ledger, fact)).collect();
    if doubtful.contains(&true) {
        let is_doubtful = |fact: u32| doubtful.get(fact as usize).copied().unwrap_or(false);
        let lines = ledger.store.all_lines().filter(|line| is_doubtful(line.fact()));
        let mut lines: Vec<(u32, Fact)> = lines
            .filter(|line| !ledger.corrections.is_out(line.seq))
            .map(|line| (line.seq, *ledger.fact(line)))
            .collect();
        lines.sort_unstable_by_key(|(seq, _)| *seq);
        let mut events = UnknownEvents::new(ledger);
        let unnamed: Set<u32> = ledger.store.lines(NO_NAME).iter().map(|line| line.seq).collect();
        for (seq, fact) in lines {
            of_entry(ledger, &fact, |problem| {
                // Of an entry that says no item the reading does not stand: that is reported elsewhere.
                let is_moot = problem.code == Code::ReadingOverAmount.word() && unnamed.contains(&seq);
                of_entries.extend((!is_moot).then_some((seq, problem)));
            });
            for event in strangers(ledger, &fact) {
                all.unknown_events.push(events.problem(event).at(ledger.place(seq)));
            }
        }
        of_entries.sort_by_key(|(seq, _)| *seq);
    }
    all.of_entries.extend(of_entries.into_iter().map(|(seq, problem)| problem.at(ledger.place(seq))));
    all
}

fn is_doubtful(ledger: &Ledger, fact: &Fact) -> bool {
    let mut has = strangers(ledger, fact).next().is_some();
    if !has {
        of_entry(ledger, fact, |_| has = true);
    }
    has
}

/// The events of an entry that no rule knows: its own and those it expects.
fn strangers<'l>(ledger: &'l Ledger, fact: &Fact) -> impl Iterator<Item = u32> + use<'l> {
    let known = ledger.program.inner().events.len();
    let expect = ledger.extra(fact).map_or(0, |extra| extra.expect);
    let expected = ledger.expects.get(expect).daily.iter().map(|(event, _)| *event);
    std::iter::once(fact.event).chain(expected).filter(move |event| *event as usize >= known)
}

/// What is doubtful about an entry on its own.
fn of_entry(ledger: &Ledger, fact: &Fact, mut found: impl FnMut(Problem)) {
    let rules: &Inner = ledger.program.inner();
    let info = rules.info(fact.event);
    let extra = ledger.extra(fact).copied().unwrap_or_default();
    let Extra { unit, expect, amount, .. } = extra;
    let mut doubt = |code: Code, sentence: &'static str| {
        found(Problem::new(code, sentence).with("event", ledger.events.singular(fact.event)));
    };
    let is_reading = fact.has(READING);
    let wrong = ledger.expects.get(expect).wrong.as_deref();
    let is_usage = info.task.is_none() && info.life.is_none();
    let over_amount = is_usage && is_reading && amount.is_some();
    let no_reading = info.gauge && !info.occurs && !is_reading;
    let other_unit = info.meter.is_some() && ledger.is_other_unit(fact.event, unit);
    if over_amount {
        doubt(Code::ReadingOverAmount, "`{event}` has an amount and a reading; the reading stands");
    }
    if no_reading {
        doubt(Code::MissingReading, "`{event}` has no reading, and the rules only look at its reading");
    }
    if other_unit {
        let sentence =
            "`{event}` is counted in its own name, not in the unit given; this entry is not counted";
        doubt(Code::UnitDiffers, sentence);
    }
    if let Some(wrong) = wrong {
        let sentence = "`expect` {wrong}; until then nothing is expected";
        found(Problem::new(Code::BadExpect, sentence).with("wrong", wrong));
    }
}

/// Events that no rule knows, and what was probably meant by each.
struct UnknownEvents<'l> {
    ledger: &'l Ledger,
    candidates: Candidates<'l>,
    meant: Map<u32, Option<String>>,
}

impl<'l> UnknownEvents<'l> {
    fn new(ledger: &'l Ledger) -> Self {
        let candidates = Candidates::new(ledger.program.inner().all_names());
        Self { ledger, candidates, meant: Map::default() }
    }

    fn problem(&mut self, event: u32) -> Problem {
        let text = self.ledger.events.text(event);
        let is_looked_for = self.meant.len() < SUGGESTIONS;
        let closest = || self.candidates.closest(text).map(Cow::into_owned);
        let meant = self.meant.entry(event).or_insert_with(|| if is_looked_for { closest() } else { None });
        let meant = meant.clone();
        let sentence = "no rule knows the event `{event}`; if it is right, declare it with an `events` line";
        Problem::new(Code::UnknownEvent, sentence).with("event", text).meant(meant)
    }
}
