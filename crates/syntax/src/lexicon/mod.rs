//! Words with a meaning of their own: numbers, units and lengths of time, months and days.

mod calendar;
mod lengths;
mod numbers;
mod synonyms;
mod units;
mod work;

pub(crate) use calendar::{month_named, month_of, weekday_of};
pub(crate) use lengths::{adverb, length, season, times_in};
pub(crate) use numbers::{in_words, number_of, ordinal};
pub(crate) use synonyms::{NEEDLESS, NEEDLESS_AT_END, NEEDLESS_BEFORE_NUMBERS, SYNONYMS};
pub(crate) use units::{clock_unit_meant, like_a_unit, meant_unit, unit_of};
pub(crate) use work::is_work;
