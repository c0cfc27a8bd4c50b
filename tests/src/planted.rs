//! Sets of pictures with known truth: the generator decides who took what with which lens, and writes down what
//! a log must say, before any picture is made of it.

use crate::rng::Rng;
use chrono::{DateTime, FixedOffset, NaiveDate, NaiveDateTime, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use kitlore_engine::Item;
use kitlore_photos::{Gear, Picture};
use std::collections::BTreeMap;

/// What the log must say.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Truth {
    /// Per item, other item, shooting day: frames.
    pub frames: BTreeMap<(String, String, NaiveDate), u64>,
    /// Per item: its shooting days.
    pub days: BTreeMap<String, Vec<NaiveDate>>,
    /// Per body: the clock times of its lens changes.
    pub changes: BTreeMap<String, Vec<NaiveDateTime>>,
}

/// One picture and where it lies.
#[derive(Debug, Clone)]
pub struct Planted {
    /// Its path.
    pub path: String,
    /// What it says.
    pub picture: Picture,
}

/// How one body keeps time and names its files.
struct Body {
    id: &'static str,
    model: &'static str,
    serial: &'static str,
    /// Where it is.
    zone: Tz,
    /// Whether its pictures give the offset; without, its clock is never set anew: it goes on evenly when the
    /// zone's clocks change.
    offsets: bool,
    /// Whether they give hundredths of a second.
    hundredths: bool,
    lenses: &'static [(&'static str, &'static str, &'static str)],
}

/// Id, model, serial number of each lens.
const WIDE: (&str, &str, &str) = ("L1", "Harbour 24mm F2", "77001");
const BODIES: [Body; 3] = [
    Body {
        id: "C1",
        model: "Harbour Two",
        serial: "620017",
        zone: Tz::Europe__Berlin,
        offsets: true,
        hundredths: true,
        lenses: &[WIDE, ("L2", "Harbour 35mm F2", ""), ("L3", "Harbour 85mm F1.8", "")],
    },
    Body {
        id: "C2",
        model: "Harbour Two",
        serial: "620044",
        zone: Tz::Europe__Berlin,
        offsets: false,
        hundredths: false,
        // Two lenses of one model, distinguished by their numbers.
        lenses: &[("L4", "Harbour 24mm F2", "77002"), ("L5", "Harbour 135mm F2", "")],
    },
    Body {
        id: "C3",
        model: "Lantern One",
        serial: "",
        zone: Tz::Pacific__Auckland,
        offsets: true,
        hundredths: false,
        lenses: &[("L6", "Lantern 24-70mm F4", ""), ("L7", "Lantern 70-200mm F4", "")],
    },
];

/// The inventory that fits.
pub fn items() -> Vec<Item> {
    let mut items = Vec::new();
    for body in &BODIES {
        let item = Item::new(body.id, "camera").model(body.model);
        items.push(if body.serial.is_empty() { item } else { item.attribute("serial", body.serial) });
        for (id, model, serial) in body.lenses {
            let item = Item::new(*id, "lens").model(*model);
            items.push(if serial.is_empty() { item } else { item.attribute("Serial number", *serial) });
        }
    }
    items
}

/// So many frames of three bodies, and what a log must say of them. Days lie around both changes of the clocks
/// and around midnight.
pub fn planted(frames: usize, seed: u64) -> (Vec<Planted>, Truth) {
    let mut rng = Rng::new(seed);
    let mut all = Vec::new();
    let mut truth = Truth::default();
    for (number, body) in BODIES.iter().enumerate() {
        let count = frames / BODIES.len() + usize::from(number < frames % BODIES.len());
        of_body(body, count, &mut rng, &mut all, &mut truth);
    }
    for days in truth.days.values_mut() {
        days.sort();
        days.dedup();
    }
    (all, truth)
}

fn of_body(body: &Body, count: usize, rng: &mut Rng, all: &mut Vec<Planted>, truth: &mut Truth) {
    // From the evening before each change of the clocks, every few days in between.
    let mut at = Utc.with_ymd_and_hms(2026, 3, 28, 20, 0, 0).unwrap();
    let start_offset = offset_at(body.zone, at);
    let (mut lens, mut last_lens): (usize, Option<usize>) = (0, None);
    let mut hundredths = 0;
    let mut file = 9_700;
    let mut left_in_session = 400;
    for _ in 0..count {
        if left_in_session == 0 {
            left_in_session = rng.range(150, 600);
            at = match rng.range(1, 4) {
                // Into the night in which the clocks are set back.
                1 if at < Utc.with_ymd_and_hms(2026, 10, 24, 0, 0, 0).unwrap() => {
                    Utc.with_ymd_and_hms(2026, 10, 24, 22, 30, 0).unwrap()
                }
                _ => at + TimeDelta::hours(rng.range(9, 200)),
            };
        }
        left_in_session -= 1;
        if rng.chance(3) {
            lens = rng.range(0, body.lenses.len() as i64 - 1) as usize;
            at += TimeDelta::seconds(30);
        } else if rng.chance(40) {
            // A burst: the second is shared, or hundredths tell the frames apart.
            if body.hundredths {
                hundredths = (hundredths + 7) % 100;
            }
        } else {
            at += TimeDelta::seconds(rng.range(1, 90));
            hundredths = rng.range(0, 99);
        }
        if body.hundredths && hundredths < 7 {
            at += TimeDelta::seconds(1);
        }
        file = if file == 9_999 { 1 } else { file + 1 };
        let offset = if body.offsets { offset_at(body.zone, at) } else { start_offset };
        let nanos = if body.hundredths { hundredths * 10_000_000 } else { 0 };
        let clock = at.with_timezone(&offset).naive_local() + TimeDelta::nanoseconds(nanos);
        // Some frames are taken with a lens that says nothing of itself.
        let shown = (!rng.chance(2)).then_some(lens);
        let gear = |model: &str, serial: &str| Gear {
            make: model.split(' ').next().unwrap_or_default().to_owned(),
            model: model.to_owned(),
            serial: serial.to_owned(),
        };
        let with = shown.map(|lens| body.lenses[lens]);
        let picture = Picture {
            taken: Some(clock),
            offset: body.offsets.then_some(offset),
            body: gear(body.model, body.serial),
            lens: with.map(|(_, model, serial)| gear(model, serial)).unwrap_or_default(),
            ..Picture::default()
        };
        let folder = format!("{}/{}", body.id, clock.date());
        all.push(Planted { path: format!("{folder}/HRB_{file:04}.JPG"), picture });

        let day = clock.date();
        let id = |text: &str| text.to_owned();
        let other = with.map(|(item, ..)| item).unwrap_or_default();
        *truth.frames.entry((id(body.id), id(other), day)).or_default() += 1;
        truth.days.entry(id(body.id)).or_default().push(day);
        if let Some((item, ..)) = with {
            *truth.frames.entry((id(item), id(body.id), day)).or_default() += 1;
            truth.days.entry(id(item)).or_default().push(day);
            if last_lens.is_some_and(|last| last != lens) {
                truth.changes.entry(id(body.id)).or_default().push(clock);
            }
            last_lens = Some(lens);
        }
    }
}

fn offset_at(zone: Tz, at: DateTime<Utc>) -> FixedOffset {
    use chrono::Offset;
    zone.offset_from_utc_datetime(&at.naive_utc()).fix()
}
