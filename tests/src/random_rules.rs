//! Random rule texts that use every form of the language; a rule is one line, so that lines can be left out.

use crate::rng::Rng;
use crate::scene::{CONDITIONS, FINDINGS, KINDS, Scene};

/// A rule text for a zone.
pub fn rules(rng: &mut Rng, zone: &str, scene: &Scene) -> String {
    let mut lines = vec![format!("time zone {zone}")];
    if rng.chance(20) {
        lines.push(format!("count from {}", scene.date(rng)));
    }
    if rng.chance(60) {
        lines.push("a rangefinder is a camera".to_owned());
    }
    if rng.chance(20) {
        lines.push("a camera is a machine".to_owned());
    }
    if rng.chance(35) {
        lines.push("clean sensor covers inspect sensor".to_owned());
    }
    if rng.chance(15) {
        lines.push("inspect sensor covers check strap, tighten clamps".to_owned());
    }
    if rng.chance(15) {
        lines.push("conditions dust, sand, rain, snow".to_owned());
    }
    if rng.chance(15) {
        lines.push("findings fraying, mould, dust".to_owned());
    }
    if rng.chance(40) {
        lines.push("for every item".to_owned());
    }
    for _ in 0..rng.range(2, 8) {
        if rng.chance(25) {
            lines.push(section(rng, scene));
        }
        lines.push(rule(rng, scene));
    }
    lines.join("\n")
}

fn section(rng: &mut Rng, scene: &Scene) -> String {
    let kinds = match rng.range(1, 5) {
        1 | 2 => "every item".to_owned(),
        3 => format!("{} and {}s", rng.pick(&KINDS), rng.pick(&["camera", "machine"])),
        _ => rng.pick(&["cameras", "cameras", "rangefinders", "batteries", "machines", "camera"]).to_owned(),
    };
    match rng.range(1, 10) {
        1..=3 => {
            let one = test(rng, scene);
            let two = test(rng, scene);
            match rng.range(1, 4) {
                1 => format!("for {kinds} where {one} and {two}"),
                2 => format!("for {kinds} where ({one} or {two}) and {}", test(rng, scene)),
                3 => format!("for {kinds} where {one} or {two}"),
                _ => format!("for {kinds} where {one}"),
            }
        }
        _ => format!("for {kinds}"),
    }
}

fn test(rng: &mut Rng, scene: &Scene) -> String {
    match rng.range(1, 12) {
        1 => "maker is \"third party\"".to_owned(),
        2 => "maker is not Orla".to_owned(),
        3 => format!("slots is {} {}", rng.pick(&["above", "below", "at least", "at most"]), rng.range(1, 2)),
        4 => format!("received is {} {}", rng.pick(&["before", "after"]), scene.date(rng)),
        5 => format!("in_service is {}", rng.pick(&["known", "missing"])),
        6 => "kit is \"blue bag\"".to_owned(),
        7 => format!("model is {}", rng.pick(&["M1", "not M1"])),
        8 => format!("kind is {}", rng.pick(&["camera", "not rangefinder"])),
        9 => format!("slots is {}", rng.pick(&["2", "known", "missing", "not 2"])),
        10 => "retired is missing".to_owned(),
        11 => "kit is not \"red bag\"".to_owned(),
        _ => format!("slots is before {}", scene.date(rng)),
    }
}

/// A trigger, and what details may refer to.
struct Made {
    text: String,
    before: bool,
    only_age: bool,
    usages: Vec<(String, i64)>,
}

fn rule(rng: &mut Rng, scene: &Scene) -> String {
    let task = scene.task(rng);
    let trigger = trigger(rng, scene, false, false);
    let mut details = Vec::new();
    if trigger.before && rng.chance(60) {
        details.push(format!("within {}", duration(rng)));
    }
    if rng.chance(35) {
        let usage = if trigger.usages.is_empty() { None } else { Some(&trigger.usages[0]) };
        match usage {
            Some((name, _)) if rng.chance(60) => {
                let lowest = trigger.usages.iter().filter(|u| u.0 == *name).map(|u| u.1).min().unwrap_or(0);
                if lowest > 1 {
                    details.push(format!("notice {} {name}", rng.range(1, lowest - 1)));
                }
            }
            _ => details.push(format!("notice {}", duration(rng))),
        }
    }
    let grounds = rng.chance(25);
    if grounds {
        details.push("do not use until done".to_owned());
    } else if rng.chance(25) {
        details.push(format!("allow {}", duration(rng)));
    }
    if rng.chance(20) {
        let limit = self::trigger(rng, scene, true, trigger.only_age);
        details.push(format!("no later than {}", limit.text));
    }
    if rng.chance(18) {
        details.push(format!("at most every {}", duration(rng)));
    }
    if rng.chance(10) {
        details.push("needs blower, plain bright wall; takes 10 minutes".to_owned());
    }
    let instead = if rng.chance(10) { "instead, " } else { "" };
    let details: String = details.iter().map(|d| format!("; {d}")).collect();
    format!("{instead}{}, {task}{details}", trigger.text)
}

fn trigger(rng: &mut Rng, scene: &Scene, limit: bool, age_allowed: bool) -> Made {
    let mut atoms: Vec<Made> = Vec::new();
    let shape = rng.range(1, 10);
    let count = if shape <= 5 {
        1
    } else if shape <= 8 {
        2
    } else {
        3
    };
    for _ in 0..count {
        atoms.push(atom(rng, scene, limit, age_allowed));
    }
    let t: Vec<&str> = atoms.iter().map(|a| a.text.as_str()).collect();
    let text = match shape {
        1..=5 => t[0].to_owned(),
        6 | 7 => format!("{} or {}", t[0], t[1]),
        8 => format!("{} and {}", t[0], t[1]),
        9 => format!("({} or {}) and {}", t[0], t[1], t[2]),
        _ => format!("{} and {} or {}", t[0], t[1], t[2]),
    };
    Made {
        text,
        before: atoms.iter().any(|a| a.before),
        only_age: count == 1 && atoms[0].only_age,
        usages: atoms.into_iter().flat_map(|a| a.usages).collect(),
    }
}

/// A length of a few days, sometimes in other units.
fn duration(rng: &mut Rng) -> String {
    match rng.range(1, 12) {
        1 => "1 month".to_owned(),
        2 => "2 weeks".to_owned(),
        3 => "1 year".to_owned(),
        _ => format!("{} days", rng.range(1, 8)),
    }
}

/// A usage in the rules' spelling, now and then a task.
fn usage_name(rng: &mut Rng, scene: &Scene) -> String {
    let name = if rng.chance(10) { scene.task(rng) } else { scene.usage(rng) };
    if name == "frames" { name.to_owned() } else { format!("{name}s") }
}

fn conditions(rng: &mut Rng, not_in: bool) -> String {
    let (a, b) = (rng.pick(&CONDITIONS[..]), rng.pick(&["dust", "rain", "snow"]));
    match rng.range(1, 12) {
        1 | 2 => format!(" in {a}"),
        3 => format!(" in {a} or {b}"),
        4 => format!(" in {a} and {b}"),
        5 if not_in => format!(" not in {a}"),
        6 if not_in => format!(" not in {a} or {b}"),
        _ => String::new(),
    }
}

fn usage(rng: &mut Rng, scene: &Scene) -> Made {
    let name = usage_name(rng, scene);
    let threshold = rng.range(1, 6);
    let weights = match rng.range(1, 8) {
        1 => " (in sand count 3)",
        2 => " (in dust count 0.5, in rain count 2)",
        3 => " (in rain count 0)",
        _ => "",
    };
    let conditions = conditions(rng, true);
    let (text, threshold) = if rng.chance(15) {
        (format!("after every {name}{conditions}{weights}"), 1)
    } else {
        (format!("after {threshold} {name}{conditions}{weights}"), threshold)
    };
    Made { text, before: false, only_age: false, usages: vec![(name, threshold)] }
}

fn calendar(rng: &mut Rng, scene: &Scene) -> String {
    let weekday = rng.pick(&["Monday", "Wednesday", "Sunday"]);
    let month = rng.pick(&["January", "February", "March", "November", "December"]);
    match rng.range(1, 5) {
        1 => format!("on {}", scene.date(rng)),
        2 => format!("every year on {} {month}", rng.range(1, 29)),
        3 => format!("every month on day {}", rng.range(1, 31)),
        4 => format!("every week on {weekday}"),
        _ => format!(
            "every month on the {} {weekday}",
            rng.pick(&["first", "second", "third", "fourth", "last"])
        ),
    }
}

fn delay(rng: &mut Rng, scene: &Scene) -> String {
    let (used, done) = (scene.usage(rng), scene.task(rng));
    let event = rng.pick(&["firmware release", "finding", used, done]);
    let cancels = rng.pick(&["shoot or check strap", "firmware recall", done]);
    let unless = match rng.range(1, 6) {
        1 if event != done => format!(" unless {done}"),
        2 => format!(" unless a newer {event}"),
        3 => format!(" unless firmware recall or a newer {event}"),
        4 if !cancels.contains(event) => format!(" unless a {cancels}"),
        _ => String::new(),
    };
    format!("{} days after {} {event}{unless}", rng.range(1, 8), rng.pick(&["each", "every", "a", "any"]))
}

fn atom(rng: &mut Rng, scene: &Scene, limit: bool, age_allowed: bool) -> Made {
    let kind = match rng.range(1, 16) {
        1..=4 => return usage(rng, scene),
        5..=9 if limit && age_allowed => 7,
        5 | 6 if limit => 10,
        7 if limit && !age_allowed => 10,
        other => other,
    };
    let finding = rng.pick(&FINDINGS[..]);
    let text = match kind {
        5 => calendar(rng, scene),
        6 => format!("before every {}{}", scene.usage(rng), conditions(rng, false)),
        7 => format!("at age {}", duration(rng)),
        8 => format!("when {} finds {finding}", scene.task(rng)),
        9 => format!("when {} leaves {finding} or mould", scene.task(rng)),
        10 => format!("after {}", duration(rng)),
        11 => format!("when {finding} is found"),
        12 => {
            let (name, unit) = (rng.pick(&["capacity", "capacity", "frames"]), rng.pick(&["", " percent"]));
            format!(
                "when {name} is {} {}{unit}",
                rng.pick(&["below", "above", "at least", "at most"]),
                rng.range(0, 10)
            )
        }
        13 => format!("when unused for {}", duration(rng)),
        14 | 15 => delay(rng, scene),
        _ => format!("every {}", rng.pick(&["week", "month", "3 days"])),
    };
    Made { text, before: kind == 6, only_age: kind == 7, usages: Vec::new() }
}
