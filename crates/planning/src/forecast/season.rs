//! Seasons: how much more or less a kind of item is used at some time of the year.

use chrono::{Datelike, Days, NaiveDate};

/// How many parts a year has here: four weeks each, the last a day or two longer.
const PARTS: usize = 13;

/// A share of the average below which no part of the year falls: a season that was idle is never quite dead.
const LEAST: f64 = 0.02;

/// How much use each part of the year brings, 1 on average.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Season {
    parts: [f64; PARTS],
    flat: bool,
}

impl Default for Season {
    fn default() -> Self {
        Self { parts: [1.0; PARTS], flat: true }
    }
}

fn part(date: NaiveDate) -> usize {
    (date.ordinal0() as usize / 28).min(PARTS - 1)
}

impl Season {
    /// From what an item was used on average in each of the weeks before a date, the latest first. With less
    /// than a year of them there is no saying. What may be mere chance is taken back: a part of the year keeps
    /// of its difference from the average the share that exceeds chance, as the weeks of one part differ.
    pub fn of(weeks: &[f64], before: NaiveDate) -> Self {
        let whole_years = weeks.len() / 52 * 52;
        let Some(weeks) = weeks.get(..whole_years).filter(|weeks| !weeks.is_empty()) else {
            return Self::default();
        };
        let mut sums = [(0.0, 0.0, 0.0_f64); PARTS];
        for (number, used) in weeks.iter().enumerate() {
            let Some(date) = week_date(before, number) else { return Self::default() };
            if let Some((count, sum, squares)) = sums.get_mut(part(date)) {
                *count += 1.0;
                *sum += used;
                *squares += used * used;
            }
        }
        let mean = weeks.iter().sum::<f64>() / weeks.len() as f64;
        if mean <= 0.0 || sums.iter().any(|(count, ..)| *count < 2.0) {
            return Self::default();
        }
        // Variance within parts, and of their means beyond that.
        let within = sums.iter().map(|(count, sum, squares)| squares - sum * sum / count).sum::<f64>()
            / (weeks.len() - PARTS) as f64;
        let between = sums.iter().map(|(count, sum, _)| (sum / count - mean).powi(2)).sum::<f64>() / 12.0;
        let chance = sums.iter().map(|(count, ..)| within / count).sum::<f64>() / PARTS as f64;
        // The differences of 13 parts vary by themselves: a third of the noise more is still noise.
        let real = (between - chance * 1.7).max(0.0);
        if real == 0.0 {
            return Self::default();
        }
        let share = real / (real + chance);
        let mut parts = sums.map(|(count, sum, _)| (1.0 + (sum / count / mean - 1.0) * share).max(LEAST));
        let average = parts.iter().sum::<f64>() / PARTS as f64;
        parts.iter_mut().for_each(|part| *part /= average);
        Self { parts, flat: false }
    }

    /// Whether no part of the year differs.
    pub fn is_flat(&self) -> bool {
        self.flat
    }

    /// How much use a date brings, 1 on average.
    pub fn on(&self, date: NaiveDate) -> f64 {
        self.parts.get(part(date)).copied().unwrap_or(1.0)
    }

    /// How much use each of the weeks before a date brought, in average weeks; the latest first.
    pub fn past(&self, before: NaiveDate, weeks: usize) -> Vec<f64> {
        (0..weeks).map(|week| week_date(before, week).map_or(1.0, |date| self.on(date))).collect()
    }
}

/// The middle of a week before a date; 0 is the last.
fn week_date(before: NaiveDate, week: usize) -> Option<NaiveDate> {
    before.checked_sub_days(Days::new(week as u64 * 7 + 3))
}
