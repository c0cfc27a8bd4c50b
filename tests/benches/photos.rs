//! Pictures a second, beside a program that only opens each file and reads its first 64 KiB; and peak memory.
//!
//! `cargo bench -p kitlore-tests --bench photos`; `KITLORE_PICTURES=100000` for as many. Rounds of both take
//! turns in one run, on as many threads, all files being in the system's cache; what counts is the ratio. What
//! kitlore is timed for is all of it: looking through the folder, reading, making the entries, which has a second
//! thread of its own also where one reads. Peak memory is
//! that of processes of their own, which read a tenth of the pictures and all of them: of the same days, so that
//! both make as many entries. Both are more than they keep in memory. Twice and twenty times as many are given
//! without files.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a bench: what fails ends it")]

use kitlore_engine::{Item, Number};
use kitlore_photos::{Folders, Gear, PhotoReport, Picture, Pictures, Settings, SpillOptions};
use kitlore_tests::pictures::Taken;
use std::ffi::OsStr;
use std::fs::File;
use std::io::Read;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// A small picture, as for the web.
const BYTES: usize = 20_000;
const ROUNDS: usize = 9;
const LENSES: [u32; 7] = [24, 35, 50, 85, 135, 200, 300];
/// The pictures spread over so many days; each body changes its lens every six hours.
const DAYS: usize = 60;
/// For a process of this bench: the folder to read, or how many pictures to take without files, and how many of them to
/// keep in memory. It prints how much memory it took.
const PEAK_OF: &str = "KITLORE_PEAK_OF";
const PEAK_WITH: &str = "KITLORE_PEAK_WITH";

/// The picture of a number, of so many, and where it lies.
fn picture(number: usize, count: usize) -> (PathBuf, Picture) {
    let begin = chrono::NaiveDate::from_ymd_opt(2026, 1, 1).unwrap().and_hms_opt(0, 0, 0).unwrap();
    let second = number * DAYS * 86_400 / count;
    let taken = begin + chrono::TimeDelta::seconds(second as i64);
    let gear = |model: String, serial: String| Gear { make: "Harbour".into(), model, serial };
    let picture = Picture {
        taken: Some(taken),
        offset: chrono::FixedOffset::east_opt(0),
        body: gear("Harbour Two".into(), format!("62001{}", number % 3)),
        lens: gear(format!("Harbour {}mm F2", LENSES[second / 21_600 % LENSES.len()]), String::new()),
        ..Picture::default()
    };
    (PathBuf::from(format!("{}/HRB_{number:06}.JPG", taken.date())), picture)
}

fn write(folder: &Path, count: usize) -> Vec<PathBuf> {
    let write = |number| {
        let (path, picture) = picture(number, count);
        let mut jpeg = Taken::of(&picture).jpeg();
        jpeg.resize(BYTES, 0);
        let file = folder.join(path);
        std::fs::create_dir_all(file.parent().unwrap()).unwrap();
        std::fs::write(&file, jpeg).unwrap();
        file
    };
    (0..count).map(write).collect()
}

fn items() -> Vec<Item> {
    let bodies =
        (0..3).map(|n| Item::new(format!("C{n}"), "camera").attribute("serial", format!("62001{n}")));
    let lenses = LENSES.map(|mm| Item::new(format!("L{mm}"), "lens").model(format!("Harbour {mm}mm F2")));
    bodies.chain(lenses).collect()
}

/// Opens each file and reads its first 64 KiB.
fn plain(files: &[PathBuf], threads: NonZeroUsize) -> usize {
    let (next, bytes) = (AtomicUsize::new(0), AtomicUsize::new(0));
    std::thread::scope(|scope| {
        for _ in 0..threads.get() {
            scope.spawn(|| {
                let mut buffer = vec![0; 64 * 1024];
                while let Some(file) = files.get(next.fetch_add(1, Ordering::Relaxed)) {
                    let mut file = File::open(file).unwrap();
                    let mut filled = 0;
                    loop {
                        let read = file.read(&mut buffer[filled..]).unwrap();
                        filled += read;
                        if read == 0 || filled == buffer.len() {
                            break;
                        }
                    }
                    bytes.fetch_add(filled, Ordering::Relaxed);
                }
            });
        }
    });
    bytes.into_inner()
}

fn ours(folder: &Path, threads: NonZeroUsize, items: &[Item], spill: SpillOptions) -> PhotoReport {
    let mut pictures = Pictures::new(spill);
    pictures.read(Folders::new(&[folder], false), threads, |_| true).unwrap();
    pictures.report(items, &Settings::default()).unwrap()
}

/// All frames of each body are in the report, and each of its lens changes.
fn check(report: &PhotoReport, count: usize) {
    assert_eq!((report.frames, report.copies, report.problems.len()), (count, 0, 0));
    for body in 0..3 {
        let id = format!("C{body}");
        let of_body = || report.entries.iter().map(|entry| entry.fields()).filter(|fields| fields.item == id);
        let frames = of_body().filter(|fields| fields.event == "frames").map(|fields| match fields.amount {
            Number::Text(amount) => amount.parse::<usize>().unwrap(),
            _ => 0,
        });
        assert_eq!(frames.sum::<usize>(), (body..count).step_by(3).count(), "frames of {id}");
        let changes = of_body().filter(|fields| fields.event == "lens change").count();
        // Every body takes pictures in every quarter of a day.
        assert_eq!(changes, DAYS * 4 - 1, "lens changes of {id}");
        assert_eq!(of_body().filter(|fields| fields.event == "shooting day").count(), DAYS);
    }
}

/// The most memory that this process had, in KiB, where the system says so.
fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok()).unwrap_or_default()
}

/// KiB that a process takes at most which reads a folder, or is given so many pictures, and how many entries it
/// makes.
fn peak_of(what: &OsStr, kept: usize) -> (u64, usize) {
    let mut this = std::process::Command::new(std::env::current_exe().unwrap());
    let output = this.env(PEAK_OF, what).env(PEAK_WITH, kept.to_string()).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let numbers = String::from_utf8(output.stdout).unwrap();
    let numbers: Vec<usize> = numbers.split_whitespace().map(|number| number.parse().unwrap()).collect();
    (numbers[0] as u64, numbers[1])
}

/// What such a process does.
fn say_peak_of(what: &OsStr) {
    let spill = SpillOptions {
        pictures: std::env::var(PEAK_WITH).unwrap().parse().unwrap(),
        ..SpillOptions::default()
    };
    let report = match what.to_str().and_then(|count| count.parse().ok()) {
        None => ours(what.as_ref(), NonZeroUsize::new(2).unwrap(), &items(), spill),
        Some(count) => {
            let mut pictures = Pictures::new(spill);
            for number in 0..count {
                let (path, picture) = picture(number, count);
                pictures.add(path, picture).unwrap();
            }
            pictures.report(&items(), &Settings::default()).unwrap()
        }
    };
    println!("{} {}", peak(), report.entries.len());
}

/// Says by how much memory grows with pictures of the same days; bytes for each more.
fn compare(how: &str, kept: usize, few: (usize, &OsStr), many: (usize, &OsStr)) -> f64 {
    let ((less, of_few), (more, of_many)) = (peak_of(few.1, kept), peak_of(many.1, kept));
    let each = (more as f64 - less as f64) * 1024.0 / (many.0 - few.0) as f64;
    println!(
        "peak memory, {how}, {kept} kept in memory: {} pictures {less} KiB ({of_few} entries), {} pictures {more} KiB ({of_many} entries): {each:.2} bytes for each more",
        few.0, many.0
    );
    each
}

fn median(mut numbers: Vec<f64>) -> f64 {
    numbers.sort_by(f64::total_cmp);
    numbers[numbers.len() / 2]
}

fn main() {
    let two = NonZeroUsize::new(2).unwrap();
    let items = items();
    if let Some(folder) = std::env::var_os(PEAK_OF) {
        return say_peak_of(&folder);
    }
    let test = std::env::args().any(|arg| arg == "--test");
    let default = if test { 7_500 } else { 20_000 };
    let count = std::env::var("KITLORE_PICTURES").map_or(default, |count| count.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let files = write(folder.path(), count);
    for threads in [NonZeroUsize::MIN, two] {
        // These rounds check the answers and fill the cache.
        assert_eq!(plain(&files, threads), count * BYTES);
        check(&ours(folder.path(), threads, &items, SpillOptions::default()), count);
        let (mut theirs, mut own, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
        let timed = |what: &mut dyn FnMut()| {
            let begun = Instant::now();
            what();
            Duration::as_secs_f64(&begun.elapsed())
        };
        for _ in 0..if test { 1 } else { ROUNDS } {
            theirs.push(timed(&mut || assert!(plain(&files, threads) > 0)));
            own.push(timed(&mut || drop(ours(folder.path(), threads, &items, SpillOptions::default()))));
            ratios.extend(own.last().zip(theirs.last()).map(|(own, theirs)| own / theirs));
        }
        let (least, most) =
            ratios.iter().fold((f64::MAX, 0_f64), |(a, b), ratio| (a.min(*ratio), b.max(*ratio)));
        let (theirs, own) = (median(theirs), median(own));
        println!(
            "{count} pictures, threads: {threads}: first 64 KiB of each {theirs:.3} s; found, read and reported {own:.3} s, {:.0} pictures a second; ratio {:.2} (rounds: {least:.2} to {most:.2})",
            count as f64 / own,
            median(ratios)
        );
    }
    let few = tempfile::tempdir().unwrap();
    write(few.path(), count / 10);
    let kept = SpillOptions::default().pictures.min(count / 20);
    compare("read", kept, (count / 10, few.path().as_os_str()), (count, folder.path().as_os_str()));
    // Of many more than a folder is made of here.
    let [few, many] = [2 * count, 20 * count].map(|count| (count, count.to_string()));
    let each = compare("given", kept, (few.0, few.1.as_ref()), (many.0, many.1.as_ref()));
    assert!(each < 5.0, "memory grows with the number of pictures");
}
