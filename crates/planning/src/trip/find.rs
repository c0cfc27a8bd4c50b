//! The trip that is meant: its entries in the log, or one that is only described.

use super::ask::{Journey, TripAsk, TripError};
use super::near;
use chrono::{NaiveDate, NaiveTime};
use kitlore_engine::{Book, Entry, Instant, Item, Planned, When};
use std::collections::{BTreeSet, HashMap, HashSet};
use std::rc::Rc;

/// 0001-01-01, in seconds since 1970.
const YEAR_ONE: i64 = -62_135_596_800;

/// The longest trip, in days.
const LONGEST: i64 = 366;

/// A trip found: a copy of the book that has it, its entries, and its items.
pub(crate) struct FoundTrip {
    pub book: Book,
    pub name: String,
    pub plans: Vec<Planned>,
    pub begin: Instant,
    pub end: Instant,
    pub from: NaiveDate,
    pub to: NaiveDate,
    /// Ids, in order.
    pub items: Vec<String>,
}

/// Finds a trip in a book, or puts it into a copy of the book.
pub(crate) fn find(book: &Book, at: Instant, ask: &TripAsk) -> Result<FoundTrip, TripError> {
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
    let is_there = |item: &&Item| item.retired.is_none_or(|retired| retired > from);
    let members = members(&book, &plans);
    let items = members.iter().flat_map(|members| members.iter()).copied().filter(is_there);
    let items: BTreeSet<String> = items.map(|item| item.id.clone()).collect();
    if items.is_empty() {
        let item = plans.first().map(|plan| plan.item.clone()).unwrap_or_default();
        let meant = near::member(&book, &item);
        return Err(TripError::Nobody { item, meant });
    }
    Ok(FoundTrip { name, plans, begin, end, from, to, items: items.into_iter().collect(), book })
}

/// The items of each of some plans. Names are looked up once for the same dates, so that it takes no longer where
/// every item has a plan of its own.
fn members<'b>(book: &'b Book, plans: &[Planned]) -> Vec<Rc<[&'b Item]>> {
    let ids: HashMap<&str, &Item> = book.items().map(|item| (item.id.as_str(), item)).collect();
    let mut known: HashMap<(&str, NaiveDate, NaiveDate), Rc<[&Item]>> = HashMap::new();
    let items_of = |plan: &Planned| -> Rc<[&'b Item]> {
        match ids.get(plan.item.trim()) {
            Some(item) => Rc::from([*item]),
            None => book.members_on(plan).into(),
        }
    };
    plans
        .iter()
        .map(|plan| known.entry((&plan.item, plan.from, plan.to)).or_insert_with(|| items_of(plan)).clone())
        .collect()
}

/// Records entries and says which plans that makes.
fn recorded(
    book: &mut Book,
    at: Instant,
    entries: impl IntoIterator<Item = Entry>,
) -> Result<Vec<Planned>, TripError> {
    let before = book.plans(at);
    for entry in entries {
        book.record(entry).map_err(TripError::Refused)?;
    }
    let mut known: HashMap<(Instant, &str), Vec<&Planned>> = HashMap::new();
    for plan in &before {
        known.entry((plan.begin, &plan.item)).or_default().push(plan);
    }
    let is_new = |plan: &Planned| {
        known.get(&(plan.begin, plan.item.as_str())).is_none_or(|alike| !alike.contains(&plan))
    };
    Ok(book.plans(at).into_iter().filter(is_new).collect())
}

/// The same plans with another expectation. Each item gets it once: from the longest plan it is in.
fn replaced(
    book: &mut Book,
    at: Instant,
    plans: &[Planned],
    expect: &str,
) -> Result<Vec<Planned>, TripError> {
    let mut entries = Vec::new();
    let mut expecting: HashSet<String> = HashSet::new();
    let members: Vec<Vec<String>> = members(book, plans)
        .into_iter()
        .map(|members| members.iter().map(|item| item.id.clone()).collect())
        .collect();
    let mut longest: Vec<(&Planned, Vec<String>)> = plans.iter().zip(members).collect();
    longest.sort_by_key(|(plan, _)| plan.from - plan.to);
    for (plan, members) in longest {
        let expected = members.iter().any(|item| expecting.contains(item));
        let expect = if expected { "" } else { expect };
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
