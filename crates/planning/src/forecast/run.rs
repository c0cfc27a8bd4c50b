//! From a book to forecasts: the rows by kind, each kind's past learnt from, each row foreseen.

use super::answer::{Forecast, Forecasts, Options};
use super::cohort::Cohort;
use super::learn::{Asked, PlannedUse};
use super::predict::{Prediction, Predictor};
use super::resample::DrawnCourses;
use super::threads::on_threads;
use chrono::{NaiveDate, TimeDelta};
use kitlore_engine::{Book, Instant, Row, Standings, UsageKey, Uses};
use kitlore_syntax::tree::Rule;
use std::collections::{HashMap, HashSet};
use std::ops::Range;

/// Forecasts of every row of a book, from an instant on.
///
/// ```
/// use kitlore_engine::{Book, Item, Program, When};
/// use kitlore_planning::{Options, forecast};
/// let rules = Program::parse("for cameras\n after 90 days, inspect sensor").unwrap();
/// let mut book = Book::new(&rules);
/// book.add_item(Item::new("C1", "camera").received("2026-01-10".parse().unwrap())).unwrap();
/// let at = rules.when_is_over(When::parse("2026-02-08").unwrap());
/// let ahead = forecast(&mut book, at, &Options::default());
/// let row = &ahead.rows()[0];
/// assert_eq!(row.p50.unwrap().to_string(), "2026-04-10");
/// assert_eq!(row.chance_by("2026-04-09".parse().unwrap()), 0.0);
/// ```
pub fn forecast(book: &mut Book, at: Instant, options: &Options) -> Forecasts {
    let standings = book.standings_on(at, options.threads);
    let from = standings.program().local(at).date_naive();
    let days = options.days.min(Options::FARTHEST);
    let rows = Run { standings: &standings, from, days, options }.rows(&book.uses());
    Forecasts { standings, from, days, seed: options.seed, rows }
}

/// What forecasts are made from.
#[derive(Debug, Clone, Copy)]
struct Run<'a> {
    standings: &'a Standings,
    from: NaiveDate,
    days: u32,
    options: &'a Options,
}

/// The items of a kind, each with the numbers of its rows.
#[derive(Debug, Default)]
struct Group<'a> {
    usages: Vec<UsageKey>,
    items: Vec<(&'a str, Range<usize>)>,
}

impl<'a> Run<'a> {
    fn rows(&self, uses: &Uses<'_>) -> Vec<Forecast> {
        let rows: Vec<Row<'a>> = self.standings.rows().collect();
        let groups = groups(&rows);
        let program = self.standings.program();
        let at = self.standings.at();
        let threads = self.options.threads;
        let first = uses.first().map_or(self.from, |first| program.local(first).date_naive()).min(self.from);
        let plans: Vec<PlannedUse<'_>> = self.options.plans.iter().map(PlannedUse::new).collect();
        let cohorts: Vec<Cohort> = groups
            .iter()
            .map(|group| {
                let asked = Asked { usages: &group.usages, at, from: self.from, first, plans: &plans };
                let items: Vec<&str> = group.items.iter().map(|(id, _)| *id).collect();
                Cohort::of(uses, &items, &asked, self.days, threads)
            })
            .collect();
        let longest = cohorts.iter().flat_map(|cohort| &cohort.shared).map(|shared| shared.clock.whole());
        let length = longest.fold(0.0, f64::max).ceil() as usize * 5 / 4 + 4;
        let courses = DrawnCourses::new(length, self.options.seed);
        let mut made: Vec<(usize, Forecast)> = Vec::with_capacity(rows.len());
        for (group, cohort) in groups.iter().zip(&cohorts) {
            let predictor =
                Predictor { program, from: self.from, days: self.days, cohort, courses: &courses };
            let numbered: Vec<(usize, &Range<usize>)> =
                group.items.iter().map(|(_, rows)| rows).enumerate().collect();
            let share = numbered.len().div_ceil(threads.get()).max(1);
            let parts = on_threads(&numbered, share, |items| {
                let mut part = Vec::new();
                for (number, range) in items {
                    for (row, place) in rows.get((*range).clone()).unwrap_or(&[]).iter().zip(range.start..) {
                        part.push((place, self.forecast(row, predictor.row(row, at, *number))));
                    }
                }
                part
            });
            parts.into_iter().for_each(|mut part| made.append(&mut part));
        }
        made.sort_unstable_by_key(|(place, _)| *place);
        made.into_iter().map(|(_, forecast)| forecast).collect()
    }

    fn forecast(&self, row: &Row<'_>, predicted: Prediction) -> Forecast {
        let last = i32::try_from(self.days).unwrap_or(i32::MAX);
        let date = |day: i32| self.from.checked_add_signed(TimeDelta::days(day.into()));
        let by = |share: f64| predicted.chance.first(share, last).and_then(date);
        Forecast {
            item: row.item.to_owned(),
            kind: row.kind.to_owned(),
            task: row.task.to_owned(),
            standing: row.standing,
            due_at: row.due_at,
            p10: by(0.1),
            p50: by(0.5),
            p90: by(0.9),
            basis: predicted.basis,
            too_little: predicted.too_little,
            from: self.from,
            chance: predicted.chance,
        }
    }
}

/// Rows by kind, and what the rules of a kind count.
fn groups<'a>(rows: &[Row<'a>]) -> Vec<Group<'a>> {
    let mut groups: Vec<Group<'a>> = Vec::new();
    let mut by_spelling: HashMap<&str, usize> = HashMap::new();
    let mut by_kind: HashMap<String, usize> = HashMap::new();
    let mut seen: HashSet<(usize, *const Rule)> = HashSet::new();
    let mut start = 0;
    for own in rows.chunk_by(|one, other| one.item == other.item) {
        let Some(first) = own.first() else { continue };
        let number = *by_spelling.entry(first.kind).or_insert_with(|| {
            *by_kind.entry(kitlore_syntax::key(first.kind)).or_insert_with(|| {
                groups.push(Group::default());
                groups.len() - 1
            })
        });
        let end = start + own.len();
        let Some(group) = groups.get_mut(number) else { continue };
        group.items.push((first.item, start..end));
        start = end;
        for account in own.iter().flat_map(Row::rules) {
            if !seen.insert((number, std::ptr::from_ref(account.rule.rule))) {
                continue;
            }
            let parts = account.parts().into_iter().chain(account.limit_parts());
            for usage in parts.filter_map(|part| part.usage) {
                if !group.usages.contains(&usage) {
                    group.usages.push(usage);
                }
            }
        }
    }
    groups
}
