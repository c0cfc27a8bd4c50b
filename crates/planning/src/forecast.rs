//! From a book to forecasts: one for each row, with what it rests on.

use crate::chance::Chance;
use crate::foresee::{Foreseen, Foresight};
use crate::kin::Kin;
use crate::learn::Asked;
use crate::plan::Plan;
use crate::weeks::Bank;
use chrono::{Days, NaiveDate, TimeDelta};
use kitlore_engine::{Book, Instant, Program, Row, Standing, Standings, UsageKey, Uses};
use kitlore_syntax::tree::Rule;
use std::collections::{HashMap, HashSet};
use std::num::NonZeroUsize;
use std::ops::Range;

/// How far to look, and from what.
#[derive(Debug, Clone)]
pub struct Options {
    /// How many days to look ahead, at most [`Options::FARTHEST`].
    pub days: u32,
    /// Where the draws begin; the same seed gives the same forecasts.
    pub seed: u64,
    /// Plans that are not in the log.
    pub plans: Vec<Plan>,
    /// How many threads work; the answer is the same.
    pub threads: NonZeroUsize,
}

impl Options {
    /// The farthest one can look ahead, in days: about ten years.
    pub const FARTHEST: u32 = 3_660;
}

impl Default for Options {
    /// 90 days, one thread, no plan but those of the log.
    fn default() -> Self {
        Self { days: 90, seed: 0, plans: Vec::new(), threads: NonZeroUsize::MIN }
    }
}

/// When each row of a book's standings will be due, as far as can be said.
#[derive(Debug, Clone)]
pub struct Forecasts {
    standings: Standings,
    from: NaiveDate,
    days: u32,
    seed: u64,
    rows: Vec<Forecast>,
}

/// When one item will be due for one task.
#[derive(Debug, Clone)]
pub struct Forecast {
    /// The item's id.
    pub item: String,
    /// The item's kind.
    pub kind: String,
    /// The task.
    pub task: String,
    /// How it stands now.
    pub standing: Standing,
    /// When it was or will certainly be due; what use may bring about before is in the dates below.
    pub due_at: Option<Instant>,
    /// The first date by whose end it is due with a chance of 10 %; absent where that is later than the days
    /// looked ahead, or cannot be said.
    pub p10: Option<NaiveDate>,
    /// The same for 50 %.
    pub p50: Option<NaiveDate>,
    /// The same for 90 %.
    pub p90: Option<NaiveDate>,
    /// What it rests on, in words.
    pub basis: String,
    /// Why nothing can be said of its use, where there is too little to go by: then only what is certain stands.
    pub too_little: Option<String>,
    from: NaiveDate,
    chance: Chance,
}

impl Forecasts {
    /// The standings looked ahead from.
    pub fn standings(&self) -> &Standings {
        &self.standings
    }

    /// The rules followed.
    pub fn program(&self) -> &Program {
        self.standings.program()
    }

    /// The instant looked ahead from.
    pub fn at(&self) -> Instant {
        self.standings.at()
    }

    /// Its date.
    pub fn from(&self) -> NaiveDate {
        self.from
    }

    /// The last date looked at.
    pub fn to(&self) -> NaiveDate {
        self.from.checked_add_days(Days::new(self.days.into())).unwrap_or(self.from)
    }

    /// Every date looked at, from [`Forecasts::from`] to [`Forecasts::to`].
    pub fn dates(&self) -> impl Iterator<Item = NaiveDate> + use<> {
        let to = self.to();
        self.from.iter_days().take_while(move |date| *date <= to)
    }

    /// How many days were looked ahead.
    pub fn days(&self) -> u32 {
        self.days
    }

    /// Where the draws began.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// One for each row of the standings, in their order: by item, then task.
    pub fn rows(&self) -> &[Forecast] {
        &self.rows
    }

    /// With the row of the standings each belongs to, for needs, cautions and accounts.
    pub fn with_standings(&self) -> impl Iterator<Item = (&Forecast, Row<'_>)> {
        self.rows.iter().zip(self.standings.rows())
    }

    /// The forecast of an item and a task, by the task's key.
    pub fn get(&self, item: &str, task: &str) -> Option<&Forecast> {
        let task = kitlore_syntax::key(task);
        self.rows.iter().find(|row| row.item == item && kitlore_syntax::key(&row.task) == task)
    }
}

impl Forecast {
    /// Whether there is enough to go by.
    pub fn enough(&self) -> bool {
        self.too_little.is_none()
    }

    /// Whether its date does not hang on use: past, or a date of the calendar.
    pub fn is_certain(&self) -> bool {
        matches!(self.chance, Chance::On(_))
    }

    /// The chance that it is due by the end of a date; cumulative, 0 to 1. Dates after the last one looked at
    /// are answered like the last one.
    pub fn chance_by(&self, date: NaiveDate) -> f64 {
        self.chance.by(day_of(self.from, date))
    }

    /// The chance behind it.
    pub fn chance(&self) -> &Chance {
        &self.chance
    }
}

/// A date as a number of days after another.
pub(crate) fn day_of(from: NaiveDate, date: NaiveDate) -> i32 {
    i32::try_from((date - from).num_days()).unwrap_or(i32::MAX)
}

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
    let rows = Work { standings: &standings, from, days, options }.rows(&book.uses());
    Forecasts { standings, from, days, seed: options.seed, rows }
}

/// Maps chunks of a list, each on a thread of its own where there is more than one.
pub(crate) fn on_threads<T: Sync, R: Send>(
    list: &[T],
    share: usize,
    map: impl Fn(&[T]) -> R + Sync,
) -> Vec<R> {
    if list.len() <= share {
        return vec![map(list)];
    }
    std::thread::scope(|scope| {
        let map = &map;
        let running: Vec<_> = list.chunks(share).map(|chunk| scope.spawn(move || map(chunk))).collect();
        running
            .into_iter()
            .map(|thread| match thread.join() {
                Ok(part) => part,
                Err(panic) => std::panic::resume_unwind(panic),
            })
            .collect()
    })
}

/// What a forecast is made from.
#[derive(Debug, Clone, Copy)]
struct Work<'a> {
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

impl<'a> Work<'a> {
    fn rows(&self, uses: &Uses<'_>) -> Vec<Forecast> {
        let rows: Vec<Row<'a>> = self.standings.rows().collect();
        let groups = groups(&rows);
        let program = self.standings.program();
        let at = self.standings.at();
        let threads = self.options.threads;
        let first = uses.first().map_or(self.from, |first| program.local(first).date_naive()).min(self.from);
        let kins: Vec<Kin> = groups
            .iter()
            .map(|group| {
                let plans = &self.options.plans;
                let asked = Asked { usages: &group.usages, at, from: self.from, first, plans };
                let items: Vec<&str> = group.items.iter().map(|(id, _)| *id).collect();
                Kin::of(uses, &items, &asked, self.days, threads)
            })
            .collect();
        let longest = kins.iter().flat_map(|kin| &kin.shared).map(|shared| shared.clock.whole());
        let bank = Bank::new(longest.fold(0.0, f64::max).ceil() as usize * 5 / 4 + 4, self.options.seed);
        let mut made: Vec<(usize, Forecast)> = Vec::with_capacity(rows.len());
        for (group, kin) in groups.iter().zip(&kins) {
            let foresight = Foresight { program, from: self.from, days: self.days, kin, bank: &bank };
            let numbered: Vec<(usize, &Range<usize>)> =
                group.items.iter().map(|(_, rows)| rows).enumerate().collect();
            let share = numbered.len().div_ceil(threads.get()).max(1);
            let parts = on_threads(&numbered, share, |items| {
                let mut part = Vec::new();
                for (number, range) in items {
                    for (row, place) in rows.get((*range).clone()).unwrap_or(&[]).iter().zip(range.start..) {
                        part.push((place, self.forecast(row, foresight.row(row, at, *number))));
                    }
                }
                part
            });
            parts.into_iter().for_each(|mut part| made.append(&mut part));
        }
        made.sort_unstable_by_key(|(place, _)| *place);
        made.into_iter().map(|(_, forecast)| forecast).collect()
    }

    fn forecast(&self, row: &Row<'_>, foreseen: Foreseen) -> Forecast {
        let last = i32::try_from(self.days).unwrap_or(i32::MAX);
        let date = |day: i32| self.from.checked_add_signed(TimeDelta::days(day.into()));
        let by = |share: f64| foreseen.chance.first(share, last).and_then(date);
        Forecast {
            item: row.item.to_owned(),
            kind: row.kind.to_owned(),
            task: row.task.to_owned(),
            standing: row.standing,
            due_at: row.due_at,
            p10: by(0.1),
            p50: by(0.5),
            p90: by(0.9),
            basis: foreseen.basis,
            too_little: foreseen.too_little,
            from: self.from,
            chance: foreseen.chance,
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
