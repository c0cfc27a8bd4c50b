//! Speed of one entry at a time: `record`, then `standing` of its item, on books of some sizes.
//!
//! Every sample is timed on its own and the median shown, as what is measured changes the book: a bench that
//! repeats as often as it likes would make a long history of an ordinary one. Each answer is compared with
//! that of the whole book before anything is timed. `KITLORE_BENCH_LARGE=1` adds a book of a million items
//! and 100 million entries, which takes minutes and some gigabytes.

#![allow(missing_docs, clippy::unwrap_used, clippy::indexing_slicing, reason = "a bench")]

use kitlore_engine::{Book, Entry, Instant, Program};
use kitlore_tests::workload::{RULES, Workload, asked_at};
use std::hint::black_box;
use std::num::NonZeroUsize;
use std::time::{Duration, Instant as Clock};

const SAMPLES: usize = 2_001;

/// The item with a long history: a camera, like every tenth from the first on.
const LONG: usize = 0;

fn main() {
    let large = std::env::var_os("KITLORE_BENCH_LARGE").map(|_| (1_000_000, 100_000_000));
    let sizes = [(1_000, 100_000), (50_000, 10_000_000)];
    println!("median of record and standing, of {SAMPLES} each");
    for (items, entries) in sizes.into_iter().chain(large) {
        let rules = Program::parse(RULES).unwrap();
        let at = asked_at(&rules);
        let two = NonZeroUsize::new(2).unwrap();
        let mut book = Workload::new(items, entries, 1).book_on(&rules, two);
        println!("{items} items, {entries} entries");
        row("an item of ordinary history", |n| {
            // Each item once or a few times: cold, as they are in life.
            let id = Workload::id(1 + n * 7_919 % (items - 1));
            let entry = Entry::new("2026-06-30T18:00:00Z", "shoot").item(&*id).id(format!("u{n}"));
            one(&mut book, entry, &id, at)
        });
        row("a late entry", |n| {
            let id = Workload::id(1 + (n + 1) * 7_919 % (items - 1));
            one(&mut book, Entry::new("2025-02-03T18:00:00Z", "shoot").item(&*id), &id, at)
        });
        row("a void", |n| {
            let id = Workload::id(1 + n * 7_919 % (items - 1));
            one(&mut book, Entry::new("2026-06-30", "void").reference(format!("u{n}")), &id, at)
        });
        let id = Workload::id(LONG);
        for n in 0..100_000 {
            let when = format!(
                "2026-01-{:02}T{:02}:{:02}:{:02}Z",
                1 + n / 20_000,
                n / 1_000 % 20,
                n / 60 % 60,
                n % 60
            );
            book.record(Entry::new(when, "frames").item(&*id).amount(10).id(format!("l{n}"))).unwrap();
        }
        black_box(book.standing(&id, at));
        row("an item of 100,000 entries", |n| {
            one(
                &mut book,
                Entry::new(
                    format!("2026-06-30T{:02}:{:02}:{:02}Z", 20 + n / 3_600, n / 60 % 60, n % 60),
                    "frames",
                )
                .item(&*id),
                &id,
                at,
            )
        });
        row("a late entry of it", |_| {
            one(&mut book, Entry::new("2025-02-03T18:00:00Z", "frames").item(&*id), &id, at)
        });
        row("a void of it", |n| {
            one(&mut book, Entry::new("2026-06-30", "void").reference(format!("l{n}")), &id, at)
        });
        compare(&mut book, &id, at);
    }
}

fn row(what: &str, mut sample: impl FnMut(usize) -> Duration) {
    let mut times: Vec<Duration> = (0..SAMPLES).map(&mut sample).collect();
    times.sort_unstable();
    let micros = |time: Duration| time.as_secs_f64() * 1e6;
    println!(
        "  {what:<30} {:>9.1} µs   (nine of ten within {:.1} µs)",
        micros(times[SAMPLES / 2]),
        micros(times[SAMPLES * 9 / 10])
    );
}

fn one(book: &mut Book, entry: Entry, id: &str, at: Instant) -> Duration {
    let begin = Clock::now();
    book.record(entry).unwrap();
    black_box(book.standing(id, at));
    begin.elapsed()
}

/// The answer for one item is its part of the answer for all.
fn compare(book: &mut Book, id: &str, at: Instant) {
    let alone = format!("{:?}", book.standing(id, at).rows().collect::<Vec<_>>());
    let all = book.standings(at);
    let part = format!("{:?}", all.rows().filter(|row| row.item == id).collect::<Vec<_>>());
    assert_eq!(alone, part, "the answer for one item is another than for all");
}
