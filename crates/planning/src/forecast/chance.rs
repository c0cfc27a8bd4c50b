//! The chance that something is reached by a day.

use super::counted::Counted;
use chrono::NaiveDate;
use std::sync::Arc;

/// The chance, over the days ahead, that a task is due by the end of each; day 0 is the date asked from.
#[derive(Debug, Clone)]
#[non_exhaustive]
pub enum Chance {
    /// It is reached on this day for certain, or was where the day is below 0.
    On(i32),
    /// It is not reached, as far as can be said.
    Never,
    /// The days on which so many of a number of drawn courses of use reach it, in order.
    Drawn {
        /// The days, ascending.
        days: Arc<[u16]>,
        /// How many courses were drawn.
        of: u32,
    },
    /// So many uses more bring it about, counted one by one.
    Counted(Counted),
    /// Whichever comes first.
    Any(Vec<Chance>),
    /// Only when all hold.
    All(Vec<Chance>),
    /// Not before a day.
    From(i32, Box<Chance>),
}

impl Chance {
    /// The chance that it is reached by the end of a day.
    ///
    /// ```
    /// use kitlore_planning::Chance;
    /// let either = Chance::Any(vec![Chance::On(9), Chance::Drawn { days: [2, 4].into(), of: 4 }]);
    /// assert_eq!([1, 2, 4, 8, 9].map(|day| either.by(day)), [0.0, 0.25, 0.5, 0.5, 1.0]);
    /// ```
    pub fn by(&self, day: i32) -> f64 {
        match self {
            Chance::On(on) => f64::from(u8::from(*on <= day)),
            Chance::Never => 0.0,
            Chance::Drawn { days, of } => {
                let reached = days.partition_point(|reached| i32::from(*reached) <= day);
                if *of == 0 { 0.0 } else { reached as f64 / f64::from(*of) }
            }
            Chance::Counted(counted) => counted.by(day),
            Chance::Any(parts) => 1.0 - parts.iter().map(|part| 1.0 - part.by(day)).product::<f64>(),
            Chance::All(parts) => parts.iter().map(|part| part.by(day)).product(),
            Chance::From(from, part) => {
                if day < *from {
                    0.0
                } else {
                    part.by(day)
                }
            }
        }
    }

    /// Whichever comes first of some.
    pub(crate) fn any(parts: Vec<Chance>) -> Self {
        Self::joined(parts, Chance::Any)
    }

    /// All of some.
    pub(crate) fn all(parts: Vec<Chance>) -> Self {
        Self::joined(parts, Chance::All)
    }

    fn joined(mut parts: Vec<Chance>, join: fn(Vec<Chance>) -> Chance) -> Self {
        match parts.pop() {
            Some(only) if parts.is_empty() => only,
            last => {
                parts.extend(last);
                join(parts)
            }
        }
    }

    /// The first of the days up to `last` by whose end it is reached with a chance.
    pub fn first(&self, chance: f64, last: i32) -> Option<i32> {
        let reached = |day: i32| self.by(day) >= chance - 1e-12;
        if let Chance::On(day) = self {
            return (*day <= last).then_some(*day);
        }
        if !reached(last) {
            return None;
        }
        let (mut below, mut above) = (-1, last);
        while above - below > 1 {
            let middle = below + (above - below) / 2;
            if reached(middle) { above = middle } else { below = middle }
        }
        Some(above)
    }
}

/// A date as a number of days after another.
pub(crate) fn day_of(from: NaiveDate, date: NaiveDate) -> i32 {
    i32::try_from((date - from).num_days()).unwrap_or(i32::MAX)
}
