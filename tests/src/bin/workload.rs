//! The workload for the figures of speed: as files, and folded in memory beside the loop by hand.
//!
//! ```sh
//! workload write ITEMS ENTRIES FOLDER    # items.csv, log.csv, and log.jsonl up to 10 million
//! workload fold ITEMS ENTRIES ANSWERS    # times as lines of json; the loop's answers as csv
//! ```

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a tool of the tests"
)]

use kitlore_engine::Program;
use kitlore_tests::workload::{RULES, Workload, answers, asked_at, by_hand, expected};
use std::fs::File;
use std::hint::black_box;
use std::io::{BufWriter, Write};
use std::num::NonZeroUsize;
use std::path::Path;
use std::time::Instant;

/// The most entries of which jsonl is written: ten times as many would be 11 GB.
const JSONL: usize = 10_000_000;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [command, items, entries, path] = args.as_slice() else {
        eprintln!("usage: workload write|fold ITEMS ENTRIES PATH");
        std::process::exit(2);
    };
    let workload = Workload::new(items.parse().expect("a number"), entries.parse().expect("a number"), 1);
    match command.as_str() {
        "write" => write(&workload, Path::new(path)),
        "fold" => fold(&workload, Path::new(path)),
        other => panic!("`{other}` is neither `write` nor `fold`"),
    }
}

fn write(workload: &Workload, folder: &Path) {
    let file = |name: &str| BufWriter::new(File::create(folder.join(name)).unwrap());
    workload.write_items(file("items.csv")).unwrap();
    workload.write_log(file("log.csv")).unwrap();
    if workload.entries.when.len() <= JSONL {
        workload.write_log_jsonl(file("log.jsonl")).unwrap();
    }
}

/// The best of three, by the wall; the answers are compared first.
fn fold(workload: &Workload, path: &Path) {
    let rules = Program::parse(RULES).unwrap();
    let at = asked_at(&rules);
    let mut book = workload.book(&rules);
    let wanted = expected(workload, at.seconds);
    assert!(answers(&book.standings(at)) == wanted, "the engine and the loop by hand differ");
    let mut out = BufWriter::new(File::create(path).unwrap());
    writeln!(out, "item,task,standing,due_at,last_done").unwrap();
    let second = |at: Option<i64>| at.map_or_else(String::new, |at| at.to_string());
    for (item, task, standing, due, done) in &wanted {
        let id = Workload::id(*item as usize);
        writeln!(out, "{id},{task},{standing},{},{}", second(*due), second(*done)).unwrap();
    }
    let time = |name: &str, work: &mut dyn FnMut()| {
        let best = (0..3).map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64()
        });
        println!("{{\"name\": \"{name}\", \"wall\": {}}}", best.fold(f64::INFINITY, f64::min));
    };
    let two = NonZeroUsize::new(2).unwrap();
    time("loop by hand", &mut || drop(black_box(by_hand(workload, at.seconds))));
    time("standings, 1 thread", &mut || drop(black_box(book.standings(at))));
    time("standings, 2 threads", &mut || drop(black_box(book.standings_on(at, two))));
    drop(book);
    time("columns to standings, 1 thread", &mut || drop(black_box(workload.book(&rules).standings(at))));
    let both = || workload.book_on(&rules, two).standings_on(at, two);
    time("columns to standings, 2 threads", &mut || drop(black_box(both())));
}
