//! Random houses, inventories and logs: small words and few days, so that things meet.

use crate::case::Question;
use crate::plain::{ItemRow, LogRow};
use crate::random_rules::rules;
use crate::rng::Rng;
use crate::scene::{Scene, TASKS, USAGES, time_on};
use chrono::Days;

/// Zones with a day on which their clocks do something, and quiet ones.
const PLACES: [(&str, &str); 16] = [
    ("UTC", "2026-02-15"),
    ("UTC", "2024-02-29"),
    ("Europe/Lisbon", "2026-03-29"),
    ("Europe/Lisbon", "2026-10-25"),
    ("America/Sao_Paulo", "2018-11-04"),
    ("America/Sao_Paulo", "2018-02-18"),
    ("Pacific/Apia", "2011-12-30"),
    ("America/St_Johns", "2010-11-07"),
    ("America/St_Johns", "2010-03-14"),
    ("America/Havana", "2024-03-10"),
    ("Australia/Lord_Howe", "2024-10-06"),
    ("Australia/Lord_Howe", "2024-04-07"),
    ("Asia/Kathmandu", "2023-12-31"),
    ("Asia/Beirut", "2024-03-31"),
    ("UTC", "9999-12-20"),
    ("UTC", "0001-01-12"),
];

/// A random question with the instants to ask about; the last is after nearly everything.
pub fn question(rng: &mut Rng) -> (Question, Vec<String>) {
    let (zone, day) = PLACES[rng.range(0, PLACES.len() as i64 - 1) as usize];
    let few = |rng: &mut Rng, list: &[&'static str]| (0..2).map(|_| rng.pick(list)).collect();
    let scene =
        Scene { middle: day.parse().expect("a date"), usages: few(rng, &USAGES), tasks: few(rng, &TASKS) };
    let question =
        Question { rules: rules(rng, zone, &scene), items: items(rng, &scene), log: log(rng, &scene) };
    // Times of the log itself are where things tip.
    let logged = |rng: &mut Rng| {
        let whens: Vec<&LogRow> =
            question.log.iter().filter(|r| kitlore_syntax::When::parse(&r.when).is_ok()).collect();
        (!whens.is_empty() && rng.chance(60)).then(|| rng.pick(&whens).when.clone())
    };
    // A time that an offset puts outside the years 0001 to 9999 is none to ask about.
    let in_range = |at: String| match kitlore_syntax::When::parse(&at) {
        Ok(_) => at,
        Err(_) => scene.middle.to_string(),
    };
    let mut ats: Vec<String> =
        (0..3).map(|_| in_range(logged(rng).unwrap_or_else(|| scene.when(rng)))).collect();
    let last = scene.middle.checked_add_days(Days::new(40)).filter(|d| kitlore_syntax::in_range(*d));
    ats.push(last.map_or("9999-12-31".to_owned(), |d| d.to_string()));
    (question, ats)
}

fn items(rng: &mut Rng, scene: &Scene) -> Vec<ItemRow> {
    let mut items = Vec::new();
    for n in 1..=rng.range(1, 3) {
        let date = |rng: &mut Rng, chance| {
            if rng.chance(chance) { scene.date(rng).to_string() } else { String::new() }
        };
        items.push(ItemRow {
            row: n as u32 + 1,
            id: if rng.chance(3) { "C1".to_owned() } else { format!("C{n}") },
            kind: if rng.chance(40) {
                "camera"
            } else {
                rng.pick(&["rangefinder", "Batteries", "tripod", "tablet"])
            }
            .to_owned(),
            received: date(rng, 60),
            in_service: date(rng, 30),
            retired: date(rng, 5),
            kit: kits(rng, scene),
            model: rng.pick(&["", "", "M1", "M2", "camera"]).to_owned(),
            attributes: vec![
                ("maker".to_owned(), rng.pick(&["", "Orla", "third party", "Third Party"]).to_owned()),
                ("slots".to_owned(), rng.pick(&["", "1", "2.0", "2", "two", "2026-02-01"]).to_owned()),
            ],
        });
    }
    items
}

fn kits(rng: &mut Rng, scene: &Scene) -> String {
    if rng.chance(55) {
        return rng.pick(&["", "", "blue bag", "red bag", "blue bag; red bag", "red bag,M1"]).to_owned();
    }
    let (from, to, kit) = (scene.date(rng), scene.date(rng), rng.pick(&["blue bag", "red bag"]));
    let (from, to) = if rng.chance(97) { (from.min(to), from.max(to)) } else { (from, to) };
    match rng.range(1, 40) {
        1 => format!("{kit} from June"),
        2 => format!("{kit} to 2026-02-30, red bag"),
        3..=12 => format!("{kit} from {from}"),
        13..=20 => format!("{kit} TO {to}"),
        21..=28 => format!("{kit} from {from} to {to}"),
        29..=34 => format!("{kit} to {from}; {kit} from {to}"),
        _ => format!("blue bag from {from}, red bag to {to}"),
    }
}

fn log(rng: &mut Rng, scene: &Scene) -> Vec<LogRow> {
    let mut log: Vec<LogRow> = Vec::new();
    let most = rng.pick(&[&12, &30, &30]);
    for row in 2..=rng.range(1, *most) as u32 {
        let with_id: Vec<&LogRow> = log.iter().filter(|e| !e.id.is_empty()).collect();
        let new = match rng.range(1, 100) {
            1..=4 if !with_id.is_empty() => again(rng, &with_id, row),
            5 | 6 if !log.is_empty() => LogRow { row, id: String::new(), ..rng.pick(&all(&log)).clone() },
            _ => entry(rng, scene, &log, row),
        };
        log.push(new);
    }
    log
}

fn all(log: &[LogRow]) -> Vec<&LogRow> {
    log.iter().collect()
}

/// An entry with an earlier one's id: the same in other spelling, or another.
fn again(rng: &mut Rng, with_id: &[&LogRow], row: u32) -> LogRow {
    let mut entry = rng.pick(with_id).clone();
    entry.row = row;
    match rng.range(1, 4) {
        1 => {}
        2 => entry.event = entry.event.to_uppercase().replace(' ', "-"),
        3 => entry.amount = "7".to_owned(),
        _ => entry.note = "again".to_owned(),
    }
    entry
}

fn entry(rng: &mut Rng, scene: &Scene, log: &[LogRow], row: u32) -> LogRow {
    let date = scene.date(rng);
    let mut entry = LogRow { row, when: time_on(rng, date), item: whose(rng), ..LogRow::default() };
    if rng.chance(12) && !log.is_empty() {
        entry.when = log[rng.range(0, log.len() as i64 - 1) as usize].when.clone();
    } else if rng.chance(25) {
        let length = if rng.chance(4) { -2 } else { rng.range(0, 5) };
        let until =
            if length < 0 { date.pred_opt() } else { date.checked_add_days(Days::new(length as u64)) };
        let until = until.filter(|d| kitlore_syntax::in_range(*d)).unwrap_or(date);
        entry.until = time_on(rng, until);
    }
    match rng.range(1, 100) {
        1..=22 => done(rng, scene, &mut entry),
        23..=24 => entry.event = rng.pick(&["received", "in service", "retired"]).to_owned(),
        25..=28 => {
            entry.event = "finding".to_owned();
            entry.found = found(rng);
        }
        29..=32 => {
            entry.event = "void".to_owned();
            let ids: Vec<&str> = log.iter().map(|e| e.id.as_str()).filter(|id| !id.is_empty()).collect();
            entry.reference = if ids.is_empty() || rng.chance(20) {
                format!("e{}", rng.range(1, 22))
            } else {
                rng.pick(&ids).to_owned()
            };
        }
        33..=36 => entry.event = rng.pick(&["wedding", "storm", "blower"]).to_owned(),
        _ => used(rng, scene, &mut entry),
    }
    if rng.chance(30) {
        entry.conditions =
            rng.pick(&["dust", "sand", "rain", "Dust, sand", "rain;dust", "snow", "salt air"]).to_owned();
    }
    if rng.chance(5) {
        entry.found = found(rng);
    }
    if entry.event != "void" && rng.chance(18) {
        entry.reference = rng.pick(&["a", "b"]).to_owned();
    }
    if rng.chance(25) {
        entry.id = format!("e{row}");
    }
    match rng.range(1, 300) {
        1 => entry.when = "2026-02-30".to_owned(),
        2 => entry.until = "tomorrow".to_owned(),
        3 => entry.amount = "1,5".to_owned(),
        4 => entry.reading = "full".to_owned(),
        5 => entry.amount = "-1".to_owned(),
        _ => {}
    }
    entry
}

fn whose(rng: &mut Rng) -> String {
    match rng.range(1, 20) {
        1 | 7 => rng.pick(&["blue bag", "red bag"]),
        2 => rng.pick(&["M1", "M2"]),
        3 | 4 => rng.pick(&["cameras", "camera", "Rangefinder", "battery"]),
        5 | 6 => rng.pick(&["", "", "Every item"]),
        8 if rng.chance(40) => "C9",
        9..=17 => "C1",
        _ => rng.pick(&["C2", "C3", "C4"]),
    }
    .to_owned()
}

fn done(rng: &mut Rng, scene: &Scene, entry: &mut LogRow) {
    entry.event = scene.task(rng).to_owned();
    if entry.event.starts_with("retire") && rng.chance(60) {
        entry.event = "inspect sensor".to_owned();
    }
    if rng.chance(40) {
        entry.found = found(rng);
    }
    if rng.chance(5) {
        entry.amount = rng.pick(&["1", "2"]).to_owned();
    }
}

fn found(rng: &mut Rng) -> String {
    rng.pick(&["fraying", "mould", "dust", "Dust, fraying", "dust;fraying", "mould", "leaking", ""])
        .to_owned()
}

fn used(rng: &mut Rng, scene: &Scene, entry: &mut LogRow) {
    entry.event = match rng.range(1, 10) {
        1 => "capacity",
        2 | 3 => rng.pick(&["firmware release", "firmware recall"]),
        4 => rng.pick(&["Trips", "lens_changes", "SHOOT"]),
        _ => scene.usage(rng),
    }
    .to_owned();
    if entry.event == "frames" && rng.chance(75) || entry.event == "capacity" {
        entry.reading = rng.range(0, 12).to_string();
        if entry.event == "capacity" {
            entry.unit = rng.pick(&["", "percent", "volts"]).to_owned();
        }
        if entry.event == "capacity" && rng.chance(10) {
            entry.reading = "-1".to_owned();
        }
    }
    if rng.chance(25) && (entry.reading.is_empty() || rng.chance(5)) {
        entry.amount = rng.pick(&["0", "0.5", "1", "2", "3.000001"]).to_owned();
    }
    if entry.event != "capacity" && rng.chance(4) {
        entry.unit = rng.pick(&["trips", "frame", "percent"]).to_owned();
    }
}
