//! What a book answers: one row per item and task, each with the account of its rules.

use super::clause::{Clause, Count, Part, UsageKey, kind_word};
use super::reach::Verdict;
use crate::log::{Groups, Ledger, Member, SourceKey};
use crate::problem::{Place, Problem};
use crate::rules::{Atom, CompiledRule, Program};
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::Amount;
use kitlore_syntax::tree::{self, Details, Rule, Standing, Trigger};
use std::fmt;
use std::ops::Range;
use std::sync::Arc;

/// How the items of a book stand at an instant. It owns what it needs: the book may go on.
#[derive(Debug, Clone)]
pub struct Standings {
    program: Program,
    at: Instant,
    sources: Arc<Vec<Arc<str>>>,
    chunks: Vec<Chunk>,
    problems: Vec<Problem>,
}

/// The answers of one run over some items.
#[derive(Debug, Clone, Default)]
pub(crate) struct Chunk {
    /// Id and kind of the items that have rows.
    pub items: Vec<(Arc<str>, Arc<str>)>,
    pub rows: Vec<RowRecord>,
    pub accounts: Vec<AccountRecord>,
    pub parts: Vec<PartRecord>,
    pub silenced: Vec<u32>,
    pub problems: Vec<Problem>,
    /// Items that are not there yet.
    pub awaited: Vec<AwaitedRecord>,
    /// Whom entries for several items are for.
    pub groups: Groups,
    /// Doubts about entries, with their order of record.
    pub doubts: Vec<(u32, Problem)>,
}

/// An item that is not there yet.
#[derive(Debug, Clone)]
pub(crate) struct AwaitedRecord {
    pub item: Arc<str>,
    pub kind: Arc<str>,
    pub there: NaiveDate,
}

impl AwaitedRecord {
    pub fn of(member: &Member<'_>) -> Option<Self> {
        let Member { record, .. } = member;
        Some(Self { item: record.id.clone(), kind: record.kind_name.clone(), there: member.there()? })
    }
}

#[derive(Debug, Clone)]
pub(crate) struct RowRecord {
    pub item: u32,
    pub task: u32,
    pub standing: Standing,
    pub due: Option<Instant>,
    pub limit: Option<Instant>,
    pub done: Option<Instant>,
    pub accounts: Range<usize>,
    pub silenced: Range<usize>,
}

#[derive(Debug, Clone)]
pub(crate) struct AccountRecord {
    pub rule: u32,
    pub verdict: Verdict,
    pub parts: Range<usize>,
}

#[derive(Debug, Clone, Copy)]
pub(crate) struct PartRecord {
    pub reached: Option<Instant>,
    pub count: Option<i128>,
    /// It is a usage: it has a count.
    pub counts: bool,
    pub from: Option<NaiveDate>,
    pub tipped: Option<(SourceKey, u32)>,
}

impl Standings {
    pub(crate) fn new(
        ledger: &Ledger,
        at: Instant,
        mut chunks: Vec<Chunk>,
        mut problems: Vec<Problem>,
    ) -> Self {
        let mut doubts: Vec<(u32, Problem)> = Vec::new();
        for chunk in &mut chunks {
            problems.append(&mut chunk.problems);
            doubts.append(&mut chunk.doubts);
        }
        // An entry for a kit is met once for every member.
        doubts.sort_by(|(a, one), (b, other)| (a, &one.code).cmp(&(b, &other.code)));
        doubts.dedup_by(|(a, one), (b, other)| a == b && one.code == other.code);
        problems.extend(doubts.into_iter().map(|(_, problem)| problem));
        let order = |problem: &Problem| {
            let place = problem.place.as_ref();
            let source = place.and_then(|place| ledger.sources.find(&place.source));
            (place.is_none(), source, place.map(|place| place.line))
        };
        problems.sort_by_cached_key(order);
        problems.dedup();
        Self { program: ledger.program.clone(), at, sources: ledger.sources.list().clone(), chunks, problems }
    }

    /// The instant asked for.
    pub fn at(&self) -> Instant {
        self.at
    }

    /// The rules followed.
    pub fn program(&self) -> &Program {
        &self.program
    }

    /// Id and kind of the items asked about that are in hand: received and not retired, with rows or without.
    pub fn items(&self) -> impl Iterator<Item = (&str, &str)> {
        self.chunks.iter().flat_map(|chunk| &chunk.items).map(|(id, kind)| (&**id, &**kind))
    }

    /// Items asked about that are not there yet, by date, then id: they have no rows. An item is there from the earlier of
    /// the dates it was received and put into service.
    ///
    /// ```
    /// use kitlore_engine::{Book, Item, Program, When};
    /// let rules = Program::parse("for cameras\n after 90 days, inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// // A slip of the pen for 2026.
    /// book.add_item(Item::new("C1", "camera").received("2062-01-10".parse().unwrap())).unwrap();
    /// let found = book.standings(rules.when_is_over(When::parse("2026-02-08").unwrap()));
    /// assert_eq!(found.rows().count(), 0);
    /// assert_eq!(found.awaited().next().unwrap().there_from.to_string(), "2062-01-10");
    /// ```
    pub fn awaited(&self) -> impl ExactSizeIterator<Item = Awaited<'_>> {
        let mut list: Vec<Awaited<'_>> =
            self.chunks.iter().flat_map(|chunk| &chunk.awaited).map(Awaited::of).collect();
        list.sort_by_key(|awaited| (awaited.there_from, awaited.item));
        list.into_iter()
    }

    /// The rows by item id, then task.
    pub fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.chunks
            .iter()
            .flat_map(|chunk| chunk.rows.iter().map(move |record| (chunk, record)))
            .filter_map(|(chunk, record)| Row::new(self, chunk, record))
    }

    /// What could not be used, and doubts, by place.
    pub fn problems(&self) -> &[Problem] {
        &self.problems
    }
}

/// An item that is not there yet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Awaited<'a> {
    /// Its id.
    pub item: &'a str,
    /// Its kind, as in the inventory.
    pub kind: &'a str,
    /// The first date on which it is there.
    pub there_from: NaiveDate,
}

impl<'a> Awaited<'a> {
    fn of(record: &'a AwaitedRecord) -> Self {
        Self { item: &record.item, kind: &record.kind, there_from: record.there }
    }
}

/// How one item stands with one task.
#[derive(Clone, Copy)]
pub struct Row<'a> {
    standings: &'a Standings,
    chunk: &'a Chunk,
    record: &'a RowRecord,
    /// The item's id.
    pub item: &'a str,
    /// The item's kind, as in the inventory.
    pub kind: &'a str,
    /// The task, as first spelled in the rules.
    pub task: &'a str,
    /// The worst standing of its rules.
    pub standing: Standing,
    /// The earliest time its rules were or will certainly be reached.
    pub due_at: Option<Instant>,
    /// The earliest time at which the item must not be used.
    pub limit_at: Option<Instant>,
    /// When the task was last done.
    pub last_done: Option<Instant>,
}

impl<'a> Row<'a> {
    fn new(standings: &'a Standings, chunk: &'a Chunk, record: &'a RowRecord) -> Option<Self> {
        let (item, kind) = chunk.items.get(record.item as usize)?;
        Some(Self {
            standings,
            chunk,
            record,
            item,
            kind,
            task: &standings.program.inner().task(record.task)?.name,
            standing: record.standing,
            due_at: record.due,
            limit_at: record.limit,
            last_done: record.done,
        })
    }

    /// The accounts of its rules, in reading order.
    pub fn rules(&self) -> impl Iterator<Item = Account<'a>> + use<'a> {
        let (standings, chunk) = (self.standings, self.chunk);
        self.accounts().iter().filter_map(move |record| Account::new(standings, chunk, record))
    }

    fn accounts(&self) -> &'a [AccountRecord] {
        self.chunk.accounts.get(self.record.accounts.clone()).unwrap_or(&[])
    }

    /// The rules of the task that an `instead` rule silences for this item.
    pub fn silenced(&self) -> impl Iterator<Item = RuleText<'a>> + use<'a> {
        let standings = self.standings;
        let silenced = self.chunk.silenced.get(self.record.silenced.clone()).unwrap_or(&[]);
        silenced.iter().filter_map(move |rule| RuleText::new(standings, *rule))
    }

    #[cfg(feature = "serde")]
    pub(crate) fn standings(&self) -> &'a Standings {
        self.standings
    }

    /// The rules followed.
    pub fn program(&self) -> &'a Program {
        &self.standings.program
    }

    /// What its rules say besides, without the places of the rules, which take longer to find.
    fn details(&self) -> impl Iterator<Item = &'a Details> {
        let rules = &self.standings.program.inner().house.rules;
        self.accounts().iter().filter_map(|record| rules.get(record.rule as usize)).map(|rule| &rule.details)
    }

    /// Tools and supplies that any of its rules names, each once.
    pub fn needs(&self) -> Vec<&'a str> {
        each_once(self.details().flat_map(|details| &details.needs))
    }

    /// How long it takes, in minutes: the longest any of its rules says.
    pub fn takes_minutes(&self) -> Option<Amount> {
        self.details().filter_map(|details| details.takes_minutes).max()
    }

    /// Who may do it.
    pub fn by(&self) -> Option<&'a str> {
        self.details().find_map(|details| details.by.as_deref())
    }

    /// Why it is done.
    pub fn because(&self) -> Option<&'a str> {
        self.details().find_map(|details| details.because.as_deref())
    }

    /// Every caution of its rules, each once.
    pub fn cautions(&self) -> Vec<&'a str> {
        each_once(self.details().flat_map(|details| &details.cautions))
    }
}

impl fmt::Debug for Row<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Row")
            .field("item", &self.item)
            .field("task", &self.task)
            .field("standing", &self.standing)
            .field("due_at", &self.due_at)
            .finish_non_exhaustive()
    }
}

fn each_once<'a>(texts: impl Iterator<Item = &'a String>) -> Vec<&'a str> {
    let mut list: Vec<&str> = Vec::new();
    for text in texts {
        if !list.contains(&text.as_str()) {
            list.push(text);
        }
    }
    list
}

/// A rule and its place.
#[derive(Debug, Clone, Copy)]
pub struct RuleText<'a> {
    compiled: &'a CompiledRule,
    /// The rule as written.
    pub rule: &'a Rule,
    /// The file it stands in.
    pub file: &'a str,
    /// The line it begins on, from 1.
    pub line: u32,
    /// Its text, from the first word to the last detail.
    pub text: &'a str,
}

impl<'a> RuleText<'a> {
    fn new(standings: &'a Standings, number: u32) -> Option<Self> {
        let inner = standings.program.inner();
        let rule = inner.house.rules.get(number as usize)?;
        let sources = &inner.house.sources;
        Some(Self {
            compiled: inner.rules.get(number as usize)?,
            rule,
            file: sources.name(rule.span),
            line: sources.line_column(rule.span).0,
            text: sources.text(rule.span),
        })
    }
}

/// What one rule says of an item.
#[derive(Debug, Clone, Copy)]
pub struct Account<'a> {
    standings: &'a Standings,
    parts: &'a [PartRecord],
    /// The rule.
    pub rule: RuleText<'a>,
    /// How the item stands by this rule alone.
    pub standing: Standing,
    /// When it was or will certainly be reached.
    pub due_at: Option<Instant>,
    /// When it is overdue.
    pub late_at: Option<Instant>,
    /// When the item must not be used.
    pub limit_at: Option<Instant>,
}

impl<'a> Account<'a> {
    fn new(standings: &'a Standings, chunk: &'a Chunk, record: &'a AccountRecord) -> Option<Self> {
        Some(Self {
            standings,
            parts: chunk.parts.get(record.parts.clone()).unwrap_or(&[]),
            rule: RuleText::new(standings, record.rule)?,
            standing: record.verdict.standing,
            due_at: record.verdict.due,
            late_at: record.verdict.late,
            limit_at: record.verdict.limit,
        })
    }

    #[cfg(feature = "serde")]
    pub(crate) fn standings(&self) -> &'a Standings {
        self.standings
    }

    /// Its trigger, as it stands for the item.
    pub fn trigger(&self) -> Clause<'a> {
        self.clause(&self.rule.rule.trigger, &mut self.records())
    }

    /// Its `no later than`, if it has one.
    pub fn limit(&self) -> Option<Clause<'a>> {
        let limit = self.rule.rule.details.no_later_than.as_ref()?;
        Some(self.clause(limit, &mut self.records().skip(self.rule.compiled.trigger_atoms)))
    }

    /// The parts of its trigger, from left to right.
    pub fn parts(&self) -> Vec<Part<'a>> {
        self.trigger().into_parts()
    }

    /// The parts of its `no later than`.
    pub fn limit_parts(&self) -> Vec<Part<'a>> {
        self.limit().map(Clause::into_parts).unwrap_or_default()
    }

    /// Whether its date is that of its trigger, and not that of its `no later than`.
    pub fn is_due_by_trigger(&self) -> bool {
        let reached = self.trigger().reached_at();
        reached.is_some() && (reached == self.due_at || self.limit_at != self.due_at)
    }

    /// What the fold found of each part, and what the part asks; those of the limit come last.
    fn records(&self) -> impl Iterator<Item = (&'a PartRecord, &'a Atom)> + use<'a> {
        self.parts.iter().zip(&self.rule.compiled.atoms)
    }

    fn clause(
        &self,
        trigger: &'a Trigger,
        records: &mut impl Iterator<Item = (&'a PartRecord, &'a Atom)>,
    ) -> Clause<'a> {
        match trigger {
            Trigger::Or(list) => Clause::Or(list.iter().map(|one| self.clause(one, records)).collect()),
            Trigger::And(list) => Clause::And(list.iter().map(|one| self.clause(one, records)).collect()),
            Trigger::Atom(written) => match records.next() {
                Some((record, atom)) => Clause::Part(self.part(written, record, atom)),
                // Every atom has its record.
                None => Clause::Or(Vec::new()),
            },
        }
    }

    fn part(&self, written: &'a tree::Atom, record: &PartRecord, atom: &Atom) -> Part<'a> {
        let standings = self.standings;
        let usage = match atom {
            Atom::Usage { event, test, threshold } => {
                Some((UsageKey { event: *event, test: *test }, *threshold))
            }
            _ => None,
        };
        Part {
            written,
            text: standings.program.inner().house.sources.text(written.span),
            kind: kind_word(atom),
            count: record.count.filter(|_| record.counts).map(Count),
            usage: usage.map(|(usage, _)| usage),
            of: usage.map(|(_, threshold)| threshold),
            reached_at: record.reached,
            from: record.from,
            tipped_by: record.tipped.and_then(|(source, line)| {
                let source = standings.sources.get(source.0 as usize)?.clone();
                Some(Place { source, line })
            }),
        }
    }
}
