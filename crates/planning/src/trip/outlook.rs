//! The outlook for the days of a trip in one copy of the book: what falls due with which chance, and what the
//! trip itself brings.

use super::ask::TripAsk;
use super::find::Found;
use super::snapshot::{Snapshot, TaskKey};
use crate::forecast::{Basis, Forecasts, Options, forecast};
use crate::plan::Plan;
use chrono::NaiveDate;
use kitlore_engine::{Amount, Book, Instant, Row, When};
use kitlore_syntax::tree::AtomKind;
use kitlore_syntax::{Name, key};
use std::collections::{BTreeSet, HashMap, HashSet};

/// What falls due on a trip.
pub(crate) struct Outlook {
    /// The chance of each task of each item to be due by the end of each day, of what comes on the trip.
    chances: HashMap<TaskKey, Vec<f64>>,
    /// What each forecast rests on.
    bases: HashMap<TaskKey, Basis>,
    /// What the trip's own entries bring due, and when.
    pub brought: HashMap<TaskKey, Instant>,
    /// Tasks of which too little use is known.
    pub unforeseen: BTreeSet<String>,
    /// The rows at the end of the trip.
    pub at_end: Snapshot,
}

impl Outlook {
    /// Looks from an instant at the days of a trip.
    pub fn new(book: &Book, from: Instant, found: &Found, days: &[NaiveDate], ask: &TripAsk) -> Self {
        let mut with = book.clone();
        let at_end = Snapshot::of(&mut with, &found.items, found.end);
        let brought = brought(book, found, &at_end);
        let mut outlook = Self {
            chances: HashMap::new(),
            bases: HashMap::new(),
            brought,
            unforeseen: BTreeSet::new(),
            at_end,
        };
        outlook.add_planned(&mut with, found, days);
        let forecasts = forecasts(&mut with, from, found, ask);
        outlook.add_forecasts(&forecasts, found, days, book);
        outlook
    }

    /// What is certain by the end of each day: by its date, or by what is planned.
    fn add_planned(&mut self, book: &mut Book, found: &Found, days: &[NaiveDate]) {
        for (number, day) in days.iter().enumerate() {
            let over = book.program().when_is_over(When::Date(*day));
            let rows = Snapshot::of(book, &found.items, over);
            for row in rows.rows().filter(|row| row.due_at.is_some_and(|due| due <= over)) {
                let key = TaskKey::of(&row);
                // What the end of the trip brings due is no part of what falls due on the way.
                if self.return_date(&key, found, book).is_some() {
                    continue;
                }
                self.raise(key, days.len(), |later| f64::from(later >= number));
            }
        }
    }

    fn add_forecasts(&mut self, forecasts: &Forecasts, found: &Found, days: &[NaiveDate], book: &Book) {
        let items: HashSet<&String> = found.items.iter().collect();
        for (row, standing) in forecasts.with_standings().filter(|(row, _)| items.contains(&row.item)) {
            let key = TaskKey { item: row.item.clone(), task: key(&row.task) };
            let until = self.return_date(&key, found, book).unwrap_or(NaiveDate::MAX);
            // As for what is planned: the last day's chance before the trip's end brings it due stands.
            let last = days.iter().rfind(|day| **day < until);
            let chance = |day: &NaiveDate| last.map_or(0.0, |last| row.chance_by(*day.min(last)));
            let by_day: Vec<f64> = days.iter().map(chance).collect();
            self.raise(key.clone(), days.len(), |day| by_day.get(day).copied().unwrap_or(0.0));
            if !row.enough() && counts_other_use(&standing, found) {
                self.unforeseen.insert(row.task.clone());
            }
            self.bases.insert(key, row.basis.clone());
        }
    }

    fn raise(&mut self, key: TaskKey, days: usize, to: impl Fn(usize) -> f64) {
        let by_day = self.chances.entry(key).or_insert_with(|| vec![0.0; days]);
        for (day, chance) in by_day.iter_mut().enumerate() {
            *chance = chance.max(to(day));
        }
    }

    /// When the trip brings it due, if that is on its last day or later.
    pub fn return_date(&self, key: &TaskKey, found: &Found, book: &Book) -> Option<NaiveDate> {
        let due = self.brought.get(key).map(|due| book.program().local(*due).date_naive());
        due.filter(|due| *due >= found.to)
    }

    /// The chance by the end of each day; empty if it is none.
    pub fn by_day(&self, key: &TaskKey) -> &[f64] {
        self.chances.get(key).map_or(&[], Vec::as_slice)
    }

    /// The chance by the end of the last day.
    pub fn by_end(&self, key: &TaskKey) -> f64 {
        self.by_day(key).last().copied().unwrap_or(0.0)
    }

    /// What a forecast rests on.
    pub fn basis(&self, key: &TaskKey) -> Option<&Basis> {
        self.bases.get(key)
    }
}

/// Whether a row counts anything but what the trip's own entries are.
fn counts_other_use(row: &Row<'_>, found: &Found) -> bool {
    let is_own = |name: &Name| found.plans.iter().any(|plan| key(&plan.event) == name.key);
    row.rules()
        .flat_map(|account| account.rule.rule.trigger.atoms())
        .any(|atom| matches!(&atom.kind, AtomKind::Usage { name, .. } if !is_own(name)))
}

/// Forecasts to the end of the trip. What its own entries are is known: no more of that comes while it lasts.
fn forecasts(book: &mut Book, from: Instant, found: &Found, ask: &TripAsk) -> Forecasts {
    let first = book.program().local(from).date_naive();
    let days = u32::try_from((found.to - first).num_days()).unwrap_or(0);
    let mut events: Vec<(String, Amount)> = Vec::new();
    for plan in &found.plans {
        if !events.iter().any(|(known, _)| *known == plan.event) {
            events.push((plan.event.clone(), Amount::ZERO));
        }
    }
    let plan = Plan {
        from: found.from,
        to: found.to,
        items: found.items.clone(),
        conditions: Vec::new(),
        expect: events,
    };
    let options = Options { days, seed: ask.seed, plans: vec![plan], ..Options::default() };
    forecast(book, from, &options)
}

/// What the trip's own entries bring due: as things stand at its end, beside a book without them.
fn brought(book: &Book, found: &Found, at_end: &Snapshot) -> HashMap<TaskKey, Instant> {
    let mut without = book.clone();
    for plan in &found.plans {
        without.take_out(plan);
    }
    let without = Snapshot::of(&mut without, &found.items, found.end);
    let mut brought = HashMap::new();
    for row in at_end.rows() {
        let key = TaskKey::of(&row);
        let else_at = without.row(&key).and_then(|row| row.due_at);
        if let Some(due) = row.due_at.filter(|due| else_at.is_none_or(|else_at| else_at > *due)) {
            brought.insert(key, due);
        }
    }
    brought
}
