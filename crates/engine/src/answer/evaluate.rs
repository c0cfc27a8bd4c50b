//! From a settled ledger to standings: each item on its own.

use super::checkpoint::{self, Checkpoint};
use super::filter::Filtered;
use super::fold::{Counters, Fold};
use super::kit_changes::{KitChanges, applicable};
use super::prepared::{KindRules, Prepared};
use super::profile::Profile;
use super::reach::{Reach, Subject, Verdict};
use super::spans::Spans;
use super::standings::{AccountRecord, AwaitedRecord, Chunk, PartRecord, RowRecord};
use crate::codes::Code;
use crate::log::{Groups, Ledger, Line, Member, first_tick};
use crate::names::Map;
use crate::problem::Problem;
use crate::rules::{Atom, Inner};
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::tree::Standing;
use std::num::NonZeroUsize;
use std::sync::Arc;

/// How all items stand at an instant, worked out by as many threads as given.
pub(crate) fn all(
    ledger: &Ledger,
    prepared: &Prepared,
    at: Instant,
    threads: NonZeroUsize,
) -> (Vec<Chunk>, Groups) {
    let run = |items: &[u32]| Evaluation::new(ledger, prepared, at).run(items);
    let mut chunks = if threads == NonZeroUsize::MIN {
        vec![run(&ledger.by_id)]
    } else {
        let share = ledger.by_id.len().div_ceil(threads.get()).max(1);
        std::thread::scope(|scope| {
            let running: Vec<_> =
                ledger.by_id.chunks(share).map(|items| scope.spawn(move || run(items))).collect();
            let join = |thread: std::thread::ScopedJoinHandle<'_, Chunk>| match thread.join() {
                Ok(chunk) => chunk,
                Err(panic) => std::panic::resume_unwind(panic),
            };
            running.into_iter().map(join).collect()
        })
    };
    let mut groups = Groups::default();
    chunks.iter_mut().for_each(|chunk| groups.join(std::mem::take(&mut chunk.groups)));
    (chunks, groups)
}

/// How one item stands at an instant, and how far it is now folded, if that is worth keeping.
pub(crate) fn one(
    ledger: &Ledger,
    prepared: &Prepared,
    at: Instant,
    item: u32,
    checkpoint: Option<Checkpoint>,
) -> (Chunk, Option<Checkpoint>) {
    let mut evaluation = Evaluation { checkpoint, ..Evaluation::new(ledger, prepared, at) };
    evaluation.keeps = true;
    evaluation.item(item);
    let checkpoint = evaluation.checkpoint.take();
    let doubts = match &checkpoint {
        Some(checkpoint) => checkpoint.counters.doubts.clone(),
        None => std::mem::take(&mut evaluation.counters.doubts),
    };
    (evaluation.finish(doubts), checkpoint)
}

/// What the items of one run share: memory that is used again, and profiles that were found.
struct Evaluation<'a> {
    ledger: &'a Ledger,
    prepared: &'a Prepared,
    program: &'a Inner,
    at: Instant,
    counters: Counters,
    spans: Spans,
    merged: Vec<Line>,
    reaches: Vec<Reach>,
    /// How far the item is folded, before and after.
    checkpoint: Option<Checkpoint>,
    /// One item is asked about, and a checkpoint may be made.
    keeps: bool,
    /// Rules without filter, by kind: the profile is then the kind's.
    by_kind: Map<u32, KindRules>,
    chunk: Chunk,
}

impl<'a> Evaluation<'a> {
    fn new(ledger: &'a Ledger, prepared: &'a Prepared, at: Instant) -> Self {
        Self {
            ledger,
            prepared,
            program: ledger.program.inner(),
            at,
            counters: Counters::default(),
            spans: Spans::default(),
            merged: Vec::new(),
            reaches: Vec::new(),
            checkpoint: None,
            keeps: false,
            by_kind: Map::default(),
            chunk: Chunk::default(),
        }
    }

    fn run(mut self, items: &[u32]) -> Chunk {
        for &item in items {
            self.item(item);
        }
        let doubts = std::mem::take(&mut self.counters.doubts);
        self.finish(doubts)
    }

    fn finish(mut self, doubts: Vec<(u32, Problem)>) -> Chunk {
        for (seq, problem) in doubts {
            self.chunk.doubts.push((seq, problem.at(self.ledger.place(seq))));
        }
        self.chunk
    }

    fn item(&mut self, number: u32) -> Option<()> {
        let (ledger, program) = (self.ledger, self.program);
        let zone = program.zone;
        let record = ledger.items.get(number as usize)?;
        let item = &record.item;
        let namings = ledger.namings_of(record);
        let kept = self.checkpoint.take().filter(|kept| kept.holds(ledger, &namings, self.at));
        let member = match kept.as_ref().map(|kept| kept.life) {
            Some([received, in_service]) => Member { record, namings, received, in_service },
            None => ledger.member_by(record, namings),
        };
        let today = zone.date(self.at);
        let is_asked = ledger.answers_for(number);
        let profile = self.profile(&Filtered { member: &member, from: today, to: today }, is_asked);
        let rules = self.kind_rules(record.kind);
        let changes = KitChanges::of(ledger, self.prepared, &member, &rules);
        self.note_groups(&member, &profile, changes.as_ref());
        if !is_asked {
            return None;
        }
        if member.there().is_some_and(|date| zone.midnight(date) > self.at) {
            self.chunk.awaited.extend(AwaitedRecord::of(&member));
            return None;
        }
        if item.retired.is_some_and(|date| zone.midnight(date) <= self.at) {
            return None;
        }
        let kept = kept.filter(|kept| Arc::ptr_eq(&kept.profile, &profile));
        let mark = kept.as_ref().map(|kept| kept.mark);
        if let Some(kept) = kept {
            (self.counters, self.spans) = (kept.counters, kept.spans);
        }
        let mut merged = std::mem::take(&mut self.merged);
        let news = &profile.counted.news;
        let lines = match mark {
            // Plans are looked for from 00:00 of today on.
            Some(mark) => {
                let from = mark.0.min(zone.midnight(today).ticks().0);
                ledger.entries_since(&member, from, news, &mut merged)
            }
            None => ledger.entries_since(&member, i64::MIN, news, &mut merged),
        };
        let there = first_tick(zone, member.there());
        if mark.is_none() {
            let spanned = |number| ledger.store.stream(number).is_some_and(|stream| stream.spans > 0);
            let matter =
                profile.asks_conditions && member.namings.iter().any(|naming| spanned(naming.stream));
            self.spans.gather(ledger, if matter { lines } else { &[] }, there);
        }
        let fold = Fold {
            ledger,
            prepared: self.prepared,
            program,
            profile: &profile,
            spans: &self.spans,
            item: &item.id,
            at: self.at,
            there,
            changes: changes.as_ref(),
        };
        let last = fold.run(lines, mark, &mut self.counters);
        if !self.counters.retired {
            self.rows(&member, &profile, lines);
        }
        self.merged = merged;
        drop(changes);
        if let Some(mark) = last.filter(|_| self.keeps && checkpoint::is_long(ledger, &member.namings)) {
            let mut counters = std::mem::take(&mut self.counters);
            counters.forget_plans();
            self.checkpoint = Some(Checkpoint {
                counters,
                spans: std::mem::take(&mut self.spans),
                life: [member.received, member.in_service],
                profile,
                mark,
                filed: checkpoint::filed(ledger, &member.namings, mark),
                namings: member.namings,
            });
        }
        Some(())
    }

    fn rows(&mut self, member: &Member<'_>, profile: &Profile, lines: &[Line]) {
        let (ledger, program) = (self.ledger, self.program);
        let Member { record, received, in_service, .. } = member;
        let begun = in_service.or(*received);
        let subject = Subject {
            ledger,
            program,
            counters: &self.counters,
            spans: &self.spans,
            lines,
            at: self.at,
            start: begun.into_iter().chain(program.house.count_from).max(),
            born: received.or(*in_service),
        };
        let chunk = &mut self.chunk;
        let item = u32::try_from(chunk.items.len()).unwrap_or(u32::MAX);
        chunk.items.push((record.id.clone(), record.kind_name.clone()));
        let mut undated = false;
        for (slot, done) in profile.tasks.iter().zip(&self.counters.done) {
            let first = chunk.accounts.len();
            let mut row: Option<RowRecord> = None;
            for rule_slot in &slot.rules {
                let Some(rule) = program.rules.get(rule_slot.rule as usize) else {
                    continue;
                };
                let verdict = subject.follow(rule, rule_slot, *done, &mut self.reaches);
                undated |= verdict.undated;
                let parts = chunk.parts.len();
                chunk.parts.extend(
                    self.reaches.iter().zip(&rule.atoms).map(|(reach, atom)| part(ledger, reach, atom)),
                );
                chunk.accounts.push(AccountRecord {
                    rule: rule_slot.rule,
                    verdict,
                    parts: parts..chunk.parts.len(),
                });
                row = Some(worse(row, verdict, item, slot.task, done.map(|done| done.at)));
            }
            if let Some(mut row) = row {
                row.accounts = first..chunk.accounts.len();
                let silenced = chunk.silenced.len();
                chunk.silenced.extend_from_slice(&slot.silenced);
                row.silenced = silenced..chunk.silenced.len();
                chunk.rows.push(row);
            }
        }
        if undated {
            let sentence = "`{item}` has no date received or in service, so its age and intervals have nothing to count from";
            let problem = Problem::new(Code::NoStart, sentence).with("item", record.item.id.as_str());
            chunk.problems.push(problem.at(record.item.place.clone()));
        }
    }

    /// The profile of the rules that apply to an item; whether what filters cannot use is reported.
    fn profile(&mut self, item: &Filtered<'_>, reports: bool) -> Arc<Profile> {
        let rules = self.kind_rules(item.member.record.kind);
        if let Some(profile) = rules.profile {
            return profile;
        }
        let mut unreported = Vec::new();
        let problems = if reports { &mut self.chunk.problems } else { &mut unreported };
        let applicable = applicable(self.ledger, &rules, item, problems);
        self.prepared.profile(self.ledger, applicable)
    }

    fn kind_rules(&mut self, kind: u32) -> KindRules {
        match self.by_kind.get(&kind) {
            Some(rules) => rules.clone(),
            None => {
                let rules = self.prepared.kind_rules(self.ledger, kind);
                self.by_kind.insert(kind, rules.clone());
                rules
            }
        }
    }

    /// Notes for reports whom entries for several items are for.
    fn note_groups(&mut self, member: &Member<'_>, profile: &Profile, changes: Option<&KitChanges<'_>>) {
        let groups = &mut self.chunk.groups;
        for naming in member.namings.iter().skip(1) {
            match changes {
                None if member.is_always_in(*naming) => {
                    let there = (member.there().unwrap_or(NaiveDate::MIN), NaiveDate::MAX);
                    groups.add(naming.stream, &profile.counted, &[there]);
                }
                None => groups.add(naming.stream, &profile.counted, member.dates(*naming).ranges()),
                Some(changes) => {
                    let dates = member.dates(*naming);
                    for (from, to) in changes.times() {
                        let then = changes.profile(from, to);
                        groups.add(naming.stream, &then.counted, dates.within(from, to).ranges());
                    }
                    groups.add(naming.stream, &profile.counted, dates.ranges());
                }
            }
        }
    }
}

/// A part of an account as it is kept.
fn part(ledger: &Ledger, reach: &Reach, atom: &Atom) -> PartRecord {
    PartRecord {
        reached: reach.due,
        count: reach.count,
        counts: matches!(atom, Atom::Usage { .. }),
        from: reach.from,
        tipped: reach.tipped.and_then(|seq| ledger.spot(seq)),
    }
}

/// A row with one more rule: the worst standing, the earliest times.
fn worse(row: Option<RowRecord>, verdict: Verdict, item: u32, task: u32, done: Option<Instant>) -> RowRecord {
    let earliest = |one: Option<Instant>, other: Option<Instant>| one.into_iter().chain(other).min();
    let row = row.unwrap_or(RowRecord {
        item,
        task,
        standing: Standing::Clear,
        due: None,
        limit: None,
        done,
        accounts: 0..0,
        silenced: 0..0,
    });
    RowRecord {
        standing: row.standing.max(verdict.standing),
        due: earliest(row.due, verdict.due),
        limit: earliest(row.limit, verdict.limit),
        ..row
    }
}
