//! Reading and tidying 10,000 rules.

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use kitlore_syntax::{NoIncludes, parse, tidy};
use std::fmt::Write;
use std::hint::black_box;

fn rules(count: usize) -> String {
    let mut text = String::from("house \"A large house\"\n");
    for i in 0..count {
        if i % 50 == 0 {
            let _ = writeln!(text, "\nfor cameras and kind n{i} where maker is \"third party\"  # section");
        }
        let n = i % 90 + 2;
        let _ = match i % 4 {
            0 => writeln!(
                text,
                "  after {n} lens changes in dust or {n} days, inspect n{i}\n    needs blower, wall\n    takes 10 minutes"
            ),
            1 => {
                writeln!(text, "  when inspect n{i} finds dust or fraying, clean n{i}; do not use until done")
            }
            2 => writeln!(text, "  before every trip in sand or salt air, check n{i}\n    within 3 days"),
            _ => writeln!(
                text,
                "  after ({n} shoots (in sand count 3) or 200,000 frames) and 6 months, service n{i}\n    notice 2 weeks"
            ),
        };
    }
    text
}

fn bench(c: &mut Criterion) {
    let text = rules(10_000);
    let mut group = c.benchmark_group("10,000 rules");
    group.throughput(Throughput::Bytes(text.len() as u64)).sample_size(20);
    group.bench_function("parse", |b| {
        b.iter(|| parse("bench.lore", black_box(&text), &NoIncludes).map(|h| h.rules.len()))
    });
    group.bench_function("tidy", |b| b.iter(|| tidy("bench.lore", black_box(&text)).map(|t| t.len())));
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);
