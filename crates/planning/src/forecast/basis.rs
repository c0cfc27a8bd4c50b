//! What a forecast rests on, as values.

use chrono::NaiveDate;

/// What a forecast rests on.
#[derive(Debug, Clone, PartialEq)]
pub enum Basis {
    /// It is due already.
    Due,
    /// Its date is certain.
    Date,
    /// It depends on what is found, read or planned, and on no use that is counted.
    NoUse,
    /// Use so far; nothing where too little is known of all of it.
    Use(Vec<KnownUse>),
}

/// What is known of one use of an item.
#[derive(Debug, Clone, PartialEq)]
pub struct KnownUse {
    /// What is counted, as the rule has it: `lens changes in dust`.
    pub counted: String,
    /// How much of it the item had.
    pub own: f64,
    /// In how many weeks; 0 of an item of which no time is known: it has neither a date nor an entry.
    pub weeks: f64,
    /// How many other items of its kind are learnt from.
    pub others: usize,
    /// More of it comes at some times of the year than at others.
    pub by_season: bool,
    /// The first and last day of each plan that says how much of it is to come.
    pub plans: Vec<(NaiveDate, NaiveDate)>,
}
