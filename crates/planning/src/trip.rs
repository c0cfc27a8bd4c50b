//! What a trip needs: asked of a copy of the book, in which it is planned and then comes to pass.

use crate::carriage;
use crate::journey::{Found, TripAsk, TripError, find};
use crate::outlook::Outlook;
use crate::packing::{Stay, follow_ups, pack};
use crate::rows::{Snapshot, TaskKey, complete, task};
use crate::stock;
use crate::trip_answer::{
    BeforeTask, ChanceBy, DailyUse, HeldBy, LeftAtHome, ReturnTask, Trip, TripEntry, TripItem, WayTask,
};
use chrono::NaiveDate;
use kitlore_engine::{Amount, Book, Instant, Planned, Program, Row, Standing};
use kitlore_syntax::key;
use kitlore_words::{Days, cause, counting};
use std::collections::BTreeSet;

/// What a trip needs: before it, on it, after it, in the bag.
///
/// Looked at from `at`, with everything planned until it begins as if it had happened. What is to be done
/// before is then taken as done, and as having found nothing, when the trip begins; what may fall due on the
/// way and on return is told on top of that.
///
/// # Errors
/// No such trip, one that is over, one that nothing goes on.
///
/// ```
/// use kitlore_engine::{Book, Entry, Item, Program, When};
/// use kitlore_planning::{Journey, TripAsk, trip};
/// let rules = Program::parse(
///     "for cameras\n  after 90 days, inspect sensor\n    needs blower\n  when inspect sensor finds dust, clean sensor\n    needs sensor swabs",
/// ).unwrap();
/// let mut book = Book::new(&rules);
/// book.add_item(Item::new("C1", "camera").kit("travel")).unwrap();
/// book.record(Entry::new("2026-09-05", "inspect sensor").item("C1")).unwrap();
/// book.record(Entry::new("2026-12-02", "trip").until("2026-12-06").item("travel").reference("T7")).unwrap();
/// let at = rules.when_is_over(When::parse("2026-11-25").unwrap());
/// let trip = trip(&mut book, at, &TripAsk::new(Journey::Logged("T7".to_owned()))).unwrap();
/// assert_eq!(trip.before[0].task.task, "inspect sensor"); // its 90 days end on day three
/// ```
pub fn trip(book: &mut Book, at: Instant, ask: &TripAsk) -> Result<Trip, TripError> {
    Planner::new(book, at, ask)?.answer()
}

struct Planner<'a> {
    ask: &'a TripAsk,
    rules: Program,
    at: Instant,
    found: Found,
    /// The last instant before it begins, or `at` where it is under way.
    leave: Instant,
    days: Vec<NaiveDate>,
    uses: Vec<DailyUse>,
}

impl<'a> Planner<'a> {
    fn new(book: &mut Book, at: Instant, ask: &'a TripAsk) -> Result<Self, TripError> {
        let found = find(book, at, ask)?;
        let rules = book.program().clone();
        let leave = just_before(found.begin).max(at);
        let first = rules.local(at).date_naive().max(found.from);
        let days = first.iter_days().take_while(|day| *day <= found.to).collect();
        let uses = if ask.expect.is_empty() { uses(&found.plans) } else { ask.expect.clone() };
        Ok(Self { ask, rules, at, found, leave, days, uses })
    }

    fn date(&self, at: Instant) -> NaiveDate {
        self.rules.local(at).date_naive()
    }

    /// Why a row is due, or what it is counting, as seen when the trip begins.
    fn why(&self, row: &Row<'_>) -> String {
        if !self.is_due_by_end(row) {
            let counting = counting(row);
            if !counting.is_empty() {
                return counting;
            }
        }
        cause(row, &Days::new(&self.rules, self.leave))
    }

    fn span(&self) -> (Instant, Instant) {
        (self.leave.max(self.found.begin), self.found.end)
    }

    fn outlook(&self, book: &Book) -> Outlook {
        Outlook::of(book, &self.found.items, &self.days, self.span(), &self.found.plans)
    }

    /// Whether a row is certain to be due by the end of the trip.
    fn is_due_by_end(&self, row: &Row<'_>) -> bool {
        row.due_at.is_some_and(|due| due <= self.found.end)
    }

    fn answer(mut self) -> Result<Trip, TripError> {
        let items = self.found.items.clone();
        let undone = Snapshot::of(&mut self.found.book, &items, self.leave);
        let (done, before) = self.before(&undone);
        let mut done = done;
        let rows = Snapshot::of(&mut done, &items, self.leave);
        let held = self.held(&undone, &rows, &before);
        let at_home: BTreeSet<&str> = held.iter().map(|(item, _)| item.as_str()).collect();
        let going = |item: &str| !at_home.contains(item);

        let mut after = done.clone();
        let brought = self.brought(&mut after, &mut done);
        let on_return = self.on_return(&brought, &going);
        let on_the_way = self.on_the_way(&done, &rows, &brought, &going);
        let stay = Stay { from: self.found.from, to: self.found.to, end: self.found.end };
        let follow_ups = follow_ups(&rows, &going, &on_the_way, stay);
        let mut pack = pack(&on_the_way, &follow_ups);
        stock::look_up(&mut self.found.book, &mut pack, &items, self.leave);
        let leave_at_home = self.leave_at_home(held);
        Ok(self.assemble(before, on_the_way, follow_ups, on_return, pack, leave_at_home))
    }

    /// What is to be done before, and a book in which it was.
    fn before(&mut self, undone: &Snapshot) -> (Book, Vec<BeforeTask>) {
        let chances = self.outlook(&self.found.book);
        let likely = |key: &TaskKey, outlook: &Outlook| outlook.by_end(key) >= self.ask.do_before;
        let mut helped: BTreeSet<TaskKey> = BTreeSet::new();
        let mut tried = self.found.book.clone();
        for row in undone.rows() {
            let key = TaskKey::of(&row);
            let foreseen = !key.retires() && (self.is_due_by_end(&row) || likely(&key, &chances));
            if row.standing >= Standing::Due || foreseen {
                complete(&mut tried, row.task, row.item, self.leave);
                helped.insert(key);
            }
        }
        // Doing it early is of use only where it then stays away to the end of the trip.
        let tried_rows = Snapshot::of(&mut tried, &self.found.items, self.leave);
        let tried_chances = self.outlook(&tried);
        helped.retain(|key| {
            let is_due = undone.row(key).is_some_and(|row| row.standing >= Standing::Due);
            // No row: the item is retired, and what else was foreseen for it is not helped by that.
            let again = tried_rows.row(key).is_none_or(|row| self.is_due_by_end(&row));
            is_due || !(again || likely(key, &tried_chances))
        });
        let mut done = self.found.book.clone();
        let mut before = Vec::new();
        for row in undone.rows() {
            let key = TaskKey::of(&row);
            if helped.contains(&key) {
                complete(&mut done, row.task, row.item, self.leave);
                before.push(self.before_task(&row, chances.by_end(&key)));
            }
        }
        // A task that was done may call for another at once.
        for _ in 0..CHAIN {
            let rows = Snapshot::of(&mut done, &self.found.items, self.leave);
            let due: Vec<Row<'_>> = rows
                .rows()
                .filter(|row| row.standing >= Standing::Due && !helped.contains(&TaskKey::of(row)))
                .collect();
            if due.is_empty() {
                break;
            }
            for row in due {
                helped.insert(TaskKey::of(&row));
                complete(&mut done, row.task, row.item, self.leave);
                before.push(self.before_task(&row, 1.0));
            }
        }
        before.sort_by(|one, other| order(one).cmp(&order(other)));
        (done, before)
    }

    fn before_task(&self, row: &Row<'_>, chance: f64) -> BeforeTask {
        BeforeTask {
            task: task(row),
            standing: row.standing,
            due: row.due_at.map(|due| self.date(due)),
            chance: if self.is_due_by_end(row) { 1.0 } else { chance },
            why: self.why(row),
        }
    }

    /// The items that must not come along, with what holds them: grounded before the trip, grounded on it
    /// whatever is done before, or out of service once that is done.
    fn held(&self, undone: &Snapshot, done: &Snapshot, before: &[BeforeTask]) -> Vec<(String, LeftAtHome)> {
        let mut held: Vec<(String, LeftAtHome)> = Vec::new();
        let mut hold = |row: &Row<'_>, since: NaiveDate| {
            let by = HeldBy { task: task(row), why: self.why(row) };
            match held.iter_mut().find(|(item, _)| item == row.item) {
                Some((_, known)) => {
                    known.since = known.since.min(since);
                    if !known.tasks.iter().any(|other| other.task.task == by.task.task) {
                        known.tasks.push(by);
                    }
                }
                None => held.push((
                    row.item.to_owned(),
                    LeftAtHome {
                        item: row.item.to_owned(),
                        kind: row.kind.to_owned(),
                        since,
                        tasks: vec![by],
                        for_good: false,
                        instead: Vec::new(),
                    },
                )),
            }
        };
        for row in undone.rows().filter(|row| row.standing == Standing::Grounded) {
            hold(&row, self.date(row.limit_at.unwrap_or(self.leave)));
        }
        for row in undone.rows() {
            let key = TaskKey::of(&row);
            if !done.has(row.item) && key.retires() && before.iter().any(|task| is(&task.task, &key)) {
                hold(&row, self.date(row.due_at.unwrap_or(self.leave)));
            }
        }
        for row in done.rows() {
            if let Some(limit) = row.limit_at.filter(|limit| *limit <= self.found.end) {
                hold(&row, self.date(limit));
            }
        }
        for (item, left) in &mut held {
            left.for_good = !done.has(item);
        }
        held.sort_by(|(one, _), (other, _)| one.cmp(other));
        held
    }

    /// The rows that the trip itself brings due: as they stand at its end beside a book without it.
    fn brought(&self, after: &mut Book, done: &mut Book) -> Vec<(TaskKey, ReturnTask)> {
        let with = Snapshot::of(after, &self.found.items, self.found.end);
        let mut without = done.clone();
        for plan in &self.found.plans {
            without.take_out(plan);
        }
        let without = Snapshot::of(&mut without, &self.found.items, self.found.end);
        let mut brought = Vec::new();
        for row in with.rows() {
            let key = TaskKey::of(&row);
            let else_at = without.row(&key).and_then(|row| row.due_at);
            let Some(due) = row.due_at.filter(|due| else_at.is_none_or(|else_at| else_at > *due)) else {
                continue;
            };
            let why = self.why(&row);
            brought.push((key, ReturnTask { task: task(&row), due: self.date(due), why }));
        }
        brought.sort_by(|(one, a), (other, b)| (a.due, one).cmp(&(b.due, other)));
        brought
    }

    /// Of what the trip brings due, what falls on its last day or later.
    fn on_return(&self, brought: &[(TaskKey, ReturnTask)], going: &dyn Fn(&str) -> bool) -> Vec<ReturnTask> {
        let back = |task: &&ReturnTask| task.due >= self.found.to && going(&task.task.item);
        brought.iter().map(|(_, task)| task).filter(back).cloned().collect()
    }

    fn on_the_way(
        &self,
        done: &Book,
        rows: &Snapshot,
        brought: &[(TaskKey, ReturnTask)],
        going: &dyn Fn(&str) -> bool,
    ) -> Vec<WayTask> {
        let outlook = self.outlook(done);
        let mut tasks = Vec::new();
        for row in rows.rows().filter(|row| going(row.item)) {
            let key = TaskKey::of(&row);
            let own = brought.iter().find(|(known, _)| *known == key).map(|(_, task)| task);
            // What the end of the trip brings due is no part of what falls due on the way.
            let days = match own {
                Some(task) if task.due >= self.found.to => {
                    self.days.iter().filter(|day| **day < task.due).count()
                }
                _ => self.days.len(),
            };
            let by_day: Vec<ChanceBy> = self
                .days
                .iter()
                .zip(outlook.by_day(&key))
                .take(days)
                .map(|(day, chance)| ChanceBy { day: *day, chance: *chance })
                .collect();
            let chance = by_day.last().map_or(0.0, |last| last.chance);
            if chance < self.ask.mention || chance <= 0.0 {
                continue;
            }
            let why = match own.filter(|task| task.due < self.found.to) {
                Some(task) => task.why.clone(),
                None => self.why(&row),
            };
            tasks.push(WayTask { task: task(&row), day: likeliest(&by_day), chance, by_day, why });
        }
        tasks.sort_by(|one, other| {
            (one.day, &one.task.item, &one.task.task).cmp(&(other.day, &other.task.item, &other.task.task))
        });
        tasks
    }

    /// For each item left at home, those that could go instead.
    fn leave_at_home(&mut self, held: Vec<(String, LeftAtHome)>) -> Vec<LeftAtHome> {
        let mut left = Vec::new();
        for (_, mut item) in held {
            let kind = key(&item.kind);
            let model =
                |of: &Book, id: &str| of.items().find(|known| known.id == id).and_then(|it| it.model.clone());
            let own_model = model(&self.found.book, &item.item);
            let mut others: Vec<TripItem> = self
                .found
                .book
                .items()
                .filter(|other| key(&other.kind) == kind && !self.found.items.contains(&other.id))
                .map(|other| TripItem {
                    item: other.id.clone(),
                    kind: other.kind.clone(),
                    model: other.model.clone(),
                })
                .collect();
            others.sort_by(|one, other| {
                (one.model != own_model, &one.item).cmp(&(other.model != own_model, &other.item))
            });
            for other in others {
                if item.instead.len() >= OFFERED {
                    break;
                }
                if self.is_clear(&other.item) {
                    item.instead.push(other);
                }
            }
            left.push(item);
        }
        left
    }

    /// Whether an item is in hand and has nothing due to the end of the trip.
    fn is_clear(&mut self, item: &str) -> bool {
        let rows = Snapshot::of(&mut self.found.book, &[item.to_owned()], self.leave);
        let clear = |row: Row<'_>| {
            matches!(row.standing, Standing::Clear | Standing::Soon) && !self.is_due_by_end(&row)
        };
        rows.has(item) && rows.rows().all(clear)
    }

    fn assemble(
        self,
        before: Vec<BeforeTask>,
        on_the_way: Vec<WayTask>,
        follow_ups: Vec<crate::trip_answer::FollowUp>,
        on_return: Vec<ReturnTask>,
        pack: Vec<crate::trip_answer::Packed>,
        leave_at_home: Vec<LeftAtHome>,
    ) -> Trip {
        let found = &self.found;
        let mut conditions: Vec<String> = Vec::new();
        for condition in found.plans.iter().flat_map(|plan| &plan.conditions) {
            if !conditions.iter().any(|known| key(known) == key(condition)) {
                conditions.push(condition.clone());
            }
        }
        let entries = found.plans.iter().map(|plan| TripEntry {
            event: plan.event.clone(),
            item: plan.item.clone(),
            from: plan.from,
            to: plan.to,
            place: plan.place.clone(),
        });
        let items: Vec<TripItem> = found
            .items
            .iter()
            .filter_map(|id| found.book.items().find(|item| item.id == *id))
            .map(|item| TripItem {
                item: item.id.clone(),
                kind: item.kind.clone(),
                model: item.model.clone(),
            })
            .collect();
        let own = before.iter().filter(|task| task.task.by.is_none());
        let micros =
            own.filter_map(|task| task.task.takes_minutes).map(Amount::micros).fold(0, i64::saturating_add);
        let carried = items.iter().filter(|item| !leave_at_home.iter().any(|left| left.item == item.item));
        Trip {
            house: self.rules.house().name.clone(),
            at: self.date(self.at),
            name: found.name.clone(),
            from: found.from,
            to: found.to,
            cautions: carriage::cautions(&self.rules, carried.map(|item| item.kind.as_str())),
            notes: self.notes(&conditions),
            conditions,
            entries: entries.collect(),
            expect: self.uses.clone(),
            items,
            before,
            before_minutes: Amount::from_micros(micros),
            on_the_way,
            follow_ups,
            on_return,
            pack,
            leave_at_home,
        }
    }

    /// What the answer rests on, and names that no rule asks about.
    fn notes(&self, conditions: &[String]) -> Vec<String> {
        let mut notes = Vec::new();
        if self.uses.is_empty() {
            notes.push(
                "no use is expected of this trip, so that only what is certain by date is foreseen on the way; say what a day brings, such as `lens change 15; frames 800`"
                    .to_owned(),
            );
        }
        for expected in self.uses.iter().filter(|expected| !self.rules.knows_event(&expected.event)) {
            notes.push(format!(
                "no rule knows `{}`, so that what is expected of it changes nothing",
                expected.event
            ));
        }
        for condition in conditions.iter().filter(|condition| !self.rules.knows_condition(condition)) {
            notes.push(format!("no rule asks about `{condition}`, so that it changes nothing"));
        }
        notes
    }
}

/// What the plans expect a day, each event once: the most that any of them expects.
fn uses(plans: &[Planned]) -> Vec<DailyUse> {
    let mut uses: Vec<DailyUse> = Vec::new();
    for (event, a_day) in plans.iter().flat_map(|plan| &plan.expect) {
        match uses.iter_mut().find(|known| key(&known.event) == key(event)) {
            Some(known) => known.a_day = known.a_day.max(*a_day),
            None => uses.push(DailyUse { event: event.clone(), a_day: *a_day }),
        }
    }
    uses
}

/// How many items are offered instead of one.
const OFFERED: usize = 5;

/// How far tasks done before a trip call for others.
const CHAIN: usize = 16;

fn is(task: &crate::trip_answer::Task, of: &TaskKey) -> bool {
    task.item == of.item && key(&task.task) == of.task
}

/// Grounded first, then the worst, then by date.
fn order(task: &BeforeTask) -> impl Ord {
    let by_others = task.task.by.is_some();
    (
        std::cmp::Reverse(task.standing),
        task.due.is_none(),
        task.due,
        by_others,
        key(&task.task.task),
        task.task.item.clone(),
    )
}

/// The first day by which it is as likely as not, else the one that adds the most.
fn likeliest(by_day: &[ChanceBy]) -> NaiveDate {
    let as_likely = by_day.iter().find(|day| day.chance >= 0.5);
    let mut most = (0.0, None);
    let mut before = 0.0;
    for day in by_day {
        if day.chance - before > most.0 {
            most = (day.chance - before, Some(day.day));
        }
        before = day.chance;
    }
    as_likely.map(|day| day.day).or(most.1).unwrap_or_default()
}

fn just_before(at: Instant) -> Instant {
    match at.nanos.checked_sub(1) {
        Some(nanos) => Instant { nanos, ..at },
        None => Instant { seconds: at.seconds.saturating_sub(1), nanos: 999_999_999 },
    }
}
