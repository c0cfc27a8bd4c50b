//! What a trip needs: asked of a copy of the book, in which it is planned and then comes to pass.

use super::again::Again;
use super::answer::{
    BeforeTask, ChanceBy, DailyUse, FollowUp, LeftAtHome, Note, Packed, ReturnTask, Trip, TripEntry,
    TripItem, TripTask, UnknownName, WayTask,
};
use super::ask::{TripAsk, TripError};
use super::cause::Cause;
use super::find::{FoundTrip, find};
use super::left_behind::{Begin, held, offer};
use super::outlook::Outlook;
use super::packing::{TripDays, follow_ups, pack};
use super::snapshot::{Snapshot, TaskKey, complete, task};
use super::{cautions, near, stock};
use chrono::NaiveDate;
use kitlore_engine::{Amount, Book, Instant, Planned, Program, Row, Standing};
use kitlore_syntax::key;
use std::collections::{HashMap, HashSet};

/// What a trip needs: before it, on it, after it, in the bag.
///
/// Looked at from `at`, with everything planned until it begins as if it had happened. What is to be done
/// before is then taken as done, and as having found nothing, when the trip begins; what may fall due on the
/// way and on return comes on top of that.
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
    found: FoundTrip,
    /// The last instant before it begins, or `at` where it is under way.
    leave: Instant,
    /// Its days, those that are over left out.
    days: Vec<NaiveDate>,
    uses: Vec<DailyUse>,
}

/// The lists of an answer.
struct Lists {
    before: Vec<BeforeTask>,
    on_the_way: Vec<WayTask>,
    follow_ups: Vec<FollowUp>,
    on_return: Vec<ReturnTask>,
    pack: Vec<Packed>,
    leave_at_home: Vec<LeftAtHome>,
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

    fn outlook(&self, book: &Book, from: Instant) -> Outlook {
        Outlook::new(book, from, &self.found, &self.days, self.ask)
    }

    /// Whether a row is certain to be due by the end of the trip.
    fn is_due_by_end(&self, row: &Row<'_>) -> bool {
        row.due_at.is_some_and(|due| due <= self.found.end)
    }

    /// Why a row is due, or what it is counting, as seen when the trip begins.
    fn why(&self, row: &Row<'_>) -> Cause {
        let counting = if self.is_due_by_end(row) { Cause::None } else { Cause::counting(row) };
        if counting == Cause::None { Cause::of(row) } else { counting }
    }

    /// As [`Self::why`], for what stands beside a later date: so many uses or days are not those of that date.
    fn why_on_leaving(&self, row: &Row<'_>) -> Cause {
        let why = self.why(row);
        let counts = !self.is_due_by_end(row) && why.is_a_count();
        if counts { Cause::OnLeaving(Box::new(why)) } else { why }
    }

    fn answer(mut self) -> Result<Trip, TripError> {
        let items = self.found.items.clone();
        let undone = Snapshot::of(&mut self.found.book, &items, self.leave);
        let (mut done, before) = self.before(&undone);
        let rows = Snapshot::of(&mut done, &items, self.leave);
        let begin = Begin { at: self.leave, undone: &undone, done: &rows };
        let mut leave_at_home = held(&begin, &before, self.found.end, &|row| self.why(row));
        let at_home: HashSet<String> = leave_at_home.iter().map(|left| left.item.clone()).collect();
        let going = |item: &str| !at_home.contains(item);

        let before = freeing(before, &leave_at_home);

        let outlook = self.outlook(&done, self.leave);
        let again = Again::new(&done, &self.found, &self.days, &going);
        let on_return = self.on_return(&outlook, &again, &going);
        let on_the_way = self.on_the_way(&rows, &outlook, &going);
        let days = TripDays { from: self.found.from, to: self.found.to, end: self.found.end };
        let follow_ups = follow_ups(&rows, &going, &on_the_way, days);
        let mut pack = pack(&on_the_way, &follow_ups);
        stock::look_up(&mut self.found.book, &mut pack, &items, self.leave);
        offer(&mut self.found, &mut leave_at_home, self.leave);
        let lists = Lists { before, on_the_way, follow_ups, on_return, pack, leave_at_home };
        let absent: Vec<String> = items.into_iter().filter(|item| !undone.has(item)).collect();
        Ok(self.assemble(lists, &outlook, &absent))
    }

    /// What is to be done before, and a book in which it was.
    fn before(&mut self, undone: &Snapshot) -> (Book, Vec<BeforeTask>) {
        let outlook = self.outlook(&self.found.book, self.at);
        let likely = |key: &TaskKey, outlook: &Outlook| outlook.by_end(key) >= self.ask.do_before;
        let mut helped: HashSet<TaskKey> = HashSet::new();
        let mut tried = self.found.book.clone();
        for row in undone.rows() {
            let key = TaskKey::of(&row);
            let foreseen = !key.retires() && (self.is_due_by_end(&row) || likely(&key, &outlook));
            if row.standing >= Standing::Due || foreseen {
                complete(&mut tried, row.task, row.item, self.leave);
                helped.insert(key);
            }
        }
        // Doing it early is of use only where it then stays away to the end of the trip.
        let tried_rows = Snapshot::of(&mut tried, &self.found.items, self.leave);
        let tried_outlook = self.outlook(&tried, self.leave);
        helped.retain(|key| {
            let is_due = undone.row(key).is_some_and(|row| row.standing >= Standing::Due);
            // No row: the item is retired, and what else was foreseen for it is not helped by that.
            let again = tried_rows.row(key).is_none_or(|row| self.is_due_by_end(&row));
            is_due || !(again || likely(key, &tried_outlook))
        });
        let mut done = self.found.book.clone();
        let mut before = Vec::new();
        for row in undone.rows() {
            let key = TaskKey::of(&row);
            if helped.contains(&key) {
                complete(&mut done, row.task, row.item, self.leave);
                before.push(self.before_task(&row, outlook.by_end(&key)));
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
            // A date beyond the trip is not why it is on the list.
            due: row.due_at.filter(|due| *due <= self.found.end).map(|due| self.date(due)),
            chance: if self.is_due_by_end(row) { 1.0 } else { chance },
            why: self.why(row),
        }
    }

    /// Of what the trip brings due, what falls on its last day or later; and what is due again after it was done on the
    /// way.
    fn on_return(&self, outlook: &Outlook, again: &Again, going: &dyn Fn(&str) -> bool) -> Vec<ReturnTask> {
        let mut tasks = Vec::new();
        for row in outlook.at_end.rows().filter(|row| going(row.item)) {
            let key = TaskKey::of(&row);
            if let Some(due) = outlook.return_date(&key, &self.found, &self.found.book) {
                tasks.push(ReturnTask { task: task(&row), due, why: Cause::of(&row) });
            }
        }
        let known: HashSet<TaskKey> = tasks.iter().map(|known| TaskKey::of_task(&known.task)).collect();
        for row in again.rows().filter(|row| !known.contains(&TaskKey::of(row))) {
            let due = row.due_at.map_or(self.found.to, |due| self.date(due));
            tasks.push(ReturnTask { task: task(&row), due, why: Cause::of(&row) });
        }
        tasks.sort_by_cached_key(|task| (task.due, task.task.item.clone(), key(&task.task.task)));
        tasks
    }

    fn on_the_way(&self, rows: &Snapshot, outlook: &Outlook, going: &dyn Fn(&str) -> bool) -> Vec<WayTask> {
        let mut tasks = Vec::new();
        for row in rows.rows().filter(|row| going(row.item)) {
            let key = TaskKey::of(&row);
            let chance = outlook.by_end(&key);
            if chance < self.ask.mention || chance <= 0.0 {
                continue;
            }
            let days = self.days.iter().zip(outlook.by_day(&key));
            let by_day: Vec<ChanceBy> =
                days.map(|(day, chance)| ChanceBy { day: *day, chance: *chance }).collect();
            let own = outlook.brought.contains_key(&key)
                && outlook.return_date(&key, &self.found, &self.found.book).is_none();
            let why = match outlook.at_end.row(&key).filter(|_| own) {
                Some(row) => Cause::of(&row),
                None => self.why_on_leaving(&row),
            };
            let basis = outlook.basis(&key).filter(|_| chance < 1.0).cloned();
            tasks.push(WayTask { task: task(&row), day: likeliest(&by_day), chance, by_day, why, basis });
        }
        tasks.sort_by_cached_key(|task| (task.day, task.task.item.clone(), key(&task.task.task)));
        tasks
    }

    fn assemble(self, lists: Lists, outlook: &Outlook, absent: &[String]) -> Trip {
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
        let ids: HashSet<&String> = found.items.iter().collect();
        let items = found.book.items().filter(|item| ids.contains(&item.id));
        let mut items: Vec<TripItem> = items.map(TripItem::of).collect();
        items.sort_by(|one, other| one.item.cmp(&other.item));
        let Lists { before, on_the_way, follow_ups, on_return, pack, leave_at_home } = lists;
        let own = before.iter().filter(|task| task.task.by.is_none());
        let micros =
            own.filter_map(|task| task.task.takes_minutes).map(Amount::micros).fold(0, i64::saturating_add);
        let left: HashSet<&String> = leave_at_home.iter().map(|left| &left.item).collect();
        let carried = items.iter().filter(|item| !left.contains(&item.item));
        Trip {
            house: self.rules.house().name.clone(),
            at: self.date(self.at),
            name: found.name.clone(),
            from: found.from,
            to: found.to,
            cautions: cautions::of_kinds(&self.rules, carried.map(|item| item.kind.as_str())),
            notes: self.notes(&conditions, outlook, absent),
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

    /// What the answer rests on, and names that no rule mentions.
    fn notes(&self, conditions: &[String], outlook: &Outlook, absent: &[String]) -> Vec<Note> {
        let mut notes = Vec::new();
        if self.uses.is_empty() {
            notes.push(Note::NoUse);
        }
        notes.extend(absent.iter().cloned().map(Note::Absent));
        let unknown = |event: &str| {
            let unknown = || UnknownName { name: event.to_owned(), meant: near::event(&self.rules, event) };
            (!self.rules.knows_event(event)).then(unknown)
        };
        let mut events: Vec<&str> = Vec::new();
        for plan in &self.found.plans {
            if !events.contains(&plan.event.as_str()) {
                events.push(&plan.event);
            }
        }
        notes.extend(events.into_iter().filter_map(unknown).map(Note::UnknownEvent));
        let uses = self.uses.iter().filter_map(|expected| unknown(&expected.event));
        notes.extend(uses.map(Note::UnknownUse));
        let unasked = conditions.iter().filter(|condition| !self.rules.knows_condition(condition));
        notes.extend(unasked.map(|name| {
            let meant = near::condition(&self.rules, name);
            Note::UnknownCondition(UnknownName { name: name.clone(), meant })
        }));
        if !outlook.unforeseen.is_empty() {
            notes.push(Note::TooLittleUse(outlook.unforeseen.iter().cloned().collect()));
        }
        notes
    }
}

/// What is to be done before, of an item that stays at home only what would free it.
fn freeing(mut before: Vec<BeforeTask>, left: &[LeftAtHome]) -> Vec<BeforeTask> {
    let held: HashMap<&str, &LeftAtHome> = left.iter().map(|left| (left.item.as_str(), left)).collect();
    let frees =
        |task: &TripTask, left: &LeftAtHome| left.tasks.iter().any(|held| held.task.task == task.task);
    before.retain(|before| held.get(before.task.item.as_str()).is_none_or(|left| frees(&before.task, left)));
    before
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

/// How far tasks done before a trip call for others.
const CHAIN: usize = 16;

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
