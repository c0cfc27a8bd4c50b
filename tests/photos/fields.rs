//! What kitlore reads of pictures, as csv, to be held against another reader: `tests/photos/check`.

#![allow(clippy::unwrap_used, reason = "a script: what fails ends it")]

use kitlore_photos::Picture;
use std::path::Path;

fn main() {
    let mut writer = csv::Writer::from_writer(std::io::stdout());
    writer
        .write_record([
            "file",
            "problem",
            "taken",
            "offset",
            "make",
            "model",
            "serial",
            "lens_make",
            "lens",
            "lens_serial",
            "temperature",
            "humidity",
            "pressure",
            "depth",
        ])
        .unwrap();
    for file in std::io::stdin().lines() {
        let file = file.unwrap();
        let (picture, problem) = match Picture::read(Path::new(&file)) {
            Ok(picture) => (picture, String::new()),
            Err(problem) => (Picture::default(), problem.code.to_string()),
        };
        let taken = picture.taken.map(|taken| taken.format("%Y-%m-%dT%H:%M:%S%.9f").to_string());
        let offset = picture.offset.map(|offset| offset.to_string());
        let measured = picture.measured;
        let numbers = [measured.temperature, measured.humidity, measured.pressure, measured.depth];
        let numbers = numbers.map(|number| number.map(|number| number.to_string()).unwrap_or_default());
        let texts = [
            file,
            problem,
            taken.unwrap_or_default(),
            offset.unwrap_or_default(),
            picture.body.make,
            picture.body.model,
            picture.body.serial,
            picture.lens.make,
            picture.lens.model,
            picture.lens.serial,
        ];
        writer.write_record(texts.iter().chain(&numbers)).unwrap();
    }
}
