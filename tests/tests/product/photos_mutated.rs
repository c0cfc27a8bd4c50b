//! Broken pictures: whatever the bytes, reading ends soon, panics never and takes little memory.
//!
//! More of them: `KITLORE_MUTATED=1000000 cargo test --release -p kitlore-tests --test product photos_mutated -- --nocapture`;
//! `KITLORE_SEED` for others.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "tests: a panic is a failure")]

use kitlore_engine::Item;
use kitlore_photos::{Picture, Pictures, Settings};
use kitlore_tests::pictures::Taken;
use kitlore_tests::rng::Rng;
use std::io::Cursor;
use std::path::Path;
use std::time::{Duration, Instant};

const COUNT: usize = 20_000;

fn taken(little: bool) -> Taken {
    Taken {
        make: "Harbour".into(),
        model: "Harbour Two".into(),
        serial: "620017".into(),
        lens: "Harbour 35mm F2".into(),
        lens_serial: "77001".into(),
        time: "2026:11:07 08:12:00".into(),
        fraction: "10".into(),
        offset: "+00:00".into(),
        temperature: Some(-15),
        little,
    }
}

fn chunk(size: [u8; 4], name: &[u8; 4], content: &[u8]) -> Vec<u8> {
    [&size[..], name, content].concat()
}

fn boxed(name: &[u8; 4], content: &[u8]) -> Vec<u8> {
    chunk((content.len() as u32 + 8).to_be_bytes(), name, content)
}

/// HEIF (ISO/IEC 23008-12): a file type, an item of the type Exif, its place, and there its data.
fn heif(tiff: &[u8]) -> Vec<u8> {
    let kind = boxed(b"ftyp", b"mif1\0\0\0\0mif1");
    let entry = boxed(b"infe", &[&[2, 0, 0, 0, 0, 1, 0, 0][..], b"Exif\0"].concat());
    let items = boxed(b"iinf", &[&[0, 0, 0, 0, 0, 1][..], &entry].concat());
    let meta = |place: u32| {
        let length = tiff.len() as u32 + 4;
        let head = [0, 0, 0, 0, 0x44, 0, 0, 1, 0, 1, 0, 0, 0, 1];
        let place = boxed(b"iloc", &[&head[..], &place.to_be_bytes(), &length.to_be_bytes()].concat());
        boxed(b"meta", &[&[0; 4][..], &items, &place].concat())
    };
    let place = (kind.len() + meta(0).len() + 8) as u32;
    [kind, meta(place), boxed(b"mdat", &[&[0; 4][..], tiff].concat())].concat()
}

/// One of every form that is read.
fn whole() -> Vec<(&'static str, Vec<u8>)> {
    let (big, little) = (taken(false), taken(true));
    let tiff = big.tiff();
    let png =
        [b"\x89PNG\r\n\x1a\n".to_vec(), chunk((tiff.len() as u32).to_be_bytes(), b"eXIf", &tiff), vec![0; 4]];
    let exif = [b"EXIF".as_slice(), &(tiff.len() as u32).to_le_bytes(), &tiff].concat();
    let webp = [b"RIFF".as_slice(), &(exif.len() as u32 + 4).to_le_bytes(), b"WEBP", &exif].concat();
    let mut raf = b"FUJIFILMCCD-RAW ".to_vec();
    raf.resize(84, b'0');
    raf.extend(120_u32.to_be_bytes());
    raf.resize(120, 0);
    raf.extend(big.jpeg());
    vec![
        ("jpeg, big end first", big.jpeg()),
        ("jpeg, little end first", little.jpeg()),
        ("tiff, big end first", big.tiff()),
        ("tiff, little end first", little.tiff()),
        ("png", png.concat()),
        ("webp", webp),
        ("raf", raf),
        ("heif", heif(&tiff)),
    ]
}

fn read(bytes: &[u8]) -> Result<Picture, kitlore_engine::Problem> {
    Picture::from_reader(Path::new("a picture"), Cursor::new(bytes))
}

#[test]
fn every_form_gives_the_same() {
    for (form, bytes) in whole() {
        let picture = read(&bytes).unwrap_or_else(|problem| panic!("{form}: {problem}"));
        let taken = picture.taken.map(|taken| taken.to_string());
        assert_eq!(taken.as_deref(), Some("2026-11-07 08:12:00.100"), "{form}");
        assert_eq!(picture.offset.map(|offset| offset.to_string()).as_deref(), Some("+00:00"), "{form}");
        assert_eq!(
            (picture.body.model.as_str(), picture.body.serial.as_str()),
            ("Harbour Two", "620017"),
            "{form}"
        );
        assert_eq!(
            (picture.lens.model.as_str(), picture.lens.serial.as_str()),
            ("Harbour 35mm F2", "77001"),
            "{form}"
        );
        assert_eq!(
            picture.measured.temperature.map(|value| value.to_string()).as_deref(),
            Some("-1.5"),
            "{form}"
        );
    }
}

#[test]
fn a_picture_cut_anywhere_is_reported_or_read() {
    for (form, bytes) in whole() {
        for length in 0..bytes.len() {
            if let Err(problem) = read(&bytes[..length]) {
                let known = ["broken-picture", "no-metadata", "not-a-picture"];
                assert!(known.contains(&&*problem.code), "{form} cut at {length}: {problem}");
            }
        }
    }
}

fn mutated(bytes: &mut Vec<u8>, rng: &mut Rng) {
    for _ in 0..rng.range(1, 6) {
        if bytes.is_empty() {
            return;
        }
        let at = rng.range(0, bytes.len() as i64 - 1) as usize;
        match rng.range(0, 5) {
            0 => bytes[at] = rng.range(0, 255) as u8,
            1 => bytes[at] ^= 1 << rng.range(0, 7),
            2 => bytes.truncate(at),
            3 => {
                let extreme = [0, 1, 0x7F, 0x80, 0xFF][rng.range(0, 4) as usize];
                let end = bytes.len().min(at + [1, 2, 4, 8][rng.range(0, 3) as usize]);
                bytes[at..end].fill(extreme);
            }
            4 => {
                let end = bytes.len().min(at + rng.range(1, 64) as usize);
                let part = bytes[at..end].to_vec();
                let to = rng.range(0, bytes.len() as i64) as usize;
                bytes.splice(to..to, part);
            }
            _ => {
                let end = bytes.len().min(at + rng.range(1, 16) as usize);
                bytes.drain(at..end);
            }
        }
    }
}

/// The most memory this process ever had, in KiB, where the system says so.
fn peak() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find(|line| line.starts_with("VmHWM:"))?;
    line.split_whitespace().nth(1)?.parse().ok()
}

#[test]
fn mutated_pictures_neither_panic_nor_hang_nor_swell() {
    let count = std::env::var("KITLORE_MUTATED").map_or(COUNT, |count| count.parse().unwrap());
    let whole = whole();
    let items = [
        Item::new("C1", "camera").attribute("serial", "620017"),
        Item::new("L1", "lens").model("Harbour 35mm F2"),
    ];
    let mut rng = Rng::new(std::env::var("KITLORE_SEED").map_or(25, |seed| seed.parse().unwrap()));
    let before = peak();
    let (mut slowest, mut slowest_bytes, mut sound, mut reported) = (Duration::ZERO, Vec::new(), 0, 0);
    let mut pictures = Pictures::default();
    for number in 0..count {
        let (form, bytes) = &whole[number % whole.len()];
        let mut bytes = bytes.clone();
        mutated(&mut bytes, &mut rng);
        let begun = Instant::now();
        let result = read(&bytes);
        let time = begun.elapsed();
        if time > slowest {
            (slowest, slowest_bytes) = (time, bytes.clone());
        }
        match result {
            Ok(picture) => {
                sound += 1;
                pictures.add(format!("{form}/HRB_{number:04}.JPG"), picture).unwrap();
            }
            Err(_) => reported += 1,
        }
        if number % 5_000 == 4_999 || number + 1 == count {
            let report = std::mem::take(&mut pictures).report(&items, &Settings::default()).unwrap();
            assert!(report.frames > 0, "some keep their body");
        }
    }
    let swollen = peak().zip(before).map(|(after, before)| after - before);
    // On a busy machine another program had its turn; what the input itself takes is seen when it is read again.
    let again = (0..9).map(|_| {
        let begun = Instant::now();
        drop(read(&slowest_bytes));
        begun.elapsed()
    });
    println!(
        "{count} pictures: {sound} read, {reported} reported; slowest {slowest:?}, read again {:?}; memory grew by {swollen:?} KiB",
        again.min().unwrap_or_default()
    );
    assert!(sound > count / 10 && reported > count / 10, "{sound} read, {reported} reported");
    assert!(slowest < Duration::from_secs(2), "{slowest:?}");
    assert!(swollen.is_none_or(|grown| grown < 100 * 1024), "{swollen:?} KiB");
}
