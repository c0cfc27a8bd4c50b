//! What a trip needs: the answer, complete for a screen, a page or a table.

use super::cause::{Cause, RulePart};
use crate::forecast::Basis;
use chrono::NaiveDate;
use kitlore_engine::{Amount, Item, Place, Standing};

/// What a trip needs before it, on it, after it, and in the bag.
///
/// Every list is in the order it is to be read in. Dates are those of the house's time zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Trip {
    /// The house, if its rules name it.
    pub house: Option<String>,
    /// The date from which the trip was looked at.
    pub at: NaiveDate,
    /// What it was asked for by: a ref, or the event where it has none.
    pub name: String,
    /// Its first day.
    pub from: NaiveDate,
    /// Its last day.
    pub to: NaiveDate,
    /// The conditions that its entries state, each once.
    pub conditions: Vec<String>,
    /// The planned entries it is made of.
    pub entries: Vec<TripEntry>,
    /// The use expected of it, a day.
    pub expect: Vec<DailyUse>,
    /// The items it is planned for, by id; those of `leave_at_home` among them.
    pub items: Vec<TripItem>,
    /// What is due before it, or would fall due on it and can be done before: grounded first, then by date.
    pub before: Vec<BeforeTask>,
    /// How long `before` takes by one's own hands, as far as the rules say.
    pub before_minutes: Amount,
    /// What may fall due on it once `before` is done, by day.
    pub on_the_way: Vec<WayTask>,
    /// What a finding on the way may call for.
    pub follow_ups: Vec<FollowUp>,
    /// What the trip itself brings due, by date.
    pub on_return: Vec<ReturnTask>,
    /// Tools and supplies to take, each once.
    pub pack: Vec<Packed>,
    /// Items that must not come along.
    pub leave_at_home: Vec<LeftAtHome>,
    /// Cautions about the journey itself, such as the carriage of lithium cells.
    pub cautions: Vec<String>,
    /// What the answer rests on and what it leaves out.
    pub notes: Vec<Note>,
}

/// What an answer rests on, or leaves out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Note {
    /// No use is stated for the trip: its days are taken as ordinary ones.
    NoUse,
    /// An item is not in hand when the trip begins, so that nothing is said of it.
    Absent(String),
    /// No rule knows this event: nothing is asked for before it or on return from it.
    UnknownEvent(UnknownName),
    /// No rule knows an event whose use is expected, so that this changes nothing.
    UnknownUse(UnknownName),
    /// No rule asks about a condition, so that it changes nothing.
    UnknownCondition(UnknownName),
    /// Too little use is known to foresee all of these tasks.
    TooLittleUse(Vec<String>),
}

/// A name that no rule mentions.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnknownName {
    /// As the trip has it.
    pub name: String,
    /// The name of the rules that was probably meant.
    pub meant: Option<String>,
}

/// One planned entry of a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct TripEntry {
    /// What is planned.
    pub event: String,
    /// For what: an id, a kit, a model, a kind; empty for every item.
    pub item: String,
    /// Its first day.
    pub from: NaiveDate,
    /// Its last day.
    pub to: NaiveDate,
    /// Where the log has it; `None` for a trip that is not in the log.
    pub place: Option<Place>,
}

/// Use expected on each day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DailyUse {
    /// The event's name.
    pub event: String,
    /// How much of it a day.
    pub a_day: Amount,
}

/// An item of a trip.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct TripItem {
    /// Its id.
    pub item: String,
    /// Its kind.
    pub kind: String,
    /// Its model.
    pub model: Option<String>,
}

impl TripItem {
    pub(crate) fn of(item: &Item) -> Self {
        Self { item: item.id.clone(), kind: item.kind.clone(), model: item.model.clone() }
    }
}

/// A task of an item, with everything its rules say about doing it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Task {
    /// The item's id.
    pub item: String,
    /// The item's kind.
    pub kind: String,
    /// The task, as first spelled in the rules.
    pub task: String,
    /// Tools and supplies.
    pub needs: Vec<String>,
    /// How long it takes.
    pub takes_minutes: Option<Amount>,
    /// Who may do it, where not anybody.
    pub by: Option<String>,
    /// Why it is done.
    pub because: Option<String>,
    /// Its cautions; to be shown wherever the task is.
    pub cautions: Vec<String>,
    /// The rule that speaks: its file.
    pub file: String,
    /// Its line.
    pub line: u32,
}

/// A task to do before a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct BeforeTask {
    /// The task.
    pub task: Task,
    /// How it will stand when the trip begins if it is not done.
    pub standing: Standing,
    /// The date it is due, if by the end of the trip; `None` where only a chance brings it due by then.
    pub due: Option<NaiveDate>,
    /// The chance that it falls due by the end of the trip; 1 where it is certain.
    pub chance: f64,
    /// Why: the part of the rule that brings it due.
    pub why: Cause,
}

/// A task that may fall due on a trip.
#[derive(Debug, Clone, PartialEq)]
pub struct WayTask {
    /// The task.
    pub task: Task,
    /// The day on which it is most likely to fall due.
    pub day: NaiveDate,
    /// The chance that it falls due by the end of the trip; 1 where it is certain.
    pub chance: f64,
    /// That chance by the end of each day of the trip.
    pub by_day: Vec<ChanceBy>,
    /// Why: the part of the rule that would bring it due.
    pub why: Cause,
    /// What the chance rests on; `None` where it is certain.
    pub basis: Option<Basis>,
}

/// A chance by the end of a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ChanceBy {
    /// The day.
    pub day: NaiveDate,
    /// From 0 to 1.
    pub chance: f64,
}

/// A task that a finding on the way, or another task done there, would call for.
#[derive(Debug, Clone, PartialEq)]
pub struct FollowUp {
    /// The task.
    pub task: Task,
    /// What calls for it: `inspect sensor finds dust`.
    pub when: RulePart,
}

/// A task that a trip brings due.
#[derive(Debug, Clone, PartialEq)]
pub struct ReturnTask {
    /// The task.
    pub task: Task,
    /// The date it is due.
    pub due: NaiveDate,
    /// Why: the part of the rule that brings it due.
    pub why: Cause,
}

/// A tool or supply to take.
#[derive(Debug, Clone, PartialEq)]
pub struct Packed {
    /// What, as the rules first spell it.
    pub need: String,
    /// How many tasks may ask for it.
    pub uses: u32,
    /// The inventory's items that are it; none that is grounded or retired.
    pub at_hand: Vec<AtHand>,
    /// How many there are, where its stock is counted.
    pub stock: Option<Amount>,
    /// Its stock is less than the tasks that may ask for it.
    pub short: bool,
    /// The tasks that may ask for it.
    pub reasons: Vec<Reason>,
}

/// An item of the inventory that is a tool or supply.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AtHand {
    /// Its id.
    pub item: String,
    /// It is among the trip's items already.
    pub comes_along: bool,
    /// Its stock, where that is counted.
    pub stock: Option<Amount>,
}

/// Why a tool or supply is taken.
#[derive(Debug, Clone, PartialEq)]
pub struct Reason {
    /// The item.
    pub item: String,
    /// The task.
    pub task: String,
    /// What brings it due or calls for it.
    pub why: Cause,
}

/// An item that must not come along.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftAtHome {
    /// The item's id.
    pub item: String,
    /// Its kind.
    pub kind: String,
    /// From when it must not be used.
    pub since: NaiveDate,
    /// The tasks without which it must not be used.
    pub tasks: Vec<HeldBy>,
    /// Doing them takes it out of service.
    pub for_good: bool,
    /// Items of the same kind that are clear to the end of the trip and not on it; those of its model first.
    pub instead: Vec<TripItem>,
}

/// A task that keeps an item at home.
#[derive(Debug, Clone, PartialEq)]
pub struct HeldBy {
    /// The task.
    pub task: Task,
    /// Why.
    pub why: Cause,
}
