//! The workload for the figures of speed: as files, and folded in memory beside the loop by hand.
//!
//! ```sh
//! workload write ITEMS ENTRIES FOLDER    # items.csv, log.csv, and log.jsonl up to 10 million
//! workload fold ITEMS ENTRIES            # a table of times, after the answers were compared
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
use std::io::BufWriter;
use std::num::NonZeroUsize;
use std::path::Path;
use std::time::Instant;

/// The most entries of which jsonl is written: ten times as many would be 11 GB.
const JSONL: usize = 10_000_000;

fn main() {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let workload = |items: &str, entries: &str| {
        Workload::new(items.parse().expect("a number"), entries.parse().expect("a number"), 1)
    };
    match args.iter().map(String::as_str).collect::<Vec<_>>().as_slice() {
        ["write", items, entries, folder] => write(&workload(items, entries), Path::new(folder)),
        ["fold", items, entries] => fold(&workload(items, entries)),
        _ => {
            eprintln!("usage: workload write ITEMS ENTRIES FOLDER | workload fold ITEMS ENTRIES");
            std::process::exit(2);
        }
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
fn fold(workload: &Workload) {
    let rules = Program::parse(RULES).unwrap();
    let at = asked_at(&rules);
    let mut book = workload.book(&rules);
    let wanted = expected(workload, at.seconds);
    assert!(answers(&book.standings(at)) == wanted, "the engine and the loop by hand differ");
    println!("| in memory | wall | to the loop by hand |\n|---|---|---|");
    let mut hand = None;
    let mut time = |name: &str, work: &mut dyn FnMut()| {
        let best = (0..3).map(|_| {
            let start = Instant::now();
            work();
            start.elapsed().as_secs_f64()
        });
        let best = best.fold(f64::INFINITY, f64::min);
        let hand = *hand.get_or_insert(best);
        println!("| {name} | {:.0} ms | {:.2} |", best * 1000.0, best / hand);
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
