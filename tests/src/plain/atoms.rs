//! When an atom is reached: the table of the contract's section 5, a row a function.

use super::clock::{Instant, first_on_or_after, minus, next_day, plus};
use super::items::Item;
use super::records::Entry;
use super::world::World;
use chrono::NaiveDate;
use kitlore_syntax::Name;
use kitlore_syntax::tree::{
    AtomKind, Calendar, Conditions, Duration, Notice, Rule, Trigger, Unit, Unless, Weight,
};

/// Of what a time is asked: a rule and an item, which time, and whether what was reached stands until done.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a> {
    /// The rule.
    pub rule: &'a Rule,
    /// The item.
    pub item: &'a Item,
    /// Which time.
    pub asked: Asked,
    /// Whether findings, readings and disuse count from the first time in the cycle (section 5, limit_at).
    pub stands: bool,
}

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
    /// The asked time of an atom, if known.
    pub fn reached(&self, atom: &AtomKind, question: Question<'_>) -> Option<Instant> {
        let Question { rule, item, asked, stands } = question;
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
            AtomKind::Finding { task: inspected, findings } => {
                self.finding(inspected, findings, stands, task, item)
            }
            AtomKind::Spotted { findings } => {
                let spots = |e: &&Entry| findings.iter().any(|f| e.found.contains(&f.key));
                self.cycle(item, task).into_iter().find(spots).map(|e| e.counts)
            }
            AtomKind::Reading { .. } => self.reading(atom, stands, task, item),
            AtomKind::Unused(duration) => self.unused(*duration, stands, task, item),
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

    /// The latest look decides; for what stands until done, the first that found something.
    fn finding(
        &self,
        inspected: &Name,
        findings: &[Name],
        stands: bool,
        task: &str,
        item: &Item,
    ) -> Option<Instant> {
        let very_task = |e: &&Entry| e.event == inspected.key && !self.completes(e, item).is_empty();
        let found = |e: &&Entry| findings.iter().any(|f| e.found.contains(&f.key));
        let mut looks = self.cycle(item, task).into_iter().filter(very_task);
        let decides = if stands { looks.find(found) } else { looks.next_back().filter(found) };
        decides.map(|e| e.counts)
    }

    /// The last reading decides; for what stands until done, the first that satisfies the comparison.
    fn reading(&self, atom: &AtomKind, stands: bool, task: &str, item: &Item) -> Option<Instant> {
        let AtomKind::Reading { name, comparison, bound, unit } = atom else { return None };
        let mut since = None;
        for entry in self.cycle(item, task) {
            let unit_fits = unit.as_ref().is_none_or(|u| entry.unit.is_empty() || entry.unit == u.key);
            let Some(value) = entry.reading.filter(|_| entry.event == name.key && unit_fits) else {
                continue;
            };
            since = match since {
                Some(_) if stands => since,
                _ if !comparison.holds(value, *bound) => None,
                None => Some(entry.counts),
                run => run,
            };
        }
        since
    }

    /// The date that `unused` counts from, asked at an instant.
    fn unused_since(&self, task: &str, item: &Item, at: Instant) -> Option<NaiveDate> {
        self.last_use_on(item, at).max(self.last_done_on(item, task)).max(self.start(item))
    }

    /// 00:00 of the date that `unused` counts from plus its length; for what stands until done, the first such
    /// time in the cycle at which it was so.
    fn unused(&self, duration: Duration, stands: bool, task: &str, item: &Item) -> Option<Instant> {
        let falls = |since: NaiveDate| plus(since, duration).map(|d| self.clock.start_of(d));
        let now = self.unused_since(task, item, self.at).and_then(falls);
        if !stands {
            return now;
        }
        let dates =
            self.entries_of(item).into_iter().flat_map(|e| [e.counts, e.ends].map(|t| self.clock.date(t)));
        let begins = self.last_done_on(item, task).max(self.start(item));
        let dates = dates.chain(begins).filter(|d| Some(*d) >= begins);
        let was_so = |t: &Instant| {
            let then = self.unused_since(task, item, *t).and_then(falls);
            *t <= self.at && then.is_some_and(|then| then <= *t)
        };
        dates.filter_map(falls).filter(was_so).min().or(now)
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
        let all = if self.takes_news(event) { self.entries_and_news_of(item) } else { self.entries_of(item) };
        let past = all.into_iter().filter(|e| e.counts <= self.at);
        let past: Vec<&Entry> = past.collect();
        let cancelled = |o: &Entry| past.iter().any(|e| unless.iter().any(|u| cancels(e, o, u)));
        let begins = self.last_done(item, task).map(|e| (e.counts, e.order));
        let in_cycle = |e: &&&Entry| e.event == event.key && Some((e.counts, e.order)) > begins;
        let occurrences = past.iter().filter(in_cycle).filter(|e| !cancelled(e));
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
            AtomKind::Unused(_) => self.unused_since(task, item, self.at).is_none(),
            AtomKind::Calendar(Calendar::On(_)) => false,
            AtomKind::Calendar(_) => self.cycle_start(task, item).is_none(),
            _ => false,
        }
    }

    /// The asked time of a trigger (section 5, due_at).
    pub fn trigger(&self, trigger: &Trigger, question: Question<'_>) -> Option<Instant> {
        let time = |part: &Trigger| self.trigger(part, question);
        match trigger {
            Trigger::Atom(atom) => self.reached(&atom.kind, question),
            Trigger::Or(parts) => parts.iter().filter_map(time).min(),
            Trigger::And(parts) => parts.iter().map(time).collect::<Option<Vec<_>>>()?.into_iter().max(),
        }
    }
}
