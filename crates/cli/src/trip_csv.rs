//! What a trip needs, for spreadsheets: one line per entry of every list.

use crate::due_csv::{failed, guarded};
use crate::screen::Host;
use crate::stop::Stop;
use kitlore::Amount;
use kitlore::planning::{Packed, Task, Trip};
use kitlore::render::{calls, cause};

const HEADINGS: [&str; 15] = [
    "list",
    "item",
    "kind",
    "task",
    "need",
    "stock",
    "date",
    "chance",
    "standing",
    "why",
    "needs",
    "takes_minutes",
    "by",
    "because",
    "cautions",
];

/// Writes every list.
pub(crate) fn write(trip: &Trip, host: &mut Host<'_>) -> Result<(), Stop> {
    let mut writer = csv::Writer::from_writer(&mut *host.out);
    writer.write_record(HEADINGS).map_err(failed)?;
    for line in lines(trip) {
        writer.write_record(line.map(|cell| guarded(&cell))).map_err(failed)?;
    }
    Ok(writer.flush()?)
}

fn lines(trip: &Trip) -> Vec<[String; 15]> {
    let chance = |chance: f64| format!("{chance:.2}");
    let mut lines = Vec::new();
    for entry in &trip.before {
        let date = entry.due.map(|due| due.to_string()).unwrap_or_default();
        let cells = [date, chance(entry.chance), entry.standing.to_string(), cause(&entry.why)];
        lines.push(of_task("before", &entry.task, cells));
    }
    for entry in &trip.on_the_way {
        let cells = [entry.day.to_string(), chance(entry.chance), String::new(), cause(&entry.why)];
        lines.push(of_task("on the way", &entry.task, cells));
    }
    for entry in &trip.follow_ups {
        let cells = [String::new(), String::new(), String::new(), calls(&entry.when)];
        lines.push(of_task("follow-up", &entry.task, cells));
    }
    for entry in &trip.on_return {
        let cells = [entry.due.to_string(), String::new(), String::new(), cause(&entry.why)];
        lines.push(of_task("on return", &entry.task, cells));
    }
    lines.extend(trip.pack.iter().map(of_need));
    for item in &trip.leave_at_home {
        for held in &item.tasks {
            let instead: Vec<&str> = item.instead.iter().map(|other| other.item.as_str()).collect();
            let why = match instead.is_empty() {
                true => cause(&held.why),
                false => format!("{}; instead {}", cause(&held.why), instead.join(", ")),
            };
            let cells = [item.since.to_string(), String::new(), "grounded".to_owned(), why];
            lines.push(of_task("leave at home", &held.task, cells));
        }
    }
    for caution in &trip.cautions {
        let mut line = std::array::from_fn(|_| String::new());
        line[0] = "caution".to_owned();
        line[14].clone_from(caution);
        lines.push(line);
    }
    lines
}

fn of_task(list: &str, task: &Task, [date, chance, standing, why]: [String; 4]) -> [String; 15] {
    [
        list.to_owned(),
        task.item.clone(),
        task.kind.clone(),
        task.task.clone(),
        String::new(),
        String::new(),
        date,
        chance,
        standing,
        why,
        task.needs.join("; "),
        task.takes_minutes.as_ref().map(Amount::to_string).unwrap_or_default(),
        task.by.clone().unwrap_or_default(),
        task.because.clone().unwrap_or_default(),
        task.cautions.join("; "),
    ]
}

fn of_need(packed: &Packed) -> [String; 15] {
    let reasons = packed
        .reasons
        .iter()
        .map(|reason| format!("{} {}: {}", reason.item, reason.task, cause(&reason.why)));
    let why = reasons.collect::<Vec<_>>().join("; ");
    let ids: Vec<&str> = packed.at_hand.iter().map(|hand| hand.item.as_str()).collect();
    let none = String::new;
    let stock = packed.stock.as_ref().map(Amount::to_string).unwrap_or_default();
    [
        "pack".to_owned(),
        ids.join("; "),
        none(),
        none(),
        packed.need.clone(),
        stock,
        none(),
        none(),
        none(),
        why,
        none(),
        none(),
        none(),
        none(),
        none(),
    ]
}
