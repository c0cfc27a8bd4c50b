//! The time ahead as use measures it: an average week counts one, a quiet week less, a day that is planned nothing.

use super::season::Season;
use chrono::NaiveDate;

/// How much use the days ahead bring, added up, in average weeks.
#[derive(Debug, Clone)]
pub(crate) struct UseClock {
    by_day: Vec<f64>,
    flat: bool,
}

impl UseClock {
    /// The days after a date; those for which `planned` holds bring nothing of their own.
    pub fn new(season: &Season, from: NaiveDate, days: u32, planned: impl Fn(NaiveDate) -> bool) -> Self {
        let mut sum = 0.0;
        let mut by_day = vec![0.0];
        let mut flat = season.is_flat();
        for date in from.iter_days().skip(1).take(days as usize) {
            let free = !planned(date);
            flat &= free;
            sum += if free { season.on(date) / 7.0 } else { 0.0 };
            by_day.push(sum);
        }
        Self { by_day, flat }
    }

    /// What has come by the end of a day.
    pub fn by(&self, day: i32) -> f64 {
        at_day(&self.by_day, day)
    }

    /// What the whole time brings.
    pub fn whole(&self) -> f64 {
        self.by_day.last().copied().unwrap_or(0.0)
    }

    /// The first day by whose end so much has come.
    pub fn day(&self, time: f64) -> Option<usize> {
        let day = if self.flat {
            (time * 7.0 - 1e-9).ceil().max(0.0) as usize
        } else {
            self.by_day.partition_point(|sum| *sum < time - 1e-9)
        };
        (day < self.by_day.len()).then_some(day)
    }
}

/// The value of a day, of the last one for later days; 0 before the first.
pub(crate) fn at_day(values: &[f64], day: i32) -> f64 {
    let Ok(day) = usize::try_from(day) else { return 0.0 };
    values.get(day).or(values.last()).copied().unwrap_or(0.0)
}
