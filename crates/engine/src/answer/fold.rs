//! One pass over an item's entries in time order: every counter of its rules as it stands at an instant.

use super::delays::Delays;
use super::kit_changes::KitChanges;
use super::mark::Mark;
use super::meters::{Meter, Step};
use super::prepared::Prepared;
use super::profile::{Action, Profile, TaskSlot};
use super::spans::Spans;
use crate::codes::Code;
use crate::log::{
    DATED, ENDS_DATED, EntrySpan, Extra, FOR_GROUP, FOR_KIT, Fact, Ledger, Line, Order, READING, VOIDED,
};
use crate::problem::Problem;
use crate::rules::Life;
use crate::rules::{Atom, EventInfo, Inner};
use crate::time::Instant;
use kitlore_syntax::Amount;

/// An entry on its way through the fold.
#[derive(Clone, Copy)]
struct Entry<'a> {
    line: &'a Line,
    fact: &'a Fact,
    extra: Option<&'a Extra>,
}

impl<'a> Entry<'a> {
    fn of(ledger: &'a Ledger, line: &'a Line) -> Self {
        let fact = ledger.fact(line);
        Self { line, fact, extra: ledger.extra(fact) }
    }

    fn at(self) -> Instant {
        self.fact.at(self.line)
    }

    fn mark(self) -> Mark {
        Mark { at: self.at(), seq: self.line.seq }
    }

    fn has(self, flag: u16) -> bool {
        self.fact.has(flag)
    }

    /// The reading it states, in millionths.
    fn reading(self) -> Option<i64> {
        self.has(READING).then_some(self.fact.amount)
    }

    fn unit(self) -> u32 {
        self.extra.map_or(0, |extra| extra.unit)
    }

    /// The number of what it refers to, if it refers to anything.
    fn reference(self, ledger: &Ledger) -> Option<u32> {
        Some(ledger.store.facts.reference_of(self.line, self.fact)).filter(|reference| *reference != 0)
    }

    fn span(self, ledger: &'a Ledger) -> Option<&'a EntrySpan> {
        ledger.span(self.line, self.fact)
    }

    /// When it began.
    fn begin(self, ledger: &Ledger) -> Instant {
        self.span(ledger).map_or(self.at(), |span| span.begin.at())
    }

    /// When it is over. With a clock time it counts from then on: only what ends with a date lasts longer.
    fn end(self, ledger: &Ledger) -> Instant {
        let span = if self.has(ENDS_DATED) { self.span(ledger) } else { None };
        span.map_or(self.at(), |span| span.end.at())
    }
}

/// A sum of amounts, in billionths, and the entry at which it reached its threshold.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct UsageState {
    pub sum: i128,
    pub reached: Option<Mark>,
}

/// From when to when an item was in use, and the last entry that says so. Uses of the same day are one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct UsePeriod {
    pub begin: Instant,
    /// When the last of them counts: on its date the item was used, even where clocks then go back over midnight.
    pub counts: Instant,
    /// The last of them, at its end.
    pub last: Mark,
}

/// All counters of one item; its room is used again for the next.
#[derive(Debug, Default)]
pub(crate) struct Counters {
    pub done: Vec<Option<Mark>>,
    pub usages: Vec<UsageState>,
    pub delays: Vec<Delays>,
    pub inspections: Vec<Option<Mark>>,
    pub spots: Vec<Option<Mark>>,
    /// The first of the unbroken run of readings that satisfy the comparison; the first of all, where it stays.
    pub gauges: Vec<Option<Mark>>,
    /// The latest use.
    pub last_use: Option<UsePeriod>,
    /// All uses in the order in which they count, where an item is grounded by having been unused.
    pub uses: Vec<UsePeriod>,
    /// What is under way.
    pub under_way: Option<UsePeriod>,
    pub retired: bool,
    meters: Vec<Meter>,
    /// Both as they were before what is under way was looked at, if it was.
    done_before: Option<(Option<UsePeriod>, Vec<Meter>)>,
    /// Completions dated without time, and the end of their date.
    dated: Vec<Mark>,
    held: Vec<u32>,
    /// Doubts met on the way, with the order of record of their entry.
    pub doubts: Vec<(u32, Problem)>,
}

/// One item's fold: what it reads and, in `counters`, what it makes.
pub(crate) struct Fold<'a> {
    pub ledger: &'a Ledger,
    pub prepared: &'a Prepared,
    pub program: &'a Inner,
    pub profile: &'a Profile,
    pub spans: &'a Spans,
    pub item: &'a str,
    pub at: Instant,
    /// When the item is there, in ticks.
    pub there: i64,
    /// Its kits over time, if completions depend on them.
    pub changes: Option<&'a KitChanges<'a>>,
}

impl Counters {
    fn reset(&mut self, program: &Inner, profile: &Profile) {
        fn fresh<T: Clone + Default>(list: &mut Vec<T>, count: usize) {
            list.clear();
            list.resize(count, T::default());
        }
        fresh(&mut self.done, profile.tasks.len());
        fresh(&mut self.usages, profile.usages.len());
        fresh(&mut self.inspections, profile.inspections.len());
        fresh(&mut self.spots, profile.spots.len());
        fresh(&mut self.gauges, profile.gauges.len());
        fresh(&mut self.meters, program.meters);
        self.delays.resize_with(profile.delays.len(), Delays::default);
        self.delays.iter_mut().for_each(Delays::reset);
        self.last_use = None;
        self.uses.clear();
        self.under_way = None;
        self.retired = false;
        self.done_before = None;
        self.dated.clear();
    }

    /// Back to what is over, without what was under way.
    pub fn forget_plans(&mut self) {
        if let Some(before) = self.done_before.take() {
            (self.last_use, self.meters) = before;
        }
        self.under_way = None;
    }

    /// The task is done: all its counters start anew.
    fn complete(&mut self, number: usize, slot: &TaskSlot, mark: Mark) {
        if let Some(done) = self.done.get_mut(number) {
            *done = Some(mark);
        }
        for usage in self.usages.get_mut(slot.usages.clone()).into_iter().flatten() {
            *usage = UsageState::default();
        }
        for delay in self.delays.get_mut(slot.delays.clone()).into_iter().flatten() {
            delay.clear();
        }
        let marks = [
            self.inspections.get_mut(slot.inspections.clone()),
            self.spots.get_mut(slot.spots.clone()),
            self.gauges.get_mut(slot.gauges.clone()),
        ];
        for mark in marks.into_iter().flatten().flatten() {
            *mark = None;
        }
    }
}

impl Fold<'_> {
    /// Runs over the entries that count by `at`, from the first one on or, where the counters were brought up
    /// to a mark before, from there; gives the last one it has now come to.
    pub fn run(&self, lines: &[Line], mark: Option<Order>, counters: &mut Counters) -> Option<Order> {
        let facts = &self.ledger.store.facts;
        let mut passed = match mark {
            Some(mark) => lines.partition_point(|line| facts.order(line) <= mark),
            None => {
                counters.reset(self.program, self.profile);
                0
            }
        };
        let at = self.at.ticks();
        let first = passed;
        for line in lines.iter().skip(first) {
            if line.ticks > at.0 {
                break;
            }
            let entry = Entry::of(self.ledger, line);
            if (line.ticks, entry.fact.fine) > at {
                break;
            }
            passed += 1;
            if !line.is(VOIDED | FOR_GROUP) {
                self.take(entry, counters);
            } else if !line.is(VOIDED) {
                self.take_of_group(entry, counters);
            }
        }
        if self.profile.asks_unused {
            self.note_under_way(lines.get(passed..).unwrap_or(&[]), counters);
        }
        let last = if passed > first { lines.get(passed - 1) } else { None };
        last.map(|line| facts.order(line)).or(mark)
    }

    /// An entry for a model, a kind, every item, or one that says no item.
    fn take_of_group(&self, entry: Entry<'_>, counters: &mut Counters) {
        let event = entry.fact.event;
        let begins = || matches!(self.program.info(event).life, Some(Life::Received | Life::InService));
        let is_delay = |action: &Action| matches!(action, Action::Occur(_) | Action::Cancel(_));
        if entry.line.ticks < self.there && !begins() {
            // It came before the item, and is news at most.
            let is_news = |action: &Action| match action {
                Action::Occur(slot) | Action::Cancel(slot) => {
                    self.profile.delays.get(*slot).is_some_and(|delay| delay.is_news)
                }
                _ => false,
            };
            for action in self.profile.actions(event).iter().filter(|action| is_news(action)) {
                self.act(*action, entry, None, counters);
            }
        } else if entry.line.says_no_item() && entry.has(READING) {
            // A reading of no item adds nothing.
            for action in self.profile.actions(event).iter().filter(|action| is_delay(action)) {
                self.act(*action, entry, None, counters);
            }
        } else {
            self.take(entry, counters);
        }
    }

    /// One entry.
    fn take(&self, entry: Entry<'_>, counters: &mut Counters) {
        if !counters.dated.is_empty() {
            self.check_same_day(entry, counters);
        }
        let event = entry.fact.event;
        let actions = self.profile.actions(event);
        // What few entries have is looked at last: it lies elsewhere in memory.
        let spotted = entry
            .extra
            .filter(|extra| !self.profile.spots.is_empty() && extra.found != 0 && !entry.line.says_no_item());
        if actions.is_empty() && spotted.is_none() && !self.profile.asks_unused {
            return;
        }
        let info = self.program.info(event);
        // A meter is followed from its first reading on or not at all.
        let followed = info.meter.filter(|_| {
            self.ledger.store.facts.has_readings() && (!actions.is_empty() || self.profile.asks_unused)
        });
        let step = followed.and_then(|meter| self.read_meter(entry, meter, counters));
        if self.profile.asks_unused && self.is_use(entry, info, step) {
            let end = entry.end(self.ledger);
            let begin = if self.profile.grounds_unused { entry.begin(self.ledger) } else { entry.at() };
            let used = UsePeriod { begin, counts: entry.at(), last: Mark { at: end, seq: entry.line.seq } };
            if counters.last_use.is_none_or(|known| known.last.at <= end) {
                counters.last_use = Some(used);
            }
            if self.profile.grounds_unused {
                self.note_use(used, counters);
            }
        }
        if spotted.is_some() {
            let found = self.ledger.found(entry.extra);
            for (slot, spot) in self.profile.spots.iter().zip(&mut counters.spots) {
                if spot.is_none() && shares(&slot.findings, found) {
                    *spot = Some(entry.mark());
                }
            }
        }
        for action in actions {
            self.act(*action, entry, step, counters);
        }
    }

    fn act(&self, action: Action, entry: Entry<'_>, step: Option<Step>, counters: &mut Counters) {
        match action {
            Action::Count(number) => self.count(number, entry, step, counters),
            Action::Occur(number) => self.occur(number, entry, counters),
            Action::Cancel(number) => {
                let at = entry.at();
                if let Some(delay) = counters.delays.get_mut(number) {
                    delay.cancel(at, entry.reference(self.ledger));
                }
            }
            Action::Inspect(number) => {
                let found = self.ledger.found(entry.extra);
                if let (Some(slot), Some(state)) =
                    (self.profile.inspections.get(number), counters.inspections.get_mut(number))
                {
                    if shares(&slot.findings, found) {
                        let first = state.filter(|_| slot.stays);
                        *state = Some(first.unwrap_or_else(|| entry.mark()));
                    } else if !slot.stays {
                        *state = None;
                    }
                }
            }
            Action::Gauge(number) => self.look(number, entry, counters),
            Action::Complete(number) => {
                let mark = entry.mark();
                if let Some(slot) = self.profile.tasks.get(number) {
                    counters.complete(number, slot, mark);
                }
                if entry.has(DATED) && counters.dated.last().is_none_or(|last| last.seq != mark.seq) {
                    let zone = self.program.zone;
                    counters.dated.push(Mark { at: zone.end(zone.date(mark.at)), seq: mark.seq });
                }
            }
            Action::Retire => counters.retired = true,
            Action::Refuse => self.refuse(entry, counters),
        }
    }

    /// A completion that no rule asks for. Those of kits and kinds are looked at apart.
    fn refuse(&self, entry: Entry<'_>, counters: &mut Counters) {
        if let Some(changes) = self.changes {
            // Rules for the kits that it was in then may have asked for it.
            let (from, to) = self.ledger.dates(entry.line);
            let then = changes.profile(from, to);
            if then.completes(entry.fact.event) {
                counters.retired |= then.actions(entry.fact.event).contains(&Action::Retire);
                return;
            }
        }
        if entry.line.is(FOR_KIT | FOR_GROUP) {
            return;
        }
        let problem = Problem::unknown_task(self.ledger.events.text(entry.fact.event), self.item);
        counters.doubts.push((entry.line.seq, problem));
    }

    /// A problem of the item.
    fn problem(&self, code: Code, sentence: &'static str) -> Problem {
        Problem::new(code, sentence).with("item", self.item)
    }

    fn count(&self, number: usize, entry: Entry<'_>, step: Option<Step>, counters: &mut Counters) {
        let Some(slot) = self.profile.usages.get(number) else {
            return;
        };
        let Entry { line, fact, .. } = entry;
        if !slot.of_task && self.is_other_unit(entry) {
            return;
        }
        let amount = match step {
            // A completion is one occurrence of its own name, whatever it states.
            _ if slot.of_task => Amount::ONE.micros(),
            None => fact.amount,
            Some(Step { by, before }) => {
                if before.is_none() && counters.done.get(slot.task).is_some_and(Option::is_some) {
                    let event = self.ledger.events.singular(fact.event);
                    let sentence = "this first reading of `{event}` for `{item}` comes after a service: what was used before it is not known and counts nothing";
                    let problem = self.problem(Code::NoBaseReading, sentence).with("event", event);
                    counters.doubts.push((line.seq, problem));
                    return;
                }
                by
            }
        };
        let Some(weight) = self.weight(entry, slot.test, counters) else {
            return;
        };
        if let Some(usage) = counters.usages.get_mut(number) {
            usage.sum += i128::from(amount) * i128::from(weight);
            if usage.reached.is_none() && usage.sum >= slot.threshold {
                usage.reached = Some(entry.mark());
            }
        }
    }

    /// How a test weighs an entry's conditions, the inherited ones too.
    fn weight(&self, entry: Entry<'_>, test: u32, counters: &mut Counters) -> Option<i64> {
        if test == 0 || self.spans.is_empty() {
            return self.prepared.weight(self.ledger, entry.fact.conditions, test);
        }
        self.spans.conditions(self.ledger, entry.line, &mut counters.held);
        self.program.tests.get(test as usize)?.weight(&counters.held)
    }

    fn occur(&self, number: usize, entry: Entry<'_>, counters: &mut Counters) {
        let (Some(slot), Some(delay)) = (self.profile.delays.get(number), counters.delays.get_mut(number))
        else {
            return;
        };
        if slot.newer {
            delay.clear();
        }
        // Where nothing cancels, only the first counts.
        if slot.cancels || delay.first().is_none() {
            delay.occur(entry.mark(), entry.reference(self.ledger));
        }
    }

    fn look(&self, number: usize, entry: Entry<'_>, counters: &mut Counters) {
        let Entry { line, fact, .. } = entry;
        let Some(slot) = self.profile.gauges.get(number) else { return };
        let atom = self.program.rules.get(slot.rule as usize).and_then(|rule| rule.atoms.get(slot.atom));
        let (Some(reading), Some(Atom::Reading { comparison, bound, unit, .. })) = (entry.reading(), atom)
        else {
            return;
        };
        if let (Some(asked), Some(given)) = (unit, entry.unit().checked_sub(1))
            && *asked != given
        {
            let (event, units) = (self.ledger.events.singular(fact.event), &self.ledger.units);
            let sentence = "`{event}` of `{item}` is in `{given}`, and the rule asks for `{asked}`; this reading is not looked at";
            let problem = self.problem(Code::UnitDiffers, sentence).with("event", event);
            let problem = problem.with("given", units.text(given)).with("asked", units.text(*asked));
            counters.doubts.push((line.seq, problem));
            return;
        }
        if let Some(run) = counters.gauges.get_mut(number) {
            if !comparison.holds(Amount::from_micros(reading), *bound) {
                *run = run.filter(|_| slot.stays);
            } else if run.is_none() {
                *run = Some(entry.mark());
            }
        }
    }

    /// Whether an entry of a usage is in a unit that is not the usage's own name.
    fn is_other_unit(&self, entry: Entry<'_>) -> bool {
        // Where no entry has one, none is looked for: what few entries have lies elsewhere in memory.
        self.ledger.store.facts.has_units() && self.ledger.is_other_unit(entry.fact.event, entry.unit())
    }

    /// What a reading adds to its meter; `None` for an amount.
    fn read_meter(&self, entry: Entry<'_>, meter: u32, counters: &mut Counters) -> Option<Step> {
        let Entry { line, fact, .. } = entry;
        if self.is_other_unit(entry) {
            return None;
        }
        let state = counters.meters.get_mut(meter as usize)?;
        let mixed_before = state.is_mixed();
        let step = match entry.reading() {
            Some(reading) => Some(state.read(reading)),
            None => {
                state.add();
                None
            }
        };
        let mixed = !mixed_before && state.is_mixed();
        let fell_from = step.and_then(|step| step.fell_from(fact.amount));
        if let Some(before) = fell_from {
            let event = self.ledger.events.singular(fact.event);
            let sentence =
                "`{event}` of `{item}` fell from {before} to {after}: taken as a new meter that starts at 0";
            let problem = self.problem(Code::MeterFell, sentence).with("event", event);
            let problem = problem.with("before", Amount::from_micros(before));
            counters.doubts.push((line.seq, problem.with("after", Amount::from_micros(fact.amount))));
        }
        if mixed {
            let event = self.ledger.events.singular(fact.event);
            let sentence = "`{event}` of `{item}` comes both as readings and as amounts; both are counted";
            let problem = self.problem(Code::AmountAndReading, sentence).with("event", event);
            counters.doubts.push((line.seq, problem));
        }
        step
    }

    /// Whether an entry shows that the item was used.
    fn is_use(&self, entry: Entry<'_>, info: EventInfo, step: Option<Step>) -> bool {
        if entry.line.is(FOR_GROUP) || info.task.is_some() || info.life.is_some() {
            return false;
        }
        if !entry.has(READING) {
            return true;
        }
        step.is_some_and(|step| step.moved(entry.fact.amount))
    }

    /// Adds a use to those known.
    fn note_use(&self, used: UsePeriod, counters: &mut Counters) {
        let zone = self.program.zone;
        let is_same = |known: &UsePeriod| {
            used.begin <= known.last.at || zone.date(used.begin) == zone.date(known.last.at)
        };
        match counters.uses.last_mut() {
            Some(known) if is_same(known) => {
                known.begin = known.begin.min(used.begin);
                if known.last.at <= used.last.at {
                    (known.counts, known.last) = (used.counts, used.last);
                }
            }
            _ => counters.uses.push(used),
        }
    }

    /// Spans that began and have not ended: the item is in use now.
    fn note_under_way(&self, plans: &[Line], counters: &mut Counters) {
        if plans.is_empty() {
            return;
        }
        counters.done_before = Some((counters.last_use, counters.meters.clone()));
        let doubts = counters.doubts.len();
        // What says no item is no use of this one, and its reading is not used.
        for line in plans.iter().filter(|line| !line.is(VOIDED) && !line.says_no_item()) {
            let entry = Entry::of(self.ledger, line);
            let info = self.program.info(entry.fact.event);
            let step = info.meter.and_then(|meter| self.read_meter(entry, meter, counters));
            let span = entry.span(self.ledger);
            let began = span.map(|span| span.begin.at()).filter(|begin| *begin <= self.at);
            if let Some(begin) = began.filter(|_| self.is_use(entry, info, step)) {
                let last = Mark { at: self.at, seq: line.seq };
                let begin = counters.under_way.map_or(begin, |known| known.begin.min(begin));
                let used = UsePeriod { begin, counts: self.at, last };
                (counters.last_use, counters.under_way) = (Some(used), Some(used));
            }
        }
        // Plans are no matter for doubts yet.
        counters.doubts.truncate(doubts);
    }

    /// A timed use on the day of completions that are dated without time.
    fn check_same_day(&self, entry: Entry<'_>, counters: &mut Counters) {
        // Where clocks go back over midnight, a later instant may lie on the date before.
        const BACK: i64 = 2 * 3_600;
        let fact = entry.fact;
        let at = entry.at();
        counters.dated.retain(|day| at.seconds <= day.at.seconds + BACK);
        let info = self.program.info(fact.event);
        let counted =
            || self.profile.actions(fact.event).iter().any(|action| matches!(action, Action::Count(_)));
        let use_of_item = info.life.is_none() && (info.task.is_none() || counted());
        let clock = !fact.has(DATED | ENDS_DATED);
        if counters.dated.is_empty() || !use_of_item || !clock {
            return;
        }
        let zone = self.program.zone;
        let date = zone.date(at);
        let Counters { dated, doubts, .. } = counters;
        // At 00:00 itself the order of record holds.
        let is_midnight = at == zone.midnight(date);
        dated.retain(|day| {
            if zone.date(day.at) != date || is_midnight {
                return true;
            }
            let sentence = "this completion for `{item}` has no clock time, and the day has entries that do: it is taken as before them";
            doubts.push((day.seq, self.problem(Code::SameDayOrder, sentence)));
            false
        });
    }
}

fn shares(one: &[u32], other: &[u32]) -> bool {
    one.iter().any(|name| other.contains(name))
}
