//! Pictures a second, beside a program that only opens each file and reads its first 64 KiB; and peak memory.
//!
//! `cargo bench -p kitlore-tests --bench photos`; `KITLORE_PICTURES=100000` for as many. Rounds of both take
//! turns in one run, on as many threads, all files being in the system's cache; what counts is the ratio. What
//! kitlore is timed for is all of it: looking through the folder, reading, telling the entries. Peak memory is
//! that of processes of their own, which read a tenth of the pictures and all of them: of the same days, so that
//! both tell as many entries.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a bench: what fails ends it")]

use kitlore_engine::{Item, Number};
use kitlore_photos::{Found, Pictures, Report, Settings};
use kitlore_tests::pictures::Taken;
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
/// Tells a process of this bench to read that folder and to say how much memory it took.
const PEAK_OF: &str = "KITLORE_PEAK_OF";

fn write(folder: &Path, count: usize) -> Vec<PathBuf> {
    let begin = chrono::NaiveDate::from_ymd_opt(2026, 1, 1).unwrap().and_hms_opt(0, 0, 0).unwrap();
    let mut files = Vec::new();
    for number in 0..count {
        let second = number * DAYS * 86_400 / count;
        let time = begin + chrono::TimeDelta::seconds(second as i64);
        let taken = Taken {
            make: "Harbour".into(),
            model: "Harbour Two".into(),
            serial: format!("62001{}", number % 3),
            lens: format!("Harbour {}mm F2", LENSES[second / 21_600 % LENSES.len()]),
            time: time.format("%Y:%m:%d %H:%M:%S").to_string(),
            offset: "+00:00".into(),
            ..Taken::default()
        };
        let mut jpeg = taken.jpeg();
        jpeg.resize(BYTES, 0);
        let day = folder.join(time.format("%Y-%m-%d").to_string());
        std::fs::create_dir_all(&day).unwrap();
        let file = day.join(format!("HRB_{number:06}.JPG"));
        std::fs::write(&file, jpeg).unwrap();
        files.push(file);
    }
    files
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

fn ours(folder: &Path, threads: NonZeroUsize, items: &[Item]) -> Report {
    let pictures = Pictures::read(Found::in_folders(&[folder], false), threads, |_| true);
    pictures.report(items, &Settings::default())
}

/// All frames of each body are told, and each of its lens changes.
fn check(report: &Report, count: usize) {
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

/// The most memory that this process had, in KiB, where the system tells.
fn peak() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmHWM:"));
    line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok()).unwrap_or_default()
}

/// KiB that a process takes at most which reads a folder, and how many entries it tells.
fn peak_of(folder: &Path) -> (u64, usize) {
    let output =
        std::process::Command::new(std::env::current_exe().unwrap()).env(PEAK_OF, folder).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let numbers = String::from_utf8(output.stdout).unwrap();
    let numbers: Vec<usize> = numbers.split_whitespace().map(|number| number.parse().unwrap()).collect();
    (numbers[0] as u64, numbers[1])
}

fn median(mut numbers: Vec<f64>) -> f64 {
    numbers.sort_by(f64::total_cmp);
    numbers[numbers.len() / 2]
}

fn main() {
    let two = NonZeroUsize::new(2).unwrap();
    let items = items();
    if let Some(folder) = std::env::var_os(PEAK_OF) {
        let report = ours(folder.as_ref(), two, &items);
        println!("{} {}", peak(), report.entries.len());
        return;
    }
    let test = std::env::args().any(|arg| arg == "--test");
    let default = if test { 7_500 } else { 20_000 };
    let count = std::env::var("KITLORE_PICTURES").map_or(default, |count| count.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let files = write(folder.path(), count);
    for threads in [NonZeroUsize::MIN, two] {
        // These rounds check the answers and fill the cache.
        assert_eq!(plain(&files, threads), count * BYTES);
        check(&ours(folder.path(), threads, &items), count);
        let (mut theirs, mut own, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
        let timed = |what: &mut dyn FnMut()| {
            let begun = Instant::now();
            what();
            Duration::as_secs_f64(&begun.elapsed())
        };
        for _ in 0..if test { 1 } else { ROUNDS } {
            theirs.push(timed(&mut || assert!(plain(&files, threads) > 0)));
            own.push(timed(&mut || drop(ours(folder.path(), threads, &items))));
            ratios.extend(own.last().zip(theirs.last()).map(|(own, theirs)| own / theirs));
        }
        let (least, most) =
            ratios.iter().fold((f64::MAX, 0_f64), |(a, b), ratio| (a.min(*ratio), b.max(*ratio)));
        let (theirs, own) = (median(theirs), median(own));
        println!(
            "{count} pictures, threads: {threads}: first 64 KiB of each {theirs:.3} s; found, read and told {own:.3} s, {:.0} pictures a second; ratio {:.2} (rounds: {least:.2} to {most:.2})",
            count as f64 / own,
            median(ratios)
        );
    }
    let few = tempfile::tempdir().unwrap();
    write(few.path(), count / 10);
    let ((less, of_few), (more, of_all)) = (peak_of(few.path()), peak_of(folder.path()));
    println!(
        "peak memory: {} pictures {less} KiB ({of_few} entries), {count} pictures {more} KiB ({of_all} entries): {:.0} bytes for each more",
        count / 10,
        (more.saturating_sub(less) * 1024) as f64 / (count - count / 10) as f64
    );
}
