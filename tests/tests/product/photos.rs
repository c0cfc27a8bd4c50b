//! Pictures with known truth: the entries say exactly what was planted, whatever became of the files.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "tests: a panic is a failure"
)]

use chrono::{NaiveDate, NaiveDateTime};
use kitlore_engine::{Entry, Number, Time};
use kitlore_photos::{Folders, Imported, PhotoReport, Pictures, Settings, SpillOptions};
use kitlore_tests::pictures::Taken;
use kitlore_tests::planted::{Planted, Truth, items, planted};
use kitlore_tests::rng::Rng;
use std::collections::{BTreeMap, BTreeSet};
use std::num::NonZeroUsize;
use std::path::PathBuf;

const FRAMES: usize = 10_000;

fn set() -> (Vec<Planted>, Truth) {
    planted(FRAMES, 6)
}

fn pictures(set: &[Planted]) -> Pictures {
    within(SpillOptions::default(), set)
}

fn within(spill: SpillOptions, set: &[Planted]) -> Pictures {
    let mut pictures = Pictures::new(spill);
    for one in set {
        pictures.add(&one.path, one.picture.clone()).unwrap();
    }
    pictures
}

fn settings(known: &[Entry]) -> Settings {
    let imported = Imported::from_ids(known.iter().map(|entry| entry.fields().id));
    Settings { zone: Some(chrono_tz::Tz::Europe__Berlin), imported, ..Settings::default() }
}

fn read(set: &[Planted], known: &[Entry]) -> PhotoReport {
    pictures(set).report(&items(), &settings(known)).unwrap()
}

/// The clock time that stands in `when`, without its offset.
fn clock(when: &str) -> NaiveDateTime {
    let end = when[11..].find(['+', '-', 'Z']).map_or(when.len(), |at| at + 11);
    NaiveDateTime::parse_from_str(&when[..end], "%Y-%m-%dT%H:%M:%S%.f").unwrap()
}

/// What the entries say, in the form of the truth.
fn found_in(entries: &[Entry]) -> Truth {
    let mut found = Truth::default();
    for entry in entries {
        let fields = entry.fields();
        let Time::Text(when) = fields.when else { panic!("no time") };
        match fields.event {
            "frames" => {
                let Number::Text(amount) = fields.amount else { panic!("no amount") };
                let other = fields.note.strip_prefix("with ").or(fields.note.strip_prefix("on "));
                let day = when[..10].parse::<NaiveDate>().unwrap();
                let key = (fields.item.to_owned(), other.unwrap_or_default().to_owned(), day);
                *found.frames.entry(key).or_default() += amount.parse::<u64>().unwrap();
            }
            "shooting day" => {
                found.days.entry(fields.item.to_owned()).or_default().push(when.parse().unwrap());
            }
            "lens change" => {
                found.changes.entry(fields.item.to_owned()).or_default().push(clock(when));
            }
            other => panic!("an entry `{other}`"),
        }
    }
    found.days.values_mut().for_each(|days| days.sort());
    found
}

fn shuffled(mut set: Vec<Planted>, seed: u64) -> Vec<Planted> {
    let mut rng = Rng::new(seed);
    for at in (1..set.len()).rev() {
        set.swap(at, rng.range(0, at as i64) as usize);
    }
    set
}

#[test]
fn the_set_is_what_it_is_meant_to_be() {
    let (set, truth) = set();
    assert_eq!(set.len(), FRAMES);
    let changes: usize = truth.changes.values().map(Vec::len).sum();
    assert!(changes > 100, "{changes} changes");
    let moments: BTreeSet<_> = set.iter().map(|one| (&one.picture.body, one.picture.taken)).collect();
    assert!(moments.len() < FRAMES - 500, "bursts share their second");
    let offsets: BTreeSet<_> =
        set.iter().filter_map(|one| one.picture.offset.map(|offset| offset.local_minus_utc())).collect();
    assert_eq!(offsets.len(), 4, "both zones, summer and winter: {offsets:?}");
    let night = "2026-10-25".parse::<NaiveDate>().unwrap();
    let back = |one: &&Planted| one.picture.taken.unwrap().date() == night;
    assert!(set.iter().filter(back).count() > 100, "the night in which clocks are set back");
}

#[test]
fn ten_thousand_frames_give_exactly_what_was_planted() {
    let (set, truth) = set();
    let report = read(&set, &[]);
    assert_eq!(found_in(&report.entries), truth);
    assert_eq!((report.frames, report.copies), (FRAMES, 0));
    assert!(report.unmatched.is_empty(), "{:?}", report.unmatched);
    let per_key: BTreeMap<_, usize> = report.entries.iter().fold(BTreeMap::new(), |mut counts, entry| {
        if entry.fields().event == "frames" {
            *counts
                .entry((
                    entry.fields().item,
                    entry.fields().note,
                    format!("{:?}", entry.fields().when)[..20].to_owned(),
                ))
                .or_default() += 1;
        }
        counts
    });
    assert!(per_key.values().all(|count| *count == 1), "one entry for each body, lens and day");
}

#[test]
fn read_as_files_they_say_the_same() {
    let (set, _) = set();
    let folder = tempfile::tempdir().unwrap();
    for one in &set {
        let path = folder.path().join(&one.path);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, Taken::of(&one.picture).jpeg()).unwrap();
    }
    let folders = Folders::new(&[folder.path()], false);
    assert_eq!(folders.count(), FRAMES);
    let mut pictures = Pictures::default();
    let threads = NonZeroUsize::new(3).unwrap();
    pictures.read(folders, threads, |_| true).unwrap();
    assert_eq!((pictures.found(), pictures.left_out(), pictures.len()), (FRAMES, 0, FRAMES));
    let report = pictures.report(&items(), &settings(&[])).unwrap();
    assert_eq!(report.entries, read(&set, &[]).entries);
    assert_eq!((report.frames, report.copies), (FRAMES, 0));

    // Broken off, what was read until then counts.
    let mut some = Pictures::default();
    some.read(Folders::new(&[folder.path()], false), threads, |_| false).unwrap();
    assert!(some.found() == some.len() && (1..FRAMES).contains(&some.len()), "{}", some.len());
}

#[test]
fn order_of_files_does_not_matter() {
    let (set, _) = set();
    let straight = read(&set, &[]).entries;
    for seed in 1..4 {
        assert_eq!(read(&shuffled(set.clone(), seed), &[]).entries, straight, "seed {seed}");
    }
}

#[test]
fn copies_raw_files_and_edits_are_no_frames() {
    let (set, truth) = set();
    let mut rng = Rng::new(8);
    let mut more = set.clone();
    for one in &set {
        let (folder, name) = one.path.rsplit_once('/').unwrap();
        let stem = name.strip_suffix(".JPG").unwrap();
        for path in [
            format!("backup/{}", one.path),
            format!("{folder}/{stem}.DNG"),
            format!("selects/{stem} (1).jpg"),
            format!("edits/{stem}-Edit.tif"),
            format!("{folder}/Copy of {name}"),
        ] {
            if rng.chance(30) {
                more.push(Planted { path, picture: one.picture.clone() });
            }
        }
    }
    let report = read(&shuffled(more.clone(), 9), &[]);
    assert_eq!(found_in(&report.entries), truth);
    assert_eq!(report.copies, more.len() - FRAMES);
}

/// Frames with copies, with clocks that jump back and bodies without an item.
fn of_all_sorts(frames: usize, seed: u64) -> Vec<Planted> {
    let (mut set, _) = planted(frames, seed);
    let mut rng = Rng::new(seed);
    for number in 0..frames {
        let mut one = set[number].clone();
        match rng.range(0, 9) {
            0 => one.path = format!("backup/{}", one.path),
            1 => one.path = one.path.replace(".JPG", ".DNG"),
            2 => one.picture.taken = one.picture.taken.map(|taken| taken - chrono::TimeDelta::hours(5)),
            3 => one.picture.offset = None,
            4 => one.picture.body.serial += "9",
            5 => {
                one.picture.measured.temperature = Some(kitlore_syntax::Amount::from(rng.range(0, 9) as u32))
            }
            6 => one.picture.taken = None,
            _ => continue,
        }
        set.push(one);
    }
    shuffled(set, seed)
}

/// The whole report, and which files need not be read again.
fn all_of(pictures: &mut Pictures) -> (String, BTreeSet<PathBuf>) {
    let conditions = vec!["cold: temperature below 4".parse().unwrap()];
    let report = pictures.report(&items(), &Settings { conditions, ..Settings::default() }).unwrap();
    let settled = report.settled(pictures).unwrap().map(Result::unwrap).collect();
    (format!("{report:#?}"), settled)
}

#[test]
fn however_few_are_kept_in_memory_the_report_is_the_same() {
    let sizes = [(10_000, vec![7, 4_096]), (300, (1..50).collect())];
    for (frames, limits) in sizes {
        let set = of_all_sorts(frames, 11);
        let in_memory =
            all_of(&mut within(SpillOptions { pictures: usize::MAX, ..SpillOptions::default() }, &set));
        for code in ["clock-jumps-back", "unknown-gear", "mixed-offsets", "no-date"] {
            assert!(in_memory.0.contains(code), "{code}");
        }
        assert!(in_memory.1.len() > frames / 2);
        for kept in limits {
            let mut pictures = within(SpillOptions { pictures: kept, ..SpillOptions::default() }, &set);
            assert!(all_of(&mut pictures) == in_memory, "{kept} of {frames}");
            // A report can be made again.
            assert!(all_of(&mut pictures) == in_memory, "{kept} of {frames}, again");
        }
    }
}

#[test]
fn a_folder_for_temporary_files_that_does_not_exist_is_reported() {
    let (set, _) = planted(100, 6);
    let spill = SpillOptions { pictures: 40, folder: "no such folder".into() };
    let mut pictures = Pictures::new(spill.clone());
    let results: Vec<_> = set.iter().map(|one| pictures.add(&one.path, one.picture.clone())).collect();
    assert_eq!(results.iter().filter(|result| result.is_ok()).count(), 40);
    let message = results.into_iter().find_map(Result::err).unwrap().to_string();
    assert!(message.starts_with("so many pictures are sorted in a temporary file in `no such folder`, and"));
    assert!(message.contains("or set T"), "{message}");
    // Those that were taken are still there.
    assert_eq!((pictures.len(), pictures.report(&items(), &settings(&[])).unwrap().frames), (40, 40));

    // Reading ends with it, and says so.
    let folder = tempfile::tempdir().unwrap();
    for (number, one) in set.iter().enumerate() {
        std::fs::write(folder.path().join(format!("{number}.jpg")), Taken::of(&one.picture).jpeg()).unwrap();
    }
    let mut pictures = Pictures::new(spill);
    let threads = NonZeroUsize::new(3).unwrap();
    let result = pictures.read(Folders::new(&[folder.path()], false), threads, |_| true);
    assert_eq!(result.unwrap_err().to_string(), message);
}

#[test]
fn what_the_log_holds_is_not_added_again() {
    let (set, truth) = set();
    let first = read(&set, &[]).entries;
    assert_eq!(read(&shuffled(set.clone(), 5), &first).entries, []);
    let copy: Vec<Planted> =
        set.iter().map(|one| Planted { path: format!("backup/{}", one.path), ..one.clone() }).collect();
    assert_eq!(read(&copy, &first).entries, []);
    // Some of the pictures, the others thrown away, show nothing new either.
    let kept: Vec<Planted> = set.iter().step_by(7).cloned().collect();
    assert_eq!(read(&kept, &first).entries, []);

    // Read day by day, all of the folder or the new day alone, the sum is the same.
    for all_of_it in [true, false] {
        let mut log: Vec<Entry> = Vec::new();
        let days: BTreeSet<NaiveDate> = set.iter().map(|one| one.picture.taken.unwrap().date()).collect();
        for day in days.iter() {
            let until = |one: &&Planted| {
                let date = one.picture.taken.unwrap().date();
                date == *day || all_of_it && date < *day
            };
            let part: Vec<Planted> = set.iter().filter(until).cloned().collect();
            let new = read(&part, &log).entries;
            log.extend(new);
        }
        assert_eq!(found_in(&log), truth, "all of it: {all_of_it}");
    }
}

#[test]
fn later_pictures_of_a_known_day_are_added() {
    let (set, truth) = set();
    // A second card of the same days: every picture from noon on comes later.
    let is_late = |one: &&Planted| one.picture.taken.unwrap().format("%H").to_string().as_str() >= "12";
    let early: Vec<Planted> = set.iter().filter(|one| !is_late(one)).cloned().collect();
    let mut log = read(&early, &[]).entries;
    let new = read(&set, &log).entries;
    log.extend(new);
    assert_eq!(found_in(&log).frames, truth.frames);
    assert_eq!(found_in(&log).days, truth.days);
}

#[test]
fn a_clock_set_wrong_is_mended() {
    let (set, truth) = set();
    let hour = chrono::TimeDelta::hours(1);
    let wrong = |one: &Planted| {
        let mut one = one.clone();
        if one.picture.body.serial == "620044" {
            one.picture.taken = one.picture.taken.map(|taken| taken - hour);
        }
        one
    };
    let set: Vec<Planted> = set.iter().map(wrong).collect();
    let unmended = read(&set, &[]);
    assert_ne!(found_in(&unmended.entries), truth);
    let mut settings = settings(&[]);
    settings.shifts.insert("C2".to_owned(), hour);
    let mended = pictures(&set).report(&items(), &settings).unwrap();
    assert_eq!(found_in(&mended.entries), truth);
    // What was added before the clock was mended is not added again.
    settings.imported = Imported::from_ids(unmended.entries.iter().map(|entry| entry.fields().id));
    let again = pictures(&set).report(&items(), &settings).unwrap();
    let events: BTreeSet<&str> = again.entries.iter().map(|entry| entry.fields().event).collect();
    assert!(!events.contains("lens change"), "{events:?}");
}
