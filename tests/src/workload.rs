//! A seeded workload for figures of speed, and a loop written by hand for its six rules.
//!
//! Shape: a hire house's items (cameras 20 %, lenses 40 %, batteries 30 %, tripods 10 %), entries in time order
//! over two and a half years, about 3 % of them completions that fit the item's kind.

use crate::rng::Rng;
use chrono::{DateTime, Days, NaiveDate};
use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Amounts, Codes, Keys, Lines, Ticks, Times};
use kitlore_engine::{Book, Item, Program, Standing, When};
use std::io::Write;
use std::num::NonZeroUsize;

/// The six rules.
pub const RULES: &str = "\
for cameras
  after 20 lens changes in dust or 90 days, inspect sensor
  after 50,000 frames or 24 months, clean sensor
  after 10 shoots, inspect strap
for lenses
  after 40 shoots or 60 days, inspect glass
for batteries
  after 300 charges or 12 months, replace battery
for tripods
  after 5 shoots in salt air, inspect glass
";

/// The names of the events, by their number in [`Columns::event`]; completions from 4 on.
pub const EVENTS: [&str; 9] = [
    "lens change",
    "frames",
    "shoot",
    "charge",
    "inspect sensor",
    "clean sensor",
    "inspect glass",
    "replace battery",
    "inspect strap",
];
/// The conditions, by their number in [`Columns::conditions`].
pub const CONDITIONS: [&str; 4] = ["", "dust", "salt air", "dust;cold"];

/// An item's kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// 2 of 10 items.
    Camera,
    /// 4 of 10.
    Lens,
    /// 3 of 10.
    Battery,
    /// 1 of 10.
    Tripod,
}

impl Kind {
    fn of(item: usize) -> Self {
        match item % 10 {
            0 | 1 => Kind::Camera,
            2..=5 => Kind::Lens,
            6..=8 => Kind::Battery,
            _ => Kind::Tripod,
        }
    }

    fn name(self) -> &'static str {
        match self {
            Kind::Camera => "camera",
            Kind::Lens => "lens",
            Kind::Battery => "battery",
            Kind::Tripod => "tripod",
        }
    }

    fn uses(self) -> &'static [u8] {
        match self {
            Kind::Camera => &[0, 1, 2],
            Kind::Battery => &[3],
            Kind::Lens | Kind::Tripod => &[2],
        }
    }

    fn completions(self) -> &'static [u8] {
        match self {
            Kind::Camera => &[4, 5, 8],
            Kind::Battery => &[7],
            Kind::Lens | Kind::Tripod => &[6],
        }
    }
}

/// The entries as plain columns.
#[derive(Debug, Default)]
pub struct Columns {
    /// Seconds since 1970, rising.
    pub when: Vec<i64>,
    /// Item number.
    pub item: Vec<u32>,
    /// See [`EVENTS`].
    pub event: Vec<u8>,
    /// Whole amounts.
    pub amount: Vec<i64>,
    /// See [`CONDITIONS`].
    pub conditions: Vec<u8>,
}

/// Items and entries.
#[derive(Debug)]
pub struct Workload {
    /// Kind and date received of every item.
    pub items: Vec<(Kind, NaiveDate)>,
    /// The entries.
    pub entries: Columns,
}

fn day(year: i32, month: u32, day: u32) -> NaiveDate {
    NaiveDate::from_ymd_opt(year, month, day).unwrap()
}

fn seconds(date: NaiveDate) -> i64 {
    date.and_hms_opt(0, 0, 0).unwrap().and_utc().timestamp()
}

/// The end of 2026-07-01, when the workload's question is asked.
pub fn asked_at(rules: &Program) -> kitlore_engine::Instant {
    rules.when_is_over(When::Date(day(2026, 7, 1)))
}

impl Workload {
    /// A workload of so many items and entries; the same seed gives the same one.
    pub fn new(items: usize, entries: usize, seed: u64) -> Self {
        let mut random = Rng::new(seed);
        let mut below = |bound: u64| random.range(0, bound as i64 - 1) as u64;
        let items: Vec<_> =
            (0..items).map(|item| (Kind::of(item), day(2023, 1, 1) + Days::new(below(731)))).collect();
        let (from, to) = (seconds(day(2024, 1, 1)), seconds(day(2026, 7, 1)));
        let span = u64::try_from(to - from).unwrap();
        let mut when: Vec<i64> = (0..entries).map(|_| from + i64::try_from(below(span)).unwrap()).collect();
        when.sort_unstable();
        let mut columns = Columns { when, ..Columns::default() };
        // No item has two entries of one second, so that their order hangs on the times alone.
        let mut latest = vec![from - 1; items.len()];
        for row in 0..entries {
            let item = loop {
                let item = below(items.len() as u64) as usize;
                if latest[item] != columns.when[row] {
                    latest[item] = columns.when[row];
                    break item;
                }
            };
            let kind = items[item].0;
            let events = if below(100) < 3 { kind.completions() } else { kind.uses() };
            let event = events[below(events.len() as u64) as usize];
            columns.item.push(u32::try_from(item).unwrap());
            columns.event.push(event);
            columns.amount.push(if event == 1 { 1 + below(800) as i64 } else { 1 });
            columns.conditions.push(if event < 4 { below(4) as u8 } else { 0 });
        }
        Self { items, entries: columns }
    }

    /// The id of an item.
    pub fn id(item: usize) -> String {
        format!("K{item:07}")
    }

    /// A book with all of it, filed by one thread.
    pub fn book(&self, rules: &Program) -> Book {
        self.book_on(rules, NonZeroUsize::MIN)
    }

    /// A book with all of it, filed by some threads.
    pub fn book_on(&self, rules: &Program, threads: NonZeroUsize) -> Book {
        let mut book = Book::new(rules);
        for (number, (kind, received)) in self.items.iter().enumerate() {
            book.add_item(Item::new(Self::id(number), kind.name()).received(*received)).unwrap();
        }
        let items: Vec<_> = (0..self.items.len()).map(|item| Some(book.item_key(&Self::id(item)))).collect();
        let events = EVENTS.map(|event| Some(book.event_key(event)));
        let conditions = CONDITIONS.map(|conditions| Some(book.conditions_key(conditions)));
        let columns = &self.entries;
        let when = Times::Instants(Ticks::Seconds(&columns.when));
        let entries = Batch {
            item: Keys::Coded(Codes::U32(&columns.item), &items),
            amount: Amounts::Whole(&columns.amount),
            conditions: Keys::Coded(Codes::U8(&columns.conditions), &conditions),
            place: Some((book.source("workload"), Lines::From(2))),
            ..Batch::new(when, Keys::Coded(Codes::U8(&columns.event), &events))
        };
        let refused = book.record_batches(&[entries], threads);
        assert!(refused.is_empty(), "the workload has no entry that cannot be used");
        book
    }

    /// The inventory as csv.
    pub fn write_items(&self, mut out: impl Write) -> std::io::Result<()> {
        writeln!(out, "id,kind,received")?;
        for (number, (kind, received)) in self.items.iter().enumerate() {
            writeln!(out, "{},{},{received}", Self::id(number), kind.name())?;
        }
        Ok(())
    }

    /// The log as csv.
    pub fn write_log(&self, mut out: impl Write) -> std::io::Result<()> {
        writeln!(out, "when,item,event,amount,in")?;
        self.each(|when, item, event, amount, conditions| {
            writeln!(out, "{when},K{item:07},{event},{amount},{conditions}")
        })
    }

    /// The log as jsonl.
    pub fn write_log_jsonl(&self, mut out: impl Write) -> std::io::Result<()> {
        self.each(|when, item, event, amount, conditions| {
            write!(out, "{{\"when\": \"{when}\", \"item\": \"K{item:07}\", \"event\": \"{event}\", \"amount\": {amount}")?;
            if !conditions.is_empty() {
                write!(out, ", \"in\": \"{conditions}\"")?;
            }
            writeln!(out, "}}")
        })
    }

    /// Every entry as text: when, item number, event, amount, conditions.
    fn each(
        &self,
        mut write: impl FnMut(&str, u32, &str, i64, &str) -> std::io::Result<()>,
    ) -> std::io::Result<()> {
        let columns = &self.entries;
        for row in 0..columns.when.len() {
            let when = DateTime::from_timestamp(columns.when[row], 0).unwrap();
            write(
                &when.format("%Y-%m-%dT%H:%M:%SZ").to_string(),
                columns.item[row],
                EVENTS[columns.event[row] as usize],
                columns.amount[row],
                CONDITIONS[columns.conditions[row] as usize],
            )?;
        }
        Ok(())
    }
}

/// One answer: item number, task, standing, due second, second last done.
pub type Answer<T> = (u32, T, Standing, Option<i64>, Option<i64>);

/// One sum with its threshold, and the task's last completion.
#[derive(Clone, Copy, Default)]
struct Sum {
    count: i64,
    reached: Option<i64>,
    done: Option<i64>,
}

impl Sum {
    #[inline]
    fn add(&mut self, amount: i64, threshold: i64, when: i64) {
        self.count += amount;
        if self.reached.is_none() && self.count >= threshold {
            self.reached = Some(when);
        }
    }

    #[inline]
    fn done(&mut self, when: i64) {
        *self = Self { done: Some(when), ..Self::default() };
    }
}

/// The six rules as one would write them by hand for just this workload, in UTC: one pass over the columns.
pub fn by_hand(workload: &Workload, at: i64) -> Vec<Answer<&'static str>> {
    // Up to three sums an item: cameras have three tasks, all others one.
    let mut sums = vec![[Sum::default(); 3]; workload.items.len()];
    let columns = &workload.entries;
    let rows = columns.when.len();
    let (item, event, amount, conditions) =
        (&columns.item[..rows], &columns.event[..rows], &columns.amount[..rows], &columns.conditions[..rows]);
    for row in 0..rows {
        let when = columns.when[row];
        if when > at {
            break;
        }
        let number = item[row] as usize;
        let sum = &mut sums[number];
        match event[row] {
            0 if conditions[row] == 1 || conditions[row] == 3 => sum[0].add(amount[row], 20, when),
            1 => sum[1].add(amount[row], 50_000, when),
            2 => match workload.items[number].0 {
                Kind::Camera => sum[2].add(amount[row], 10, when),
                Kind::Lens => sum[0].add(amount[row], 40, when),
                Kind::Tripod if conditions[row] == 2 => sum[0].add(amount[row], 5, when),
                _ => {}
            },
            3 => sum[0].add(amount[row], 300, when),
            4 | 6 | 7 => sum[0].done(when),
            5 => sum[1].done(when),
            8 => sum[2].done(when),
            _ => {}
        }
    }
    let mut answers = Vec::new();
    for (number, (kind, received)) in workload.items.iter().enumerate() {
        let sums = &sums[number];
        let mut answer = |task, sum: &Sum, interval: Option<(u64, u32)>| {
            let from =
                sum.done.map_or(*received, |done| DateTime::from_timestamp(done, 0).unwrap().date_naive());
            let date = interval.map(|(days, months)| {
                from.checked_add_months(chrono::Months::new(months)).unwrap() + Days::new(days)
            });
            let due = sum.reached.into_iter().chain(date.map(seconds)).min();
            let standing = match due {
                Some(due) if due - due.rem_euclid(86_400) + 86_400 <= at => Standing::Overdue,
                Some(due) if due <= at => Standing::Due,
                _ => Standing::Clear,
            };
            answers.push((number as u32, task, standing, due, sum.done));
        };
        match kind {
            Kind::Camera => {
                answer("clean sensor", &sums[1], Some((0, 24)));
                answer("inspect sensor", &sums[0], Some((90, 0)));
                answer("inspect strap", &sums[2], None);
            }
            Kind::Lens => answer("inspect glass", &sums[0], Some((60, 0))),
            Kind::Battery => answer("replace battery", &sums[0], Some((0, 12))),
            Kind::Tripod => answer("inspect glass", &sums[0], None),
        }
    }
    answers
}

/// The engine's answers in the same form.
pub fn answers(standings: &kitlore_engine::Standings) -> Vec<Answer<String>> {
    let second = |at: Option<kitlore_engine::Instant>| at.map(|at| at.seconds);
    standings
        .rows()
        .map(|row| {
            let item = row.item.trim_start_matches('K').parse().unwrap();
            (item, row.task.to_owned(), row.standing, second(row.due_at), second(row.last_done))
        })
        .collect()
}

/// The answers of [`by_hand`] in the form of [`answers`].
pub fn expected(workload: &Workload, at: i64) -> Vec<Answer<String>> {
    let owned =
        |(item, task, standing, due, done): Answer<&str>| (item, task.to_owned(), standing, due, done);
    by_hand(workload, at).into_iter().map(owned).collect()
}
