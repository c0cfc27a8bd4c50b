//! Speed from csv to standings: 10 million entries, beside what the csv reader alone takes for the same file.
//! Answers are compared before anything is timed. `KITLORE_BENCH_ENTRIES` sets another number of entries.

#![allow(missing_docs, clippy::unwrap_used, reason = "a bench")]

use criterion::{Criterion, criterion_group, criterion_main};
use kitlore_engine::{Book, Program, Standings};
use kitlore_tables::{Columns, Limits, Table, read_items, read_log};
use kitlore_tests::workload::{RULES, Workload, answers, asked_at, expected};
use std::fs::File;
use std::hint::black_box;
use std::io::BufWriter;
use std::num::NonZeroUsize;
use std::path::Path;

fn from_csv(rules: &Program, folder: &Path, threads: NonZeroUsize) -> Standings {
    let (columns, limits) = (Columns::default(), Limits::default());
    let mut book = Book::new(rules);
    read_items(
        &mut book,
        Table::open(&folder.join("items.csv").to_string_lossy()).unwrap(),
        &columns,
        &limits,
    )
    .unwrap();
    let log = Table::open(&folder.join("log.csv").to_string_lossy()).unwrap().on_threads(threads);
    read_log(&mut book, log, &columns, &limits).unwrap();
    book.standings_on(asked_at(rules), threads)
}

fn csv_alone(folder: &Path) -> usize {
    let mut reader = csv::Reader::from_path(folder.join("log.csv")).unwrap();
    let mut record = csv::StringRecord::new();
    let mut fields = 0;
    while reader.read_record(&mut record).unwrap() {
        fields += record.len();
    }
    fields
}

fn csv(c: &mut Criterion) {
    let entries = std::env::var("KITLORE_BENCH_ENTRIES").map_or(10_000_000, |count| count.parse().unwrap());
    let rules = Program::parse(RULES).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let workload = Workload::new(50_000.min(entries / 10), entries, 1);
    workload.write_items(BufWriter::new(File::create(folder.path().join("items.csv")).unwrap())).unwrap();
    workload.write_log(BufWriter::new(File::create(folder.path().join("log.csv")).unwrap())).unwrap();
    let (one, two) = (NonZeroUsize::MIN, NonZeroUsize::new(2).unwrap());
    let same =
        answers(&from_csv(&rules, folder.path(), two)) == expected(&workload, asked_at(&rules).seconds);
    assert!(same, "the engine and the loop by hand differ");

    let mut group = c.benchmark_group("csv");
    group.sample_size(10);
    group.bench_function("csv reader alone", |b| b.iter(|| black_box(csv_alone(folder.path()))));
    for (name, threads) in [("csv to standings", one), ("csv to standings, 2 threads", two)] {
        group.bench_function(name, |b| b.iter(|| black_box(from_csv(&rules, folder.path(), threads))));
    }
    group.finish();
}

criterion_group!(benches, csv);
criterion_main!(benches);
