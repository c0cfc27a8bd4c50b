//! Speed of compiling and folding: 10 million entries over 50,000 items with the six rules of the workload,
//! beside a loop written by hand for just these rules. Answers are compared before anything is timed.
//! `KITLORE_BENCH_ENTRIES` sets another number of entries.

#![allow(missing_docs, clippy::unwrap_used, reason = "a bench")]

use criterion::{Criterion, criterion_group, criterion_main};
use kitlore_engine::{Book, Program};
use kitlore_tests::workload::{RULES, Workload, answers, asked_at, by_hand, expected};
use std::hint::black_box;
use std::num::NonZeroUsize;

fn fold(c: &mut Criterion) {
    let entries = std::env::var("KITLORE_BENCH_ENTRIES").map_or(10_000_000, |count| count.parse().unwrap());
    let rules = Program::parse(RULES).unwrap();
    let at = asked_at(&rules);
    let workload = Workload::new(50_000.min(entries / 10), entries, 1);
    let mut book = workload.book(&rules);
    let two = NonZeroUsize::new(2).unwrap();
    for found in [book.standings(at), workload.book_on(&rules, two).standings_on(at, two)] {
        assert!(answers(&found) == expected(&workload, at.seconds), "the engine and the loop by hand differ");
    }

    let mut group = c.benchmark_group("fold");
    group.sample_size(10);
    group.bench_function("by hand, from columns", |b| b.iter(|| black_box(by_hand(&workload, at.seconds))));
    group.bench_function("standings, one thread", |b| b.iter(|| black_box(book.standings(at))));
    group.bench_function("standings, two threads", |b| b.iter(|| black_box(book.standings_on(at, two))));
    // The question at the end makes the book put its entries in order.
    let ask = |mut book: Book, threads| book.standings_on(at, threads);
    let one = NonZeroUsize::MIN;
    group.bench_function("columns to standings, one thread", |b| {
        b.iter(|| black_box(ask(workload.book_on(&rules, one), one)));
    });
    group.bench_function("columns to standings, two threads", |b| {
        b.iter(|| black_box(ask(workload.book_on(&rules, two), two)));
    });
    group.finish();
}

fn compile(c: &mut Criterion) {
    let text: String = (0..10_000)
        .map(|n| format!("after {} shoots in dust or {} days, task-{n}\n", n % 50 + 1, n % 300 + 1))
        .collect();
    let house = kitlore_syntax::parse("rules", &text, &kitlore_syntax::NoIncludes).unwrap();
    c.bench_function("compile 10,000 rules", |b| b.iter(|| black_box(Program::compile(house.clone()))));
}

criterion_group!(benches, fold, compile);
criterion_main!(benches);
