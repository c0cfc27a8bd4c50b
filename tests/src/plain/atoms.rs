//! When an atom is reached: the table of the contract's section 5, a row a function.

use super::clock::{Instant, first_on_or_after, minus, next_day, plus};
use super::items::Item;
use super::records::Entry;
use super::world::World;
use chrono::NaiveDate;
use kitlore_syntax::tree::{
    AtomKind, Calendar, Comparison, Conditions, Duration, Notice, Rule, Trigger, Unit, Unless, Weight,
};
use kitlore_syntax::{Amount, Name};

/// Which time of an atom is asked for (section 5, due_at, late_at, limit_at).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asked {
    /// When it was reached.
    Due,
    /// When it is late.
    Late,
    /// When it grounds, with `do not use until done`.
    Grounds,
}

/// Duration of `within` where none is given.
const A_WEEK: Duration = Duration { count: 7, unit: Unit::Day };

/// A notice that is a duration.
pub fn notice_ahead(rule: &Rule) -> Option<Duration> {
    match rule.details.notice {
        Some(Notice::Ahead(duration)) => Some(duration),
        _ => None,
    }
}

fn less_notice(date: NaiveDate, rule: &Rule) -> NaiveDate {
    notice_ahead(rule).map_or(date, |notice| minus(date, notice))
}

impl World<'_> {
    /// The asked time of an atom of a rule for an item, if known.
    pub fn reached(&self, atom: &AtomKind, rule: &Rule, item: &Item, asked: Asked) -> Option<Instant> {
        let task = &rule.task.key;
        let midnight = |date: Option<NaiveDate>| date.map(|d| self.clock.start_of(d));
        let reached = match atom {
            AtomKind::Before { event, conditions } => {
                return self.before(event, conditions, rule, item, asked);
            }
            AtomKind::Usage { threshold, name, conditions, weights, .. } => {
                let tally = self.tally(name, conditions, weights, task, item);
                let enough = i128::from(threshold.micros()) * 1000;
                tally.into_iter().find(|(_, sum)| *sum >= enough).map(|(entry, _)| entry.counts)
            }
            AtomKind::Finding { task: inspected, findings } => self.finding(inspected, findings, task, item),
            AtomKind::Spotted { findings } => {
                let spots = |e: &&Entry| findings.iter().any(|f| e.found.contains(&f.key));
                self.cycle(item, task).into_iter().find(spots).map(|e| e.counts)
            }
            AtomKind::Reading { name, comparison, bound, unit } => {
                self.reading(name, *comparison, *bound, unit.as_ref(), task, item)
            }
            AtomKind::Unused(duration) => {
                midnight(self.unused_since(task, item).and_then(|d| plus(d, *duration)))
            }
            AtomKind::Calendar(calendar) => midnight(self.calendar(*calendar, rule, item)),
            AtomKind::Delay { duration, event, unless } => {
                midnight(self.delay(*duration, event, unless, task, item))
            }
            AtomKind::Age(duration) => midnight(self.age(*duration, rule, item)),
            AtomKind::Interval(duration) => {
                midnight(self.cycle_start(task, item).and_then(|d| plus(d, *duration)))
            }
        };
        if asked != Asked::Late {
            return reached;
        }
        let date = self.clock.date(reached?);
        midnight(rule.details.allow.map_or(Some(date), |allow| plus(date, allow)).and_then(next_day))
    }

    /// The entries a usage atom counts in the cycle, each with the sum so far, in thousandths of millionths.
    pub fn tally(
        &self,
        name: &Name,
        conditions: &Conditions,
        weights: &[Weight],
        task: &str,
        item: &Item,
    ) -> Vec<(&Entry, i128)> {
        let done = self.last_done(item, task).is_some();
        let mut sum = 0;
        let mut tally = Vec::new();
        for entry in self.cycle(item, task) {
            if entry.event == name.key && self.fits(conditions, entry, item) {
                sum += i128::from(self.adds(entry, item, done)) * self.weight(weights, entry, item);
                tally.push((entry, sum));
            }
        }
        tally
    }

    /// The largest weight whose condition holds, in thousandths.
    fn weight(&self, weights: &[Weight], entry: &Entry, item: &Item) -> i128 {
        let has = self.conditions(entry, item);
        let holding = weights.iter().filter(|w| has.contains(&w.condition.key));
        holding.map(|w| i128::from(w.factor.micros() / 1000)).max().unwrap_or(1000)
    }

    fn before(
        &self,
        event: &Name,
        conditions: &Conditions,
        rule: &Rule,
        item: &Item,
        asked: Asked,
    ) -> Option<Instant> {
        let within = rule.details.within.unwrap_or(A_WEEK);
        let last_done = self.last_done_on(item, &rule.task.key);
        let mut first: Option<(Instant, Instant)> = None;
        for planned in self.entries_of(item) {
            let opens = minus(self.clock.date(planned.start), within);
            let asks = planned.event == event.key
                && self.fits(conditions, planned, item)
                && planned.ends >= self.at
                && last_done.is_none_or(|d| opens > d);
            let window = (self.clock.start_of(opens), planned.start);
            if asks && first.is_none_or(|f| window < f) {
                first = Some(window);
            }
        }
        first.map(|(opens, starts)| if asked == Asked::Due { opens } else { starts })
    }

    fn finding(&self, inspected: &Name, findings: &[Name], task: &str, item: &Item) -> Option<Instant> {
        let very_task = |e: &&Entry| e.event == inspected.key && !self.completes(e, item).is_empty();
        let latest = self.cycle(item, task).into_iter().rev().find(very_task)?;
        findings.iter().any(|f| latest.found.contains(&f.key)).then_some(latest.counts)
    }

    fn reading(
        &self,
        name: &Name,
        comparison: Comparison,
        bound: Amount,
        unit: Option<&Name>,
        task: &str,
        item: &Item,
    ) -> Option<Instant> {
        let mut since = None;
        for entry in self.cycle(item, task) {
            let unit_fits = unit.is_none_or(|u| entry.unit.is_empty() || entry.unit == u.key);
            let Some(value) = entry.reading.filter(|_| entry.event == name.key && unit_fits) else {
                continue;
            };
            since = match since {
                _ if !comparison.holds(value, bound) => None,
                None => Some(entry.counts),
                run => run,
            };
        }
        since
    }

    /// The date that `unused` counts from.
    fn unused_since(&self, task: &str, item: &Item) -> Option<NaiveDate> {
        self.last_use_on(item).max(self.last_done_on(item, task)).max(self.start(item))
    }

    /// The date of the cycle start.
    fn cycle_start(&self, task: &str, item: &Item) -> Option<NaiveDate> {
        self.last_done_on(item, task).or_else(|| self.start(item))
    }

    fn calendar(&self, calendar: Calendar, rule: &Rule, item: &Item) -> Option<NaiveDate> {
        let last_done = self.last_done_on(item, &rule.task.key);
        if let Calendar::On(date) = calendar {
            let open = last_done.is_none_or(|d| d < less_notice(date, rule));
            return (open && self.start(item).is_none_or(|s| s <= date)).then_some(date);
        }
        let Some(done) = last_done else {
            return first_on_or_after(calendar, self.start(item)?);
        };
        let first = first_on_or_after(calendar, next_day(done)?)?;
        let served = notice_ahead(rule).is_some_and(|notice| plus(done, notice).is_none_or(|d| first <= d));
        if served { first_on_or_after(calendar, next_day(first)?) } else { Some(first) }
    }

    fn delay(
        &self,
        duration: Duration,
        event: &Name,
        unless: &[Unless],
        task: &str,
        item: &Item,
    ) -> Option<NaiveDate> {
        let cancels = |entry: &Entry, occurrence: &Entry, unless: &Unless| match unless {
            Unless::Event(name) => {
                entry.event == name.key
                    && entry.counts >= occurrence.counts
                    && (entry.reference.is_empty() || entry.reference == occurrence.reference)
            }
            Unless::Newer(_) => {
                entry.event == event.key
                    && (entry.counts, entry.order) > (occurrence.counts, occurrence.order)
            }
        };
        let past = self.past(item);
        let cancelled = |o: &Entry| past.iter().any(|e| unless.iter().any(|u| cancels(e, o, u)));
        let occurrences =
            self.cycle(item, task).into_iter().filter(|e| e.event == event.key && !cancelled(e));
        occurrences.filter_map(|o| plus(self.clock.date(o.counts), duration)).min()
    }

    fn age(&self, duration: Duration, rule: &Rule, item: &Item) -> Option<NaiveDate> {
        let born = self.born(item)?;
        // In a limit an age is over when the trigger's age is, and the trigger is then an age alone.
        let deciding = match rule.trigger.atoms().as_slice() {
            [only] => match only.kind {
                AtomKind::Age(of_trigger) => of_trigger,
                _ => duration,
            },
            _ => duration,
        };
        let last_done = self.last_done_on(item, &rule.task.key);
        let over = plus(born, deciding)
            .is_some_and(|date| last_done.is_some_and(|done| done >= less_notice(date, rule)));
        plus(born, duration).filter(|_| !over)
    }

    /// Whether an atom has no date to count from (section 5, standing `unknown`).
    pub fn lacks_date(&self, atom: &AtomKind, task: &str, item: &Item) -> bool {
        match atom {
            AtomKind::Interval(_) => self.cycle_start(task, item).is_none(),
            AtomKind::Age(_) => self.born(item).is_none(),
            AtomKind::Unused(_) => self.unused_since(task, item).is_none(),
            AtomKind::Calendar(Calendar::On(_)) => false,
            AtomKind::Calendar(_) => self.cycle_start(task, item).is_none(),
            _ => false,
        }
    }

    /// The asked time of a trigger (section 5, due_at).
    pub fn trigger(&self, trigger: &Trigger, rule: &Rule, item: &Item, asked: Asked) -> Option<Instant> {
        let time = |part: &Trigger| self.trigger(part, rule, item, asked);
        match trigger {
            Trigger::Atom(atom) => self.reached(&atom.kind, rule, item, asked),
            Trigger::Or(parts) => parts.iter().filter_map(time).min(),
            Trigger::And(parts) => parts.iter().map(time).collect::<Option<Vec<_>>>()?.into_iter().max(),
        }
    }
}
