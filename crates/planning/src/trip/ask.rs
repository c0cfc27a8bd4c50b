//! What is asked of a trip, and why it may not be answered.

use super::answer::DailyUse;
use chrono::NaiveDate;
use kitlore_engine::{Problem, parse_expect};

/// Which trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Journey {
    /// One in the log: the ref of its planned entries, or the line of one of them. All entries with that ref
    /// belong to it.
    Logged(String),
    /// One that is not in the log.
    Described {
        /// What it is: `trip`, unless the house has another word.
        event: String,
        /// Its first day.
        from: NaiveDate,
        /// Its last day.
        to: NaiveDate,
        /// For what: an item's id, a kit, a model or a kind.
        item: String,
        /// Under which conditions.
        conditions: Vec<String>,
    },
}

/// A question about a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct TripAsk {
    /// Which trip.
    pub journey: Journey,
    /// The use expected of each of its items, a day; if empty, what its entries say themselves.
    pub expect: Vec<DailyUse>,
    /// What falls due by its end with at least this chance is to be done before, where that helps.
    pub do_before: f64,
    /// What falls due on the way with less than this chance is not mentioned and not packed for.
    pub mention: f64,
    /// The seed of what is drawn by lot.
    pub seed: u64,
}

impl TripAsk {
    /// A question with the usual bounds: what is as likely as not (50 %) is done before, what has one chance
    /// in ten is packed for.
    ///
    /// ```
    /// use kitlore_planning::{Journey, TripAsk};
    /// let ask = TripAsk::new(Journey::Logged("T7".to_owned()));
    /// assert_eq!((ask.do_before, ask.mention), (0.5, 0.1));
    /// ```
    pub fn new(journey: Journey) -> Self {
        Self { journey, expect: Vec::new(), do_before: 0.5, mention: 0.1, seed: 0 }
    }

    /// The same question with the use expected of each item, a day: `lens change 15; frames 800`.
    ///
    /// # Errors
    /// What is wrong with the text: see [`parse_expect`].
    pub fn expecting(mut self, text: &str) -> Result<Self, String> {
        let uses = parse_expect(text)?.into_iter();
        self.expect = uses.map(|(event, a_day)| DailyUse { event: event.to_owned(), a_day }).collect();
        Ok(self)
    }
}

/// Why a trip cannot be looked at.
#[derive(Debug, thiserror::Error)]
pub enum TripError {
    /// No planned entry has that ref or line.
    #[error("no planned entry has the ref or the line `{asked}`; {}", planned(.known))]
    Unknown {
        /// What was asked for.
        asked: String,
        /// The refs of what is planned.
        known: Vec<String>,
    },
    /// It lies behind.
    #[error("`{asked}` was over on {to}; a trip is looked at before its end, so give an earlier `at`")]
    Over {
        /// What was asked for.
        asked: String,
        /// Its last day.
        to: NaiveDate,
    },
    /// It ends before it begins.
    #[error("this trip ends ({to}) before it begins ({from})")]
    Backwards {
        /// Its first day.
        from: NaiveDate,
        /// Its last day.
        to: NaiveDate,
    },
    /// It goes on for longer than is looked at.
    #[error("this trip lasts {days} days; up to {limit} are looked at, so give its parts one by one")]
    Long {
        /// How many days it has.
        days: i64,
        /// How many are looked at.
        limit: i64,
    },
    /// Nothing in the inventory goes on it.
    #[error(
        "no item, kit, model or kind is called `{item}`{}; write one of the inventory, or put the kit into its `kit` column",
        did_you_mean(.meant)
    )]
    Nobody {
        /// What the trip is for.
        item: String,
        /// The name of the inventory that was probably meant.
        meant: Option<String>,
    },
    /// An entry made of the description cannot be used.
    #[error("{}", .0.message())]
    Refused(Problem),
}

fn planned(known: &[String]) -> String {
    if known.is_empty() {
        return "the log has no plan with a ref; record one, or describe the trip".to_owned();
    }
    format!("planned are {}", known.iter().map(|known| format!("`{known}`")).collect::<Vec<_>>().join(", "))
}

fn did_you_mean(meant: &Option<String>) -> String {
    meant.as_ref().map_or_else(String::new, |meant| format!(" (did you mean `{meant}`?)"))
}
