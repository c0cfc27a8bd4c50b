//! When each atom of a rule is reached, and what follows for the rule: due, late, limit, standing.

use super::fold::{Counters, UsePeriod};
use super::mark::Mark;
use super::profile::RuleSlot;
use super::spans::Spans;
use crate::log::{Ledger, Line, VOIDED};
use crate::rules::recurrence::{first_from, next_after};
use crate::rules::{Atom, CompiledRule, Inner, Node, WEIGHT_ONE};
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::dates::{minus, plus};
use kitlore_syntax::tree::{Calendar, Duration, Standing, Unit};

/// When one atom is reached.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Reach {
    /// Known past or certain future time.
    pub due: Option<Instant>,
    /// When it is too late.
    late: Option<Instant>,
    /// As `due`, but for a plan its start: when use must stop.
    stop: Option<Instant>,
    /// It has no date to count from.
    pub undated: bool,
    /// The sum of a usage, in billionths.
    pub count: Option<i128>,
    /// The entry that tipped it.
    pub tipped: Option<u32>,
    /// The date it counts from.
    pub from: Option<NaiveDate>,
    /// An age that is over.
    over: bool,
}

/// What a rule says of an item.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Verdict {
    pub standing: Standing,
    pub due: Option<Instant>,
    pub late: Option<Instant>,
    pub limit: Option<Instant>,
    pub undated: bool,
}

/// One item as its rules see it at an instant, its entries folded.
pub(crate) struct Subject<'a> {
    pub ledger: &'a Ledger,
    pub program: &'a Inner,
    pub counters: &'a Counters,
    pub spans: &'a Spans,
    pub lines: &'a [Line],
    pub at: Instant,
    /// The date intervals and calendars count from where the task was never done.
    pub start: Option<NaiveDate>,
    /// The date ages count from.
    pub born: Option<NaiveDate>,
}

const ONE_DAY: Duration = Duration { count: 1, unit: Unit::Day };

impl Subject<'_> {
    /// Follows a rule whose task was last done at `done`; its atoms' reaches go into `reaches`.
    pub fn follow(
        &self,
        rule: &CompiledRule,
        slot: &RuleSlot,
        done: Option<Mark>,
        reaches: &mut Vec<Reach>,
    ) -> Verdict {
        let zone = self.program.zone;
        let done_date = done.map(|done| zone.date(done.at));
        reaches.clear();
        for (number, (atom, counter)) in rule.atoms.iter().zip(&slot.counters).enumerate() {
            // An age in the limit is over when the trigger's age is.
            let over =
                (number >= rule.trigger_atoms).then(|| reaches.first().is_some_and(|reach| reach.over));
            let stays = rule.grounds(number);
            reaches.push(self.reach(rule, atom, *counter, done_date, (over, stays)));
        }
        let combined = |node: &Node, time: fn(&Reach) -> Option<Instant>| combine(node, reaches, time);
        let not_before = rule.at_most_every.zip(done_date).and_then(|(every, done)| plus(done, every));
        let floor = not_before.map(|date| zone.midnight(date));
        let raised = |time: Option<Instant>, floor: Option<Instant>| {
            time.map(|time| floor.map_or(time, |floor| floor.max(time)))
        };
        let reached = combined(&rule.trigger, |reach| reach.due);
        let due = raised(reached, floor);
        // What was moved is late no earlier than as much later.
        let late_floor = due.filter(|_| due != reached).and_then(|due| self.late_after(due, rule.allow));
        let late = raised(combined(&rule.trigger, |reach| reach.late), late_floor);
        let stop = raised(combined(&rule.trigger, |reach| reach.stop), floor).filter(|_| rule.do_not_use);
        let limit = rule.limit.as_ref().and_then(|limit| combined(limit, |reach| reach.due));
        let limit = earlier(limit, stop);
        let due = earlier(due, limit);
        let undated = reaches.iter().any(|reach| reach.undated);
        let reached = |time: Option<Instant>| time.is_some_and(|time| time <= self.at);
        let standing = if reached(limit) {
            Standing::Grounded
        } else if reached(late) && reached(due) {
            Standing::Overdue
        } else if reached(due) {
            Standing::Due
        } else if self.is_announced(rule, due, reaches) {
            Standing::Soon
        } else if undated {
            Standing::Unknown
        } else {
            Standing::Clear
        };
        Verdict { standing, due, late, limit, undated }
    }

    /// Whether a notice is reached.
    fn is_announced(&self, rule: &CompiledRule, due: Option<Instant>, reaches: &[Reach]) -> bool {
        let zone = self.program.zone;
        if let (Some(ahead), Some(due)) = (rule.ahead, due) {
            return zone.midnight(minus(zone.date(due), ahead)) <= self.at;
        }
        let Some((uses, of)) = rule.uses else {
            return false;
        };
        rule.atoms.iter().zip(reaches).any(|(atom, reach)| match (atom, reach.count) {
            (Atom::Usage { event, threshold, .. }, Some(count)) if *event == of => {
                count >= i128::from(threshold.micros()) * WEIGHT_ONE - uses
            }
            _ => false,
        })
    }

    /// The time after which something reached at an instant is too late; `None` past the year 9999.
    fn late_after(&self, reached: Instant, allow: Duration) -> Option<Instant> {
        let zone = self.program.zone;
        let date = plus(plus(zone.date(reached), allow)?, ONE_DAY)?;
        Some(zone.midnight(date))
    }

    fn at(&self, time: Option<Instant>, allow: Duration) -> Reach {
        Reach {
            due: time,
            late: time.and_then(|time| self.late_after(time, allow)),
            stop: time,
            ..Reach::default()
        }
    }

    fn on(&self, date: Option<NaiveDate>, allow: Duration) -> Reach {
        self.at(date.map(|date| self.program.zone.midnight(date)), allow)
    }

    fn by(&self, mark: Option<Mark>, allow: Duration) -> Reach {
        Reach { tipped: mark.map(|mark| mark.seq), ..self.at(mark.map(|mark| mark.at), allow) }
    }

    fn reach(
        &self,
        rule: &CompiledRule,
        atom: &Atom,
        counter: usize,
        done: Option<NaiveDate>,
        (over, stays): (Option<bool>, bool),
    ) -> Reach {
        let allow = rule.allow;
        match atom {
            Atom::Usage { .. } => {
                let usage = self.counters.usages.get(counter).copied().unwrap_or_default();
                Reach { count: Some(usage.sum), ..self.by(usage.reached, allow) }
            }
            Atom::Finding { .. } => self.by(self.counters.inspections.get(counter).copied().flatten(), allow),
            Atom::Spotted { .. } => self.by(self.counters.spots.get(counter).copied().flatten(), allow),
            Atom::Reading { .. } => self.by(self.counters.gauges.get(counter).copied().flatten(), allow),
            Atom::Interval(duration) => self.counted_from(done.or(self.start), *duration, allow),
            Atom::Unused(duration) if stays => self.ever_unused(*duration, done, allow),
            Atom::Unused(duration) => self.unused(*duration, done, allow),
            Atom::Age(duration) => self.age(*duration, done, rule.ahead, allow, over),
            Atom::Delay { duration, .. } => self.delay(*duration, counter, allow),
            Atom::Calendar(calendar) => self.calendar(*calendar, done, rule.ahead, allow),
            Atom::Before { event, test } => self.before(*event, *test, rule.within, done),
        }
    }

    fn counted_from(&self, from: Option<NaiveDate>, duration: Duration, allow: Duration) -> Reach {
        let date = from.and_then(|from| plus(from, duration));
        Reach { from, undated: from.is_none(), ..self.on(date, allow) }
    }

    fn unused(&self, duration: Duration, done: Option<NaiveDate>, allow: Duration) -> Reach {
        let last_use = self.counters.last_use;
        let used = last_use.map(|used| self.last_date(&used));
        let from = [used, done, self.start].into_iter().flatten().max();
        let tipped = last_use.filter(|_| used.is_some() && used == from).map(|used| used.last.seq);
        Reach { tipped, ..self.counted_from(from, duration, allow) }
    }

    /// The last date of a use, as far as it is over.
    fn last_date(&self, used: &UsePeriod) -> NaiveDate {
        let zone = self.program.zone;
        zone.date(used.last.at.min(self.at)).max(zone.date(used.counts))
    }

    /// As [`Subject::unused`], but the first time in the cycle that it was reached: use after that does not lift it.
    fn ever_unused(&self, duration: Duration, done: Option<NaiveDate>, allow: Duration) -> Reach {
        let zone = self.program.zone;
        let mut uses: Vec<&UsePeriod> = self.counters.uses.iter().chain(&self.counters.under_way).collect();
        uses.sort_by_key(|used| used.begin);
        let mut from = done.into_iter().chain(self.start).max();
        let mut tipped = None;
        for used in uses {
            let last = self.last_date(used);
            if from.is_some_and(|from| last < from) {
                continue;
            }
            let reached = from.and_then(|from| plus(from, duration)).map(|date| zone.midnight(date));
            if reached.is_some_and(|reached| reached < used.begin) {
                break;
            }
            (from, tipped) = (Some(last), Some(used.last.seq));
        }
        Reach { tipped, ..self.counted_from(from, duration, allow) }
    }

    fn age(
        &self,
        duration: Duration,
        done: Option<NaiveDate>,
        notice: Option<Duration>,
        allow: Duration,
        over: Option<bool>,
    ) -> Reach {
        let date = self.born.and_then(|born| plus(born, duration));
        let over = over.unwrap_or_else(|| {
            let done_from = date.map(|date| notice.map_or(date, |notice| minus(date, notice)));
            done.zip(done_from).is_some_and(|(done, from)| done >= from)
        });
        let date = date.filter(|_| !over);
        Reach { from: self.born, undated: self.born.is_none(), over, ..self.on(date, allow) }
    }

    fn delay(&self, duration: Duration, counter: usize, allow: Duration) -> Reach {
        let zone = self.program.zone;
        let first = self.counters.delays.get(counter).and_then(|delay| delay.first());
        let from = first.map(|first| zone.date(first.at));
        let date = from.and_then(|from| plus(from, duration));
        Reach { from, tipped: first.map(|first| first.seq), ..self.on(date, allow) }
    }

    fn calendar(
        &self,
        calendar: Calendar,
        done: Option<NaiveDate>,
        notice: Option<Duration>,
        allow: Duration,
    ) -> Reach {
        if let Calendar::On(date) = calendar {
            let from = notice.map_or(date, |notice| minus(date, notice));
            let is_done = done.is_some_and(|done| done >= from);
            let too_new = self.start.is_some_and(|start| start > date);
            return self.on(Some(date).filter(|_| !is_done && !too_new), allow);
        }
        let date = match (done, self.start) {
            (Some(done), _) => {
                let first = next_after(calendar, done);
                let served = notice.map_or(Some(done), |notice| plus(done, notice));
                first.and_then(|first| {
                    if served.is_none_or(|served| first <= served) {
                        next_after(calendar, first)
                    } else {
                        Some(first)
                    }
                })
            }
            (None, Some(start)) => first_from(calendar, start),
            (None, None) => {
                return Reach { undated: true, ..Reach::default() };
            }
        };
        Reach { from: done.or(self.start), ..self.on(date, allow) }
    }

    /// The first plan that has not ended and whose window opens after the task was last done.
    fn before(&self, event: u32, test: u32, within: Duration, done: Option<NaiveDate>) -> Reach {
        let zone = self.program.zone;
        let today = zone.midnight(zone.date(self.at));
        let from = self.lines.partition_point(|line| self.ledger.fact(line).at(line) < today);
        let mut held = Vec::new();
        let mut first: Option<(Instant, Reach)> = None;
        for line in self.lines.iter().skip(from).filter(|line| !line.is(VOIDED)) {
            let fact = self.ledger.fact(line);
            if fact.event != event {
                continue;
            }
            let (start, end) = self.ledger.extents(line, fact);
            let window = minus(zone.date(start), within);
            if end < self.at || done.is_some_and(|done| window <= done) {
                continue;
            }
            if test != 0 {
                self.spans.conditions(self.ledger, line, &mut held);
                if self.program.tests.get(test as usize).is_none_or(|test| test.weight(&held).is_none()) {
                    continue;
                }
            }
            if first.is_none_or(|(earliest, _)| start < earliest) {
                let reach = Reach {
                    due: Some(zone.midnight(window)),
                    late: Some(start),
                    stop: Some(start),
                    tipped: Some(line.seq),
                    ..Reach::default()
                };
                first = Some((start, reach));
            }
        }
        first.map_or_else(Reach::default, |(_, reach)| reach)
    }
}

/// `or` is the earlier of the known times, `and` the later, known only if all are.
fn combine(node: &Node, reaches: &[Reach], time: fn(&Reach) -> Option<Instant>) -> Option<Instant> {
    match node {
        Node::Atom(number) => reaches.get(*number).and_then(time),
        Node::Or(parts) => parts.iter().filter_map(|part| combine(part, reaches, time)).min(),
        Node::And(parts) => {
            let times: Option<Instant> = None;
            parts
                .iter()
                .try_fold(times, |latest, part| {
                    let time = combine(part, reaches, time)?;
                    Some(Some(latest.map_or(time, |latest: Instant| latest.max(time))))
                })
                .flatten()
        }
    }
}

fn earlier(one: Option<Instant>, other: Option<Instant>) -> Option<Instant> {
    one.into_iter().chain(other).min()
}
