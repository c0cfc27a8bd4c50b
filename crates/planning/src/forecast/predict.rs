//! From a row's rules to its chance: every part's own, joined as the rules join them.

use super::basis::{Basis, KnownUse};
use super::chance::{Chance, day_of};
use super::clock::UseClock;
use super::cohort::Cohort;
use super::counted::Counted;
use super::resample::{COURSES, DrawnCourses};
use chrono::NaiveDate;
use kitlore_engine::{Account, Clause, Instant, Part, Program, Row, Uses};
use kitlore_syntax::dates::plus;
use kitlore_syntax::tree::AtomKind;
use std::sync::Arc;

/// What the rows of a kind are predicted from.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Predictor<'a> {
    pub program: &'a Program,
    pub from: NaiveDate,
    pub days: u32,
    pub cohort: &'a Cohort,
    pub courses: &'a DrawnCourses,
}

/// The chance of a row.
#[derive(Debug)]
pub(crate) struct Prediction {
    pub chance: Chance,
    pub basis: Basis,
    pub too_little: Vec<KnownUse>,
}

/// How a row depends on its parts.
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
    /// Of what, as the rule has it.
    counted: &'a str,
}

/// So few of its own say nothing of an item, unless so many are known of its kind.
const TOO_FEW: (f64, f64) = (3.0, 8.0);

impl<'a> Predictor<'a> {
    /// A row of the item with a number among those of its kind.
    pub fn row(&self, row: &Row<'_>, at: Instant, number: usize) -> Prediction {
        let known = |chance, basis| Prediction { chance, basis, too_little: Vec::new() };
        if let Some(due) = row.due_at.filter(|due| *due <= at) {
            return known(Chance::On(self.day(due)), Basis::Due);
        }
        let mut needs = Vec::new();
        let rules = row.rules().map(|account| self.rule(&account, row.last_done, &mut needs)).collect();
        let shape = Shape::Any(rules);
        if needs.is_empty() {
            return match row.due_at {
                Some(due) => known(Chance::On(self.day(due)), Basis::Date),
                None => known(Chance::Never, Basis::NoUse),
            };
        }
        self.uses(&shape, &needs, number)
    }

    /// The day of an instant, below 0 where it is past.
    fn day(&self, at: Instant) -> i32 {
        day_of(self.from, self.program.local(at).date_naive())
    }

    fn rule<'r>(&self, account: &Account<'r>, done: Option<Instant>, needs: &mut Vec<Need<'r>>) -> Shape {
        let details = &account.rule.rule.details;
        let mut shape = self.clause(&account.trigger(), needs);
        let done = done.map(|done| self.program.local(done).date_naive());
        if let Some(date) = details.at_most_every.zip(done).and_then(|(every, done)| plus(done, every)) {
            shape = Shape::From(day_of(self.from, date), Box::new(shape));
        }
        match account.limit() {
            Some(limit) => Shape::Any(vec![shape, self.clause(&limit, needs)]),
            None => shape,
        }
    }

    fn clause<'r>(&self, clause: &Clause<'r>, needs: &mut Vec<Need<'r>>) -> Shape {
        match clause {
            Clause::Or(list) => Shape::Any(list.iter().map(|one| self.clause(one, needs)).collect()),
            Clause::And(list) => Shape::All(list.iter().map(|one| self.clause(one, needs)).collect()),
            Clause::Part(part) => self.part(part, needs),
        }
    }

    fn part<'r>(&self, part: &Part<'r>, needs: &mut Vec<Need<'r>>) -> Shape {
        if let Some(reached) = part.reached_at {
            return Shape::On(self.day(reached));
        }
        let which = part.usage.and_then(|usage| self.cohort.which(usage));
        let (Some(which), Some(of)) = (which, part.of) else { return Shape::Never };
        let counted = part.count.map_or(0.0, |count| count.billionths() as f64 / Uses::ONE as f64);
        let amount = of.micros() as f64 / 1e6 - counted;
        needs.push(Need { which, amount, counted: counted_name(part) });
        Shape::Use(needs.len() - 1)
    }

    /// The chance of what depends on uses.
    fn uses(&self, shape: &Shape, needs: &[Need<'_>], number: usize) -> Prediction {
        let mut too_little: Vec<KnownUse> = Vec::new();
        let mut basis: Vec<KnownUse> = Vec::new();
        let mut known = vec![false; needs.len()];
        for (need, known) in needs.iter().zip(&mut known) {
            let Some((used, enough)) = self.known_use(need, number) else { continue };
            *known = enough;
            let list = if enough { &mut basis } else { &mut too_little };
            if !list.contains(&used) {
                list.push(used);
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
        Prediction { chance, basis: Basis::Use(basis), too_little }
    }

    /// What is known of a use, and whether that is enough.
    fn known_use(&self, need: &Need<'_>, number: usize) -> Option<(KnownUse, bool)> {
        let (log, shared) = (self.cohort.logs.get(number)?, self.cohort.shared.get(need.which)?);
        let (own, others) = shared.counted(number, log, need.which);
        let plans = log.expected.iter().filter(|plan| plan.daily.iter().any(|(of, _)| *of == need.which));
        let used = KnownUse {
            counted: need.counted.to_owned(),
            own,
            weeks: log.weeks,
            others: if shared.learnt.items > 1 && others > 0.0 { self.cohort.logs.len() - 1 } else { 0 },
            by_season: !shared.learnt.season.is_flat(),
            plans: plans.map(|plan| (plan.from, plan.to)).collect(),
        };
        Some((used, own >= TOO_FEW.0 || others >= TOO_FEW.1))
    }

    /// The clock of an item and what is planned for it.
    fn plan(&self, which: usize, number: usize) -> (Option<Arc<UseClock>>, Option<Vec<f64>>) {
        let (Some(log), Some(shared)) = (self.cohort.logs.get(number), self.cohort.shared.get(which)) else {
            return (None, None);
        };
        if log.expected.is_empty() && log.ahead.is_empty() {
            return (Some(shared.clock.clone()), None);
        }
        let is_planned = |date| log.is_planned(which, date);
        let clock = UseClock::new(&shared.learnt.season, self.from, self.days, is_planned);
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
        let (Some(log), Some(shared)) = (self.cohort.logs.get(number), self.cohort.shared.get(need.which))
        else {
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
        let Some(log) = self.cohort.logs.get(number) else { return };
        let mut uses = Vec::new();
        for need in needs {
            let Some(shared) = self.cohort.shared.get(need.which) else { return };
            let (Some(clock), given) = self.plan(need.which, number) else { return };
            uses.push((need, shared, shared.own(log, need.which), clock, given));
        }
        let weeks = uses.iter().map(|(_, _, own, ..)| own.len()).min().unwrap_or(0);
        let pools: Vec<_> = uses.iter().map(|(_, shared, own, ..)| shared.pool(number, own)).collect();
        let has_fellows = pools.iter().all(|pool| pool.has_fellows());
        let Some(courses) = self.courses.of(weeks, has_fellows) else { return };
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
fn counted_name<'r>(part: &Part<'r>) -> &'r str {
    match &part.written.kind {
        AtomKind::Usage { figure: Some(figure), .. } if figure.start == part.written.span.start => {
            part.written.text_from(part.text, figure.end).trim_start()
        }
        _ => part.text,
    }
}
