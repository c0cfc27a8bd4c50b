//! The sheet of a trip: before leaving, on the way, on return, what to pack, what stays at home.

use super::frame::{Page, Section, cautions};
use super::timeline::{Bar, Window, draw};
use super::work_table::{WorkLine, table};
use crate::words::{calls, cause, counted, listed, minutes, note, plain};
use crate::work::{WorkDetails, group};
use chrono::NaiveDate;
use kitlore_engine::{Amount, Standing};
use kitlore_planning::{LeftAtHome, Packed, Task, Trip, WayTask};
use maud::{Markup, html};

/// The page of a trip.
pub fn trip(trip: &Trip) -> String {
    let sections = [
        before(trip),
        on_the_way(trip),
        follow_ups(trip),
        pack(trip),
        at_home(trip),
        on_return(trip),
        notes(trip),
    ];
    let in_conditions = match trip.conditions.len() {
        0 => String::new(),
        _ => format!(", in {}", listed(trip.conditions.iter().map(String::as_str), "and")),
    };
    let house = trip.house.as_ref().map_or_else(String::new, |house| format!("{house}: "));
    let work = match trip.before.len() {
        0 => "nothing to do before leaving".to_owned(),
        tasks => format!("{} before leaving{}", counted(tasks, "task"), time(trip.before_minutes)),
    };
    Page {
        title: format!("{house}trip {}", trip.name),
        of: plain(&format!("{} to {}{in_conditions}; looked at on {}", trip.from, trip.to, trip.at)),
        totals: format!(
            "{work}; {} to pack; {} left at home",
            counted(trip.pack.len(), "thing"),
            counted(trip.leave_at_home.len(), "item")
        ),
        cautions: trip.cautions.clone(),
        sections: sections.into_iter().flatten().collect(),
    }
    .draw()
}

fn time(work: Amount) -> String {
    if work == Amount::ZERO { String::new() } else { format!(", {} of work", minutes(work)) }
}

fn section(id: &'static str, title: &str, count: usize, body: Markup) -> Option<Section> {
    (count > 0).then(|| Section {
        id,
        heading: html! { (title) },
        title: format!("{}, {count}", title.to_lowercase()),
        body,
    })
}

/// A task with one of its items.
fn line(
    task: &Task,
    standing: Option<Standing>,
    when: String,
    why: String,
) -> (WorkDetails<'_>, WorkLine<'_>) {
    (WorkDetails::of_task(task), WorkLine { item: &task.item, kind: &task.kind, standing, when, why })
}

/// `80 % chance`, certain where it is; never 0 or 100 of what is not certain.
fn chance(chance: f64) -> String {
    let percent = (chance * 100.0).round().clamp(1.0, 99.0);
    if chance >= 1.0 { "certain".to_owned() } else { format!("{percent:.0} % chance") }
}

fn before(trip: &Trip) -> Option<Section> {
    let works = group(trip.before.iter().map(|one| {
        let when = match one.due {
            Some(due) => due.to_string(),
            None => format!("{} on the way", chance(one.chance)),
        };
        line(&one.task, Some(one.standing), when, cause(&one.why))
    }));
    section("before", "Before leaving", trip.before.len(), table("Before leaving", &works, true))
}

fn on_the_way(trip: &Trip) -> Option<Section> {
    let works = group(trip.on_the_way.iter().map(|one| {
        let when = format!("{}, {}", one.day, chance(one.chance));
        line(&one.task, None, when, cause(&one.why))
    }));
    let days = (trip.to - trip.from).num_days().clamp(1, 366);
    // Before departure the day it was looked at lies outside of what is drawn.
    let marked = if trip.at < trip.from { (trip.from, "departure") } else { (trip.at, "today") };
    let window = Window { marked, from: trip.from, to: trip.from + chrono::Days::new(days.unsigned_abs()) };
    let bars: Vec<Bar<'_>> = trip
        .on_the_way
        .iter()
        .map(|one| Bar {
            item: &one.task.item,
            task: &one.task.task,
            standing: Standing::Due,
            middle: Some(one.day),
            span: reached(one, 0.1).map(|early| (early, reached(one, 0.9))),
            words: format!("{}, {}", one.day, chance(one.chance)),
        })
        .collect();
    let body = html! { (table("On the way", &works, true)) (draw(&bars, window)) };
    section("way", "On the way", trip.on_the_way.len(), body)
}

/// The day by which a chance is reached.
fn reached(task: &WayTask, chance: f64) -> Option<NaiveDate> {
    task.by_day.iter().find(|by| by.chance >= chance).map(|by| by.day)
}

fn follow_ups(trip: &Trip) -> Option<Section> {
    let works =
        group(trip.follow_ups.iter().map(|one| line(&one.task, None, "if".to_owned(), calls(&one.when))));
    section(
        "findings",
        "What a finding may call for",
        trip.follow_ups.len(),
        table("What a finding may call for", &works, true),
    )
}

fn on_return(trip: &Trip) -> Option<Section> {
    let works = group(
        trip.on_return.iter().map(|one| line(&one.task, None, format!("due {}", one.due), cause(&one.why))),
    );
    section("return", "On return", trip.on_return.len(), table("On return", &works, true))
}

fn pack(trip: &Trip) -> Option<Section> {
    let body = html! { table aria-label="Pack" {
        thead { tr { th.tick scope="col" { "Packed" } th.item scope="col" { "What" } th scope="col" { "For" } } }
        tbody { @for one in &trip.pack { tr {
            td.tick { input type="checkbox" aria-label={ "packed: " (plain(&one.need)) } autocomplete="off"; }
            th.item scope="row" { (plain(&one.need)) @if let Some(stock) = stock(one) { span.faint { " " (stock) } } }
            td { ul { @for reason in &one.reasons {
                li { (plain(&format!("{}, {}: {}", reason.item, reason.task, cause(&reason.why)))) }
            } } }
        } } }
    } };
    section("pack", "Pack", trip.pack.len(), body)
}

/// How many there are, and whether that may not be enough; where it lies.
fn stock(packed: &Packed) -> Option<String> {
    let mut words: Vec<String> = packed.stock.map(|stock| format!("{stock} in stock")).into_iter().collect();
    if packed.short {
        words.push(format!("may run short: {} may ask for it", counted(packed.uses as usize, "task")));
    }
    let ids: Vec<&str> = packed.at_hand.iter().map(|one| one.item.as_str()).collect();
    if !ids.is_empty() {
        words.push(plain(&listed(ids, "or")));
    }
    (!words.is_empty()).then(|| words.join("; "))
}

fn at_home(trip: &Trip) -> Option<Section> {
    let body = html! { ul { @for one in &trip.leave_at_home { li { (left(one)) } } } };
    section("home", "Leave at home", trip.leave_at_home.len(), body)
}

fn left(one: &LeftAtHome) -> Markup {
    html! {
        p { b { (plain(&one.item)) } " " (plain(&one.kind)) ", not to be used since " (one.since) ": "
            (plain(&one.tasks.iter().map(|held| format!("{} ({})", held.task.task, cause(&held.why))).collect::<Vec<_>>().join("; "))) }
        @for held in &one.tasks { (cautions(held.task.cautions.iter().map(String::as_str))) }
        @if one.instead.is_empty() {
            p { "Nothing else of its kind is clear to the end of the trip." }
        } @else {
            p { "Instead: " (plain(&listed(one.instead.iter().map(|item| item.item.as_str()), "or"))) }
        }
    }
}

fn notes(trip: &Trip) -> Option<Section> {
    let body = html! { ul { @for one in &trip.notes { li { (plain(&note(one))) } } } };
    section("notes", "What this rests on", trip.notes.len(), body)
}
