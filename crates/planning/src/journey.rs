//! Which trip is meant: a planned entry of the log, or one that is only described.

use crate::near;
use crate::trip_answer::DailyUse;
use chrono::{NaiveDate, NaiveTime};
use kitlore_engine::{Book, Entry, Instant, Planned, Problem, When, parse_expect};
use kitlore_words::did_you_mean;
use std::collections::BTreeSet;

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
        did_you_mean(.meant.as_deref())
    )]
    Nobody {
        /// What the trip is for.
        item: String,
        /// The name of the inventory that was probably meant.
        meant: Option<String>,
    },
    /// An entry made of the description cannot be used.
    #[error("{}", .0.message)]
    Refused(Problem),
}

fn planned(known: &[String]) -> String {
    if known.is_empty() {
        return "the log has no plan with a ref; record one, or describe the trip".to_owned();
    }
    format!("planned are {}", known.iter().map(|known| format!("`{known}`")).collect::<Vec<_>>().join(", "))
}

/// 0001-01-01, in seconds since 1970.
const YEAR_ONE: i64 = -62_135_596_800;

/// The longest trip, in days.
const LONGEST: i64 = 366;

/// A trip found: a copy of the book that has it, its entries, and its items.
pub(crate) struct Found {
    pub book: Book,
    pub name: String,
    pub plans: Vec<Planned>,
    pub begin: Instant,
    pub end: Instant,
    pub from: NaiveDate,
    pub to: NaiveDate,
    pub items: Vec<String>,
}

/// Finds a trip in a book, or puts it into a copy of the book.
pub(crate) fn find(book: &Book, at: Instant, ask: &TripAsk) -> Result<Found, TripError> {
    let mut book = book.clone();
    let expect: Vec<String> =
        ask.expect.iter().map(|uses| format!("{} {}", uses.event, uses.a_day)).collect();
    let expect = expect.join("; ");
    let (name, plans) = match &ask.journey {
        Journey::Logged(asked) => {
            let plans = logged(&mut book, at, asked.trim())?;
            let plans = if expect.is_empty() { plans } else { replaced(&mut book, at, &plans, &expect)? };
            (asked.trim().to_owned(), plans)
        }
        Journey::Described { event, from, to, item, conditions } => {
            if to < from {
                return Err(TripError::Backwards { from: *from, to: *to });
            }
            let mut entry = Entry::new(from, event.as_str()).until(to).item(item.as_str()).expect(expect);
            for condition in conditions {
                entry = entry.condition(condition);
            }
            (event.clone(), recorded(&mut book, at, [entry])?)
        }
    };
    let (Some(begin), Some(end)) =
        (plans.iter().map(|plan| plan.begin).min(), plans.iter().map(|plan| plan.end).max())
    else {
        let Journey::Described { event, to, .. } = &ask.journey else {
            return Err(TripError::Unknown { asked: name, known: Vec::new() });
        };
        return Err(TripError::Over { asked: event.clone(), to: *to });
    };
    let date = |at: Instant| book.program().local(at).date_naive();
    let (from, to) = (date(begin), date(end));
    let days = (to - from).num_days() + 1;
    if days > LONGEST {
        return Err(TripError::Long { days, limit: LONGEST });
    }
    let gone = |retired: Option<NaiveDate>| retired.is_some_and(|retired| retired <= from);
    let items: BTreeSet<String> = plans
        .iter()
        .flat_map(|plan| book.members(&plan.item))
        .filter(|item| !gone(item.retired))
        .map(|item| item.id.clone())
        .collect();
    if items.is_empty() {
        let item = plans.first().map(|plan| plan.item.clone()).unwrap_or_default();
        let meant = near::member(&book, &item);
        return Err(TripError::Nobody { item, meant });
    }
    Ok(Found { name, plans, begin, end, from, to, items: items.into_iter().collect(), book })
}

/// Records entries and says which plans that makes.
fn recorded(
    book: &mut Book,
    at: Instant,
    entries: impl IntoIterator<Item = Entry>,
) -> Result<Vec<Planned>, TripError> {
    let known = book.plans(at);
    for entry in entries {
        book.record(entry).map_err(TripError::Refused)?;
    }
    Ok(book.plans(at).into_iter().filter(|plan| !known.contains(plan)).collect())
}

/// The same plans with another expectation. Each item gets it once: from the longest plan it is in.
fn replaced(
    book: &mut Book,
    at: Instant,
    plans: &[Planned],
    expect: &str,
) -> Result<Vec<Planned>, TripError> {
    let mut entries = Vec::new();
    let mut expecting = BTreeSet::new();
    let mut longest: Vec<&Planned> = plans.iter().collect();
    longest.sort_by_key(|plan| plan.from - plan.to);
    for plan in longest {
        let members: BTreeSet<String> =
            book.members(&plan.item).into_iter().map(|item| item.id.clone()).collect();
        let expect = if members.is_disjoint(&expecting) { expect } else { "" };
        expecting.extend(members);
        book.take_out(plan);
        let rules = book.program();
        let whole_days = rules.when_is_over(When::Date(plan.to)) == plan.end
            && rules.local(plan.begin).time() == NaiveTime::MIN;
        let times = match whole_days {
            true => [plan.from.to_string(), plan.to.to_string()],
            false => [plan.begin, plan.end].map(|at| rules.local(at).to_rfc3339()),
        };
        let [when, until] = times;
        let mut entry =
            Entry::new(when, plan.event.as_str()).until(until).item(plan.item.as_str()).expect(expect);
        for condition in &plan.conditions {
            entry = entry.condition(condition);
        }
        if let Some(reference) = &plan.reference {
            entry = entry.reference(reference);
        }
        if let Some(place) = &plan.place {
            entry = entry.at(place.clone());
        }
        entries.push(entry);
    }
    recorded(book, at, entries)
}

/// The planned entries with a ref; or the one of a line, and those that share its ref.
fn logged(book: &mut Book, at: Instant, asked: &str) -> Result<Vec<Planned>, TripError> {
    let all = book.plans(at);
    if let Some(found) = chosen(&all, asked) {
        return Ok(found);
    }
    let beginning = Instant { seconds: YEAR_ONE, nanos: 0 };
    if let Some(to) = chosen(&book.plans(beginning), asked).iter().flatten().map(|plan| plan.to).max() {
        return Err(TripError::Over { asked: asked.to_owned(), to });
    }
    let known: BTreeSet<String> = all.into_iter().filter_map(|plan| plan.reference).collect();
    Err(TripError::Unknown { asked: asked.to_owned(), known: known.into_iter().collect() })
}

fn chosen(plans: &[Planned], asked: &str) -> Option<Vec<Planned>> {
    let of_ref = |reference: &str| -> Vec<Planned> {
        plans.iter().filter(|plan| plan.reference.as_deref() == Some(reference)).cloned().collect()
    };
    let by_ref = of_ref(asked);
    if !by_ref.is_empty() {
        return Some(by_ref);
    }
    // `0147` is a ref and no line.
    let line: u32 = asked.parse().ok().filter(|line: &u32| line.to_string() == asked)?;
    let plan = plans.iter().find(|plan| plan.place.as_ref().is_some_and(|place| place.line == line))?;
    Some(plan.reference.as_deref().map_or_else(|| vec![plan.clone()], of_ref))
}
