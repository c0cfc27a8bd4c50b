//! Trips.

use crate::words::{basis, calls, cause, note};
use chrono::NaiveDate;
use kitlore_engine::{Amount, JsonMinutes, Place};
use kitlore_planning::{
    AtHand, BeforeTask, ChanceBy, DailyUse, FollowUp, HeldBy, LeftAtHome, Packed, Reason, ReturnTask, Trip,
    TripEntry, TripItem, TripTask, WayTask,
};
use serde::Serialize;

/// A trip as a serde value.
pub fn trip(trip: &Trip) -> impl Serialize + '_ {
    JsonTrip {
        house: trip.house.as_deref(),
        at: trip.at,
        name: &trip.name,
        from: trip.from,
        to: trip.to,
        conditions: &trip.conditions,
        entries: trip.entries.iter().map(JsonTripEntry::of).collect(),
        expect: trip.expect.iter().map(JsonDailyUse::of).collect(),
        items: trip.items.iter().map(JsonTripItem::of).collect(),
        before: trip.before.iter().map(JsonBefore::of).collect(),
        before_minutes: JsonMinutes(trip.before_minutes),
        on_the_way: trip.on_the_way.iter().map(JsonWay::of).collect(),
        follow_ups: trip.follow_ups.iter().map(JsonFollowUp::of).collect(),
        on_return: trip.on_return.iter().map(JsonReturn::of).collect(),
        pack: trip.pack.iter().map(JsonPacked::of).collect(),
        leave_at_home: trip.leave_at_home.iter().map(JsonLeft::of).collect(),
        cautions: &trip.cautions,
        notes: trip.notes.iter().map(note).collect(),
    }
}

#[derive(Serialize)]
struct JsonTrip<'a> {
    house: Option<&'a str>,
    at: NaiveDate,
    name: &'a str,
    from: NaiveDate,
    to: NaiveDate,
    conditions: &'a [String],
    entries: Vec<JsonTripEntry<'a>>,
    expect: Vec<JsonDailyUse<'a>>,
    items: Vec<JsonTripItem<'a>>,
    before: Vec<JsonBefore<'a>>,
    before_minutes: JsonMinutes,
    on_the_way: Vec<JsonWay<'a>>,
    follow_ups: Vec<JsonFollowUp<'a>>,
    on_return: Vec<JsonReturn<'a>>,
    pack: Vec<JsonPacked<'a>>,
    leave_at_home: Vec<JsonLeft<'a>>,
    cautions: &'a [String],
    notes: Vec<String>,
}

#[derive(Serialize)]
struct JsonTripEntry<'a> {
    event: &'a str,
    item: &'a str,
    from: NaiveDate,
    to: NaiveDate,
    place: Option<&'a Place>,
}

impl<'a> JsonTripEntry<'a> {
    fn of(entry: &'a TripEntry) -> Self {
        let TripEntry { event, item, from, to, place } = entry;
        Self { event, item, from: *from, to: *to, place: place.as_ref() }
    }
}

#[derive(Serialize)]
struct JsonDailyUse<'a> {
    event: &'a str,
    a_day: String,
}

impl<'a> JsonDailyUse<'a> {
    fn of(used: &'a DailyUse) -> Self {
        Self { event: &used.event, a_day: used.a_day.to_string() }
    }
}

#[derive(Serialize)]
struct JsonTripItem<'a> {
    item: &'a str,
    kind: &'a str,
    model: Option<&'a str>,
}

impl<'a> JsonTripItem<'a> {
    fn of(item: &'a TripItem) -> Self {
        Self { item: &item.item, kind: &item.kind, model: item.model.as_deref() }
    }
}

#[derive(Serialize)]
struct JsonTask<'a> {
    item: &'a str,
    kind: &'a str,
    task: &'a str,
    needs: &'a [String],
    takes_minutes: Option<JsonMinutes>,
    by: Option<&'a str>,
    because: Option<&'a str>,
    cautions: &'a [String],
    file: &'a str,
    line: u32,
}

impl<'a> JsonTask<'a> {
    fn of(task: &'a TripTask) -> Self {
        Self {
            item: &task.item,
            kind: &task.kind,
            task: &task.task,
            needs: &task.needs,
            takes_minutes: task.takes_minutes.map(JsonMinutes),
            by: task.by.as_deref(),
            because: task.because.as_deref(),
            cautions: &task.cautions,
            file: &task.file,
            line: task.line,
        }
    }
}

#[derive(Serialize)]
struct JsonBefore<'a> {
    #[serde(flatten)]
    task: JsonTask<'a>,
    standing: &'static str,
    due: Option<NaiveDate>,
    chance: f64,
    why: String,
}

impl<'a> JsonBefore<'a> {
    fn of(before: &'a BeforeTask) -> Self {
        Self {
            task: JsonTask::of(&before.task),
            standing: before.standing.word(),
            due: before.due,
            chance: before.chance,
            why: cause(&before.why),
        }
    }
}

#[derive(Serialize)]
struct JsonWay<'a> {
    #[serde(flatten)]
    task: JsonTask<'a>,
    day: NaiveDate,
    chance: f64,
    by_day: Vec<JsonChance>,
    why: String,
    basis: String,
}

impl<'a> JsonWay<'a> {
    fn of(way: &'a WayTask) -> Self {
        Self {
            task: JsonTask::of(&way.task),
            day: way.day,
            chance: way.chance,
            by_day: way.by_day.iter().map(JsonChance::of).collect(),
            why: cause(&way.why),
            basis: way.basis.as_ref().map(basis).unwrap_or_default(),
        }
    }
}

#[derive(Serialize)]
struct JsonChance {
    day: NaiveDate,
    chance: f64,
}

impl JsonChance {
    fn of(by: &ChanceBy) -> Self {
        Self { day: by.day, chance: by.chance }
    }
}

#[derive(Serialize)]
struct JsonFollowUp<'a> {
    #[serde(flatten)]
    task: JsonTask<'a>,
    when: String,
}

impl<'a> JsonFollowUp<'a> {
    fn of(follow: &'a FollowUp) -> Self {
        Self { task: JsonTask::of(&follow.task), when: calls(&follow.when) }
    }
}

#[derive(Serialize)]
struct JsonReturn<'a> {
    #[serde(flatten)]
    task: JsonTask<'a>,
    due: NaiveDate,
    why: String,
}

impl<'a> JsonReturn<'a> {
    fn of(task: &'a ReturnTask) -> Self {
        Self { task: JsonTask::of(&task.task), due: task.due, why: cause(&task.why) }
    }
}

#[derive(Serialize)]
struct JsonPacked<'a> {
    need: &'a str,
    uses: u32,
    at_hand: Vec<JsonAtHand<'a>>,
    stock: Option<String>,
    short: bool,
    reasons: Vec<JsonReason<'a>>,
}

impl<'a> JsonPacked<'a> {
    fn of(packed: &'a Packed) -> Self {
        Self {
            need: &packed.need,
            uses: packed.uses,
            at_hand: packed.at_hand.iter().map(JsonAtHand::of).collect(),
            stock: packed.stock.as_ref().map(Amount::to_string),
            short: packed.short,
            reasons: packed.reasons.iter().map(JsonReason::of).collect(),
        }
    }
}

#[derive(Serialize)]
struct JsonAtHand<'a> {
    item: &'a str,
    comes_along: bool,
    stock: Option<String>,
}

impl<'a> JsonAtHand<'a> {
    fn of(at_hand: &'a AtHand) -> Self {
        let stock = at_hand.stock.as_ref().map(Amount::to_string);
        Self { item: &at_hand.item, comes_along: at_hand.comes_along, stock }
    }
}

#[derive(Serialize)]
struct JsonReason<'a> {
    item: &'a str,
    task: &'a str,
    why: String,
}

impl<'a> JsonReason<'a> {
    fn of(reason: &'a Reason) -> Self {
        Self { item: &reason.item, task: &reason.task, why: cause(&reason.why) }
    }
}

#[derive(Serialize)]
struct JsonLeft<'a> {
    item: &'a str,
    kind: &'a str,
    since: NaiveDate,
    tasks: Vec<JsonHeldBy<'a>>,
    for_good: bool,
    instead: Vec<JsonTripItem<'a>>,
}

impl<'a> JsonLeft<'a> {
    fn of(left: &'a LeftAtHome) -> Self {
        Self {
            item: &left.item,
            kind: &left.kind,
            since: left.since,
            tasks: left.tasks.iter().map(JsonHeldBy::of).collect(),
            for_good: left.for_good,
            instead: left.instead.iter().map(JsonTripItem::of).collect(),
        }
    }
}

#[derive(Serialize)]
struct JsonHeldBy<'a> {
    #[serde(flatten)]
    task: JsonTask<'a>,
    why: String,
}

impl<'a> JsonHeldBy<'a> {
    fn of(held: &'a HeldBy) -> Self {
        Self { task: JsonTask::of(&held.task), why: cause(&held.why) }
    }
}
