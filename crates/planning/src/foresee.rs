//! From a row's rules to its chance: every part's own, joined as the rules join them.

use crate::chance::Chance;
use crate::counts::Counted;
use crate::kin::Kin;
use crate::season::Clock;
use crate::weeks::{Bank, COURSES};
use chrono::{Days, Months, NaiveDate};
use kitlore_engine::{Account, Instant, Part, Program, Row, Uses};
use kitlore_syntax::tree::{Duration, Trigger, Unit};
use std::sync::Arc;

/// What items of a kind are foreseen with.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Foresight<'a> {
    pub program: &'a Program,
    pub from: NaiveDate,
    pub days: u32,
    pub kin: &'a Kin,
    pub bank: &'a Bank,
}

/// A row foreseen.
#[derive(Debug)]
pub(crate) struct Foreseen {
    pub chance: Chance,
    pub basis: String,
    pub too_little: Option<String>,
}

/// How a row hangs on its parts.
#[derive(Debug)]
enum Shape {
    On(i32),
    Never,
    /// The number of a use.
    Use(usize),
    Any(Vec<Shape>),
    All(Vec<Shape>),
    From(i32, Box<Shape>),
}

/// A usage that has not been reached.
#[derive(Debug)]
struct Need<'a> {
    which: usize,
    /// How much more.
    amount: f64,
    text: &'a str,
}

/// So few of its own say nothing of an item, unless so many are known of its kin.
const TOO_FEW: (f64, f64) = (3.0, 8.0);

impl<'a> Foresight<'a> {
    /// A row of the item with a number among its kin.
    pub fn row(&self, row: &Row<'_>, at: Instant, number: usize) -> Foreseen {
        let known = |chance, basis: &str| Foreseen { chance, basis: basis.to_owned(), too_little: None };
        if let Some(due) = row.due_at.filter(|due| *due <= at) {
            return known(Chance::On(self.day(due)), "due already");
        }
        let mut needs = Vec::new();
        let rules = row.rules().map(|account| self.rule(&account, row.last_done, &mut needs)).collect();
        let shape = Shape::Any(rules);
        if needs.is_empty() {
            return match row.due_at {
                Some(due) => known(Chance::On(self.day(due)), "a certain date"),
                None => known(Chance::Never, "hangs on what is found, read or planned"),
            };
        }
        self.uses(&shape, &needs, number)
    }

    /// The day of an instant, below 0 where it is past.
    fn day(&self, at: Instant) -> i32 {
        crate::forecast::day_of(self.from, self.program.local(at).date_naive())
    }

    fn rule<'r>(&self, account: &Account<'r>, done: Option<Instant>, needs: &mut Vec<Need<'r>>) -> Shape {
        let details = &account.rule.rule.details;
        let mut parts = account.parts().into_iter();
        let mut shape = self.trigger(&account.rule.rule.trigger, &mut parts, needs);
        let done = done.map(|done| self.program.local(done).date_naive());
        if let Some(date) = details.at_most_every.zip(done).and_then(|(every, done)| plus(done, every)) {
            shape = Shape::From(crate::forecast::day_of(self.from, date), Box::new(shape));
        }
        match &details.no_later_than {
            Some(limit) => {
                let mut parts = account.limit_parts().into_iter();
                Shape::Any(vec![shape, self.trigger(limit, &mut parts, needs)])
            }
            None => shape,
        }
    }

    fn trigger<'r>(
        &self,
        trigger: &Trigger,
        parts: &mut impl Iterator<Item = Part<'r>>,
        needs: &mut Vec<Need<'r>>,
    ) -> Shape {
        match trigger {
            Trigger::Or(list) => Shape::Any(list.iter().map(|one| self.trigger(one, parts, needs)).collect()),
            Trigger::And(list) => {
                Shape::All(list.iter().map(|one| self.trigger(one, parts, needs)).collect())
            }
            Trigger::Atom(_) => {
                let Some(part) = parts.next() else { return Shape::Never };
                if let Some(reached) = part.reached_at {
                    return Shape::On(self.day(reached));
                }
                let which = part.usage.and_then(|usage| self.kin.which(usage));
                let (Some(which), Some(of)) = (which, part.of) else { return Shape::Never };
                let counted = part.count.map_or(0.0, |count| count.billionths() as f64 / Uses::ONE as f64);
                let amount = of.micros() as f64 / 1e6 - counted;
                needs.push(Need { which, amount, text: part.text });
                Shape::Use(needs.len() - 1)
            }
        }
    }

    /// The chance of what hangs on uses.
    fn uses(&self, shape: &Shape, needs: &[Need<'_>], number: usize) -> Foreseen {
        let mut too_little: Vec<String> = Vec::new();
        let mut basis: Vec<String> = Vec::new();
        let mut known = vec![true; needs.len()];
        for (need, known) in needs.iter().zip(&mut known) {
            let (text, enough) = self.grounds(need, number);
            *known = enough;
            let list = if enough { &mut basis } else { &mut too_little };
            if !list.contains(&text) {
                list.push(text);
            }
        }
        let drawn: Vec<usize> = (0..needs.len()).filter(|need| known.get(*need) == Some(&true)).collect();
        let leaf = |need: usize| match needs.get(need) {
            Some(need) if known_at(&known, need, needs) => self.one(need, number),
            Some(need) => self.planned(need, number),
            None => Chance::Never,
        };
        let chance = match drawn.as_slice() {
            [] | [_] => shape.chance(&leaf),
            _ => self.jointly(shape, needs, &known, number),
        };
        Foreseen {
            chance,
            basis: basis.join("; "),
            too_little: (!too_little.is_empty())
                .then(|| format!("too little to go by: {}", too_little.join("; "))),
        }
    }

    /// What a part rests on, and whether that is enough.
    fn grounds(&self, need: &Need<'_>, number: usize) -> (String, bool) {
        let (Some(log), Some(shared)) = (self.kin.logs.get(number), self.kin.shared.get(need.which)) else {
            return (String::new(), false);
        };
        let (own, others) = shared.counted(number, log, need.which);
        let enough = own >= TOO_FEW.0 || others >= TOO_FEW.1;
        let mut told: Vec<String> = own_use(own, log.weeks).into_iter().collect();
        if shared.learnt.items > 1 && others > 0.0 {
            let others = self.kin.logs.len() - 1;
            told.push(format!("{others} {} of its kind", if others == 1 { "other" } else { "others" }));
        }
        if told.is_empty() {
            told.push("no use known".to_owned());
        }
        let mut text = format!("{}: {}", counted_name(need.text), told.join(", and "));
        if !shared.learnt.season.is_flat() {
            text += ", by season";
        }
        for plan in log.expected.iter().filter(|plan| plan.daily.iter().any(|(of, _)| *of == need.which)) {
            text += &format!(", planned {} to {}", plan.from, plan.to);
        }
        (text, enough)
    }

    /// The clock of an item and what is planned for it.
    fn plan(&self, which: usize, number: usize) -> (Option<Arc<Clock>>, Option<Vec<f64>>) {
        let (Some(log), Some(shared)) = (self.kin.logs.get(number), self.kin.shared.get(which)) else {
            return (None, None);
        };
        if log.expected.is_empty() && log.ahead.is_empty() {
            return (Some(shared.clock.clone()), None);
        }
        let is_planned = |date| log.is_planned(which, date);
        let clock = Clock::new(&shared.learnt.season, self.from, self.days, is_planned);
        (Some(Arc::new(clock)), log.given(which, self.from, self.days))
    }

    /// Where there is too little to go by, what is planned still comes.
    fn planned(&self, need: &Need<'_>, number: usize) -> Chance {
        let (_, given) = self.plan(need.which, number);
        let reached = given.and_then(|given| given.iter().position(|sum| *sum >= need.amount - 1e-6));
        reached.and_then(|day| i32::try_from(day).ok()).map_or(Chance::Never, Chance::On)
    }

    /// The chance of one use alone.
    fn one(&self, need: &Need<'_>, number: usize) -> Chance {
        let (Some(log), Some(shared)) = (self.kin.logs.get(number), self.kin.shared.get(need.which)) else {
            return Chance::Never;
        };
        let (Some(clock), given) = self.plan(need.which, number) else { return Chance::Never };
        if shared.single {
            return Chance::Counted(Counted {
                needed: need.amount,
                rate: shared.rate(number, log, need.which),
                burst: shared.learnt.burst,
                clock,
                given: given.map(Arc::from),
            });
        }
        let mut days = Vec::with_capacity(COURSES);
        self.each_course(std::slice::from_ref(need), number, |reached| {
            days.extend(reached.first().copied().flatten().and_then(|day| u16::try_from(day).ok()));
        });
        drawn(days)
    }

    /// The chance of several uses: they are drawn together, since a busy week is busy for all.
    fn jointly(&self, shape: &Shape, needs: &[Need<'_>], known: &[bool], number: usize) -> Chance {
        let planned: Vec<Option<i32>> = needs
            .iter()
            .zip(known)
            .map(|(need, known)| if *known { None } else { self.planned(need, number).first(1.0, i32::MAX) })
            .collect();
        let mut days = Vec::with_capacity(COURSES);
        self.each_course(needs, number, |reached| {
            let day = |need: usize| match known.get(need) {
                Some(true) => reached.get(need).copied().flatten(),
                _ => planned.get(need).copied().flatten(),
            };
            days.extend(shape.day(&day).and_then(|day| u16::try_from(day.max(0)).ok()));
        });
        drawn(days)
    }

    /// Calls `take` with the days on which each course reaches each of some uses.
    fn each_course(&self, needs: &[Need<'_>], number: usize, mut take: impl FnMut(&[Option<i32>])) {
        let Some(log) = self.kin.logs.get(number) else { return };
        let mut uses = Vec::new();
        for need in needs {
            let Some(shared) = self.kin.shared.get(need.which) else { return };
            let (Some(clock), given) = self.plan(need.which, number) else { return };
            uses.push((need, shared, shared.own(log, need.which), clock, given));
        }
        let weeks = uses.iter().map(|(_, _, own, ..)| own.len()).min().unwrap_or(0);
        let pools: Vec<_> = uses.iter().map(|(_, shared, own, ..)| shared.pool(number, own)).collect();
        let has_fellows = pools.iter().all(|pool| pool.has_fellows());
        let Some(courses) = self.bank.courses(weeks, has_fellows) else { return };
        let mut reached = vec![None; needs.len()];
        for (fellow, course) in courses.each() {
            for ((reached, pool), (need, _, _, clock, given)) in reached.iter_mut().zip(&pools).zip(&uses) {
                *reached = match given {
                    None => pool.reached(need.amount, fellow, course).and_then(|time| clock.day(time)),
                    Some(given) => {
                        let sums = pool.sums(fellow, course);
                        given.iter().enumerate().skip(1).find_map(|(day, given)| {
                            let by = clock.by(i32::try_from(day).unwrap_or(i32::MAX));
                            (given + between(&sums, by) >= need.amount - 1e-6).then_some(day)
                        })
                    }
                }
                .and_then(|day| i32::try_from(day).ok());
            }
            take(&reached);
        }
    }
}

fn known_at(known: &[bool], need: &Need<'_>, needs: &[Need<'_>]) -> bool {
    needs.iter().zip(known).any(|(other, known)| std::ptr::eq(other, need) && *known)
}

/// The sum of a course after a time between its weeks.
fn between(sums: &[(f64, f64)], time: f64) -> f64 {
    let week = sums.partition_point(|(end, _)| *end <= time);
    let before = week.checked_sub(1).and_then(|week| sums.get(week)).copied().unwrap_or((0.0, 0.0));
    match sums.get(week) {
        Some(after) => before.1 + (after.1 - before.1) * (time - before.0) / (after.0 - before.0),
        None => before.1,
    }
}

fn drawn(mut days: Vec<u16>) -> Chance {
    days.sort_unstable();
    Chance::Drawn { days: days.into(), of: COURSES as u32 }
}

impl Shape {
    fn chance(&self, leaf: &impl Fn(usize) -> Chance) -> Chance {
        let list = |parts: &[Shape]| parts.iter().map(|part| part.chance(leaf)).collect::<Vec<_>>();
        match self {
            Shape::On(day) => Chance::On(*day),
            Shape::Never => Chance::Never,
            Shape::Use(need) => leaf(*need),
            Shape::Any(parts) => Chance::any(list(parts)),
            Shape::All(parts) => Chance::all(list(parts)),
            Shape::From(day, part) => Chance::From(*day, Box::new(part.chance(leaf))),
        }
    }

    /// The day on which it is reached, where each use is on its day.
    fn day(&self, leaf: &impl Fn(usize) -> Option<i32>) -> Option<i32> {
        match self {
            Shape::On(day) => Some(*day),
            Shape::Never => None,
            Shape::Use(need) => leaf(*need),
            Shape::Any(parts) => parts.iter().filter_map(|part| part.day(leaf)).min(),
            Shape::All(parts) => {
                let days: Option<Vec<i32>> = parts.iter().map(|part| part.day(leaf)).collect();
                days?.into_iter().max()
            }
            Shape::From(from, part) => part.day(leaf).map(|day| day.max(*from)),
        }
    }
}

/// What a part counts: `20 lens changes in dust` counts `lens changes in dust`.
fn counted_name(text: &str) -> &str {
    match text.split_once(char::is_whitespace) {
        Some((first, rest)) if first.starts_with(|c: char| c.is_ascii_digit()) => rest.trim_start(),
        _ => text,
    }
}

/// `43 in 64 weeks`; `None` of an item of which no time is known: it has neither a date nor an entry.
fn own_use(own: f64, weeks: f64) -> Option<String> {
    let weeks = match weeks.round() {
        _ if weeks <= 0.0 && own <= 0.0 => return None,
        0.0 => "less than a week".to_owned(),
        1.0 => "1 week".to_owned(),
        many => format!("{many} weeks"),
    };
    Some(format!("{} in {weeks}", plain(own)))
}

/// A number without needless digits.
fn plain(number: f64) -> String {
    // The sum of no numbers is -0; 0 added makes it 0.
    let rounded = (number * 10.0).round() / 10.0 + 0.0;
    if rounded.fract() == 0.0 { format!("{rounded:.0}") } else { format!("{rounded:.1}") }
}

/// A date and a duration after it, as the engine counts: months keep the day, or take the month's last.
fn plus(date: NaiveDate, duration: Duration) -> Option<NaiveDate> {
    let count = duration.count;
    match duration.unit {
        Unit::Day => date.checked_add_days(Days::new(count.into())),
        Unit::Week => date.checked_add_days(Days::new(u64::from(count) * 7)),
        Unit::Month => date.checked_add_months(Months::new(count)),
        Unit::Year => date.checked_add_months(Months::new(count.checked_mul(12)?)),
    }
}
