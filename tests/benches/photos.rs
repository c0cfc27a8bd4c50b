//! Pictures a second, beside a program that only opens each file and reads its first 64 KiB.
//!
//! `cargo bench -p kitlore-tests --bench photos`; `KITLORE_PICTURES=100000` for as many. Rounds of both take
//! turns in one run, all files being in the system's cache; what counts is the ratio.

#![allow(clippy::unwrap_used, clippy::indexing_slicing, reason = "a bench: what fails ends it")]

use kitlore_engine::Item;
use kitlore_photos::{Found, Pictures, Settings};
use kitlore_tests::pictures::Taken;
use std::fs::File;
use std::io::Read;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::{Duration, Instant};

/// A small picture, as for the web.
const BYTES: usize = 20_000;
const ROUNDS: usize = 5;

fn write(folder: &Path, count: usize) -> Vec<PathBuf> {
    let begin = chrono::NaiveDate::from_ymd_opt(2026, 1, 1).unwrap().and_hms_opt(0, 0, 0).unwrap();
    let mut files = Vec::new();
    for number in 0..count {
        let time = begin + chrono::TimeDelta::seconds(number as i64 * 200);
        let taken = Taken {
            make: "Harbour".into(),
            model: "Harbour Two".into(),
            serial: format!("62001{}", number % 3),
            lens: format!("Harbour {}mm F2", [24, 35, 50, 85, 135, 200, 300][number / 40 % 7]),
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

/// Kilobytes of memory this process has now, where the system tells.
fn memory() -> u64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find(|line| line.starts_with("VmRSS:"));
    line.and_then(|line| line.split_whitespace().nth(1)?.parse().ok()).unwrap_or_default()
}

fn median(mut times: Vec<Duration>) -> f64 {
    times.sort();
    times[times.len() / 2].as_secs_f64()
}

fn main() {
    let test = std::env::args().any(|arg| arg == "--test");
    let default = if test { 300 } else { 20_000 };
    let count = std::env::var("KITLORE_PICTURES").map_or(default, |count| count.parse().unwrap());
    let folder = tempfile::tempdir().unwrap();
    let files = write(folder.path(), count);
    let mut items: Vec<Item> = (0..3)
        .map(|n| Item::new(format!("C{n}"), "camera").attribute("serial", format!("62001{n}")))
        .collect();
    items.extend(
        [24, 35, 50, 85, 135, 200, 300]
            .map(|mm| Item::new(format!("L{mm}"), "lens").model(format!("Harbour {mm}mm F2"))),
    );
    for threads in [1, 2] {
        let threads = NonZeroUsize::new(threads).unwrap();
        let (mut theirs, mut ours, mut entries, mut grown) = (Vec::new(), Vec::new(), 0, 0);
        for round in 0..=ROUNDS {
            let begun = Instant::now();
            assert_eq!(plain(&files, threads), count * BYTES);
            let time = begun.elapsed();
            let begun = Instant::now();
            let before = memory();
            let pictures = Pictures::read(Found::in_folders(&[folder.path()], false), threads, |_| true);
            grown = grown.max(memory().saturating_sub(before));
            let report = pictures.report(&items, &Settings::default());
            assert_eq!(report.frames, count);
            entries = report.entries.len();
            // The first round fills the cache.
            if round > 0 {
                theirs.push(time);
                ours.push(begun.elapsed());
            }
        }
        let (theirs, ours) = (median(theirs), median(ours));
        println!(
            "{count} pictures on {threads} threads: first 64 KiB of each {theirs:.3} s; found, read and told in {entries} entries {ours:.3} s, {:.0} pictures a second; ratio {:.2}; memory grew by {} bytes a picture",
            count as f64 / ours,
            ours / theirs,
            grown as usize * 1024 / count
        );
    }
}
