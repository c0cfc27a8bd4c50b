//! Writes the example pictures: two days of a coastal job with two invented bodies and three invented lenses.
//!
//! `cargo run -p kitlore-tests --example make_pictures -- examples/pictures/card`

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a script: what fails ends it")]

use kitlore_tests::pictures::Taken;
use std::path::Path;

/// Which body, with which lens, on which day from when (in minutes of the day), how many frames.
const TAKEN: [(&str, &str, &str, i32, u32); 9] = [
    ("two", "Harbour 35mm F2", "2026:11:07", 8 * 60 + 12, 4),
    ("two", "Harbour 85mm F1.8", "2026:11:07", 9 * 60 + 40, 3),
    ("two", "Harbour 35mm F2", "2026:11:07", 11 * 60 + 5, 3),
    ("one", "Lantern 24-70mm F4", "2026:11:07", 10 * 60, 4),
    ("two", "Harbour 85mm F1.8", "2026:11:07", 15 * 60 + 30, 2),
    ("two", "Harbour 35mm F2", "2026:11:08", 7 * 60 + 50, 3),
    ("two", "Harbour 85mm F1.8", "2026:11:08", 8 * 60 + 25, 3),
    ("one", "Lantern 24-70mm F4", "2026:11:08", 9 * 60 + 15, 3),
    ("two", "Harbour 35mm F2", "2026:11:08", 12 * 60, 2),
];

fn main() {
    let folder = std::env::args().nth(1).expect("name the folder to write into");
    std::fs::create_dir_all(&folder).unwrap();
    let (mut ones, mut twos) = (41, 318);
    for (body, lens, day, minute, count) in TAKEN {
        for frame in 0..count {
            let (seconds, number) = match body {
                "one" => (frame * 7, &mut ones),
                _ => (frame / 2, &mut twos),
            };
            *number += 1;
            let (name, model, serial) = match body {
                "one" => (format!("LTN_{number:04}.JPG"), "Lantern One", "  0031187"),
                _ => (format!("HRB_{number:04}.JPG"), "Harbour Two", "620017"),
            };
            let taken = Taken {
                make: model.split(' ').next().unwrap().to_owned(),
                model: model.to_owned(),
                serial: serial.to_owned(),
                lens: lens.to_owned(),
                // As some bodies write it for a lens whose number they do not know.
                lens_serial: if body == "one" { "0000000000".to_owned() } else { String::new() },
                time: format!("{day} {:02}:{:02}:{seconds:02}", minute / 60, minute % 60),
                fraction: if body == "two" { format!("{}", 10 + frame % 2 * 50) } else { String::new() },
                offset: if body == "two" { "+00:00".to_owned() } else { String::new() },
                temperature: (body == "two").then_some(if minute < 9 * 60 { -15 } else { 60 }),
                little: body == "one",
            };
            std::fs::write(Path::new(&folder).join(name), taken.jpeg()).unwrap();
        }
    }
}
