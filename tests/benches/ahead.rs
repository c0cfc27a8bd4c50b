//! Looking ahead beside saying what is due, for the workload's 50,000 items and 10 million entries; both with
//! as many threads as the host has, at most two. `KITLORE_BENCH_ENTRIES` sets another number of entries.

#![allow(missing_docs, clippy::unwrap_used, reason = "a bench")]

use criterion::{Criterion, criterion_group, criterion_main};
use kitlore_engine::Program;
use kitlore_planning::{Options, forecast};
use kitlore_tests::workload::{RULES, Workload, asked_at};
use std::hint::black_box;
use std::num::NonZeroUsize;

fn ahead(c: &mut Criterion) {
    let entries = std::env::var("KITLORE_BENCH_ENTRIES").map_or(10_000_000, |count| count.parse().unwrap());
    let rules = Program::parse(RULES).unwrap();
    let at = asked_at(&rules);
    let mut book = Workload::new(50_000.min(entries / 10), entries, 1).book(&rules);
    let threads = std::thread::available_parallelism().unwrap().min(NonZeroUsize::new(2).unwrap());
    let options = Options { threads, ..Options::default() };

    let mut group = c.benchmark_group("ahead");
    group.sample_size(10);
    group.bench_function("due", |b| b.iter(|| black_box(book.standings_on(at, threads))));
    group.bench_function("ahead, 90 days", |b| b.iter(|| black_box(forecast(&mut book, at, &options))));
    group.finish();
}

criterion_group!(benches, ahead);
criterion_main!(benches);
