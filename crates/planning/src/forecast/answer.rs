//! What is asked of a forecast, and the answer: one for each row, with what it rests on.

use super::basis::{Basis, KnownUse};
use super::chance::{Chance, day_of};
use crate::plan::Plan;
use chrono::{Days, NaiveDate};
use kitlore_engine::{Instant, Program, Row, Standing, Standings};
use std::num::NonZeroUsize;

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
    pub(crate) standings: Standings,
    pub(crate) from: NaiveDate,
    pub(crate) days: u32,
    pub(crate) seed: u64,
    pub(crate) rows: Vec<Forecast>,
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
    /// What it rests on.
    pub basis: Basis,
    /// The uses of which too little is known to say anything: of them only what is certain stands.
    pub too_little: Vec<KnownUse>,
    pub(crate) from: NaiveDate,
    pub(crate) chance: Chance,
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
        self.too_little.is_empty()
    }

    /// Whether its date does not depend on use: past, or a date of the calendar.
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
