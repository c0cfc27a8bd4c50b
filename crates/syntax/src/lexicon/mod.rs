//! Words with a meaning of their own: numbers, units and lengths of time, months and days.

mod calendar;
mod lengths;
mod numbers;
mod units;

pub(crate) use calendar::{month_named, month_of, weekday_of};
pub(crate) use lengths::{adverb, length, season, times_in, units};
pub(crate) use numbers::{in_words, number_of, ordinal};
pub(crate) use units::{like_a_unit, meant_unit, unit_of};
