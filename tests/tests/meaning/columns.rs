//! Entries that come as columns, one by one, or in any mixture are the same log.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Amounts, Codes, Keys, Lines, Ticks, Times};
use kitlore_engine::{
    Amount, Book, ConditionsKey, EventKey, Fields, Item, ItemKey, Number, Program, SourceKey, Time, When,
};
use kitlore_tests::keyed::Keyed;
use kitlore_tests::rng::Rng;
use std::num::NonZeroUsize;
use std::ops::Range;

const RULES: &str = "time zone Europe/Lisbon
for cameras
  after 20 lens changes in dust or 90 days, inspect sensor
  after 30 shoots, inspect strap
  when battery level is below 20, charge battery
for every item
  when unused for 30 days, look it over
  after 400 hours, service it
";
const EVENTS: [&str; 10] = [
    "lens change",
    "shoot",
    "hours",
    "inspect sensor",
    "inspect strap",
    "battery level",
    "gallery visit",
    "received",
    "void",
    "finding",
];
const ITEMS: [&str; 6] = ["C1", "C2", "L1", "kit bag", "", "nobody's"];
const CONDITIONS: [&str; 4] = ["", "dust", "salt air", "dust;cold"];

/// How the times of a log are written.
#[derive(Clone, Copy, PartialEq)]
enum Form {
    Instants,
    Local,
    Dates,
    Each,
}

/// Rows of a log that have no more than the fields of columns; times in nanoseconds.
struct Rows {
    when: Vec<i64>,
    /// The same as days and, in one form or the other, as times.
    days: Vec<i32>,
    each: Vec<When>,
    event: Vec<u8>,
    item: Vec<u32>,
    amount: Vec<i64>,
    conditions: Vec<u16>,
    form: Form,
}

impl Rows {
    fn random(rng: &mut Rng, count: usize) -> Self {
        let mut rows = Self {
            when: Vec::new(),
            days: Vec::new(),
            each: Vec::new(),
            event: Vec::new(),
            item: Vec::new(),
            amount: Vec::new(),
            conditions: Vec::new(),
            form: [Form::Instants, Form::Local, Form::Dates, Form::Each][rng.range(0, 3) as usize],
        };
        let step = [1, 50, 1_000, 86_400_000_000_000][rng.range(0, 3) as usize];
        let odd = rng.range(0, 3);
        for row in 0..count {
            // March 2026 and about, where clocks go forward.
            rows.when.push(
                1_774_000_000_000_000_000 + rng.range(-30, 30) * step + rng.range(0, 2) * 86_400_000_000_000,
            );
            rows.days.push(rows.when[row].div_euclid(86_400_000_000_000) as i32);
            let form = [Form::Instants, Form::Local, Form::Dates][row % 3];
            rows.each.push(rows.written(row, form));
            let events = if rng.chance(odd) { EVENTS.len() } else { 6 } as i64;
            rows.event.push(rng.range(0, events - 1) as u8);
            rows.item.push(rng.range(0, ITEMS.len() as i64 - 1) as u32);
            rows.amount.push(if rng.chance(odd) { -1_500_000 } else { rng.range(0, 5) * 500_000 });
            rows.conditions.push(rng.range(0, 3) as u16);
        }
        rows
    }

    fn when(&self, row: usize) -> When {
        self.written(row, self.form)
    }

    fn written(&self, row: usize, form: Form) -> When {
        let at = chrono::DateTime::from_timestamp_nanos(self.when[row]);
        match form {
            Form::Instants => When::Instant(at.fixed_offset()),
            Form::Local => When::Local(at.naive_utc()),
            Form::Dates => When::Date(at.date_naive()),
            Form::Each => self.each[row],
        }
    }
}

struct Names {
    events: Vec<Option<EventKey>>,
    items: Vec<Option<ItemKey>>,
    conditions: Vec<Option<ConditionsKey>>,
    source: SourceKey,
}

impl Names {
    /// A row with its names looked up.
    fn keyed(&self, rows: &Rows, row: usize) -> Keyed {
        Keyed {
            when: rows.when(row),
            event: self.events[rows.event[row] as usize].unwrap(),
            item: self.items[rows.item[row] as usize].unwrap(),
            amount: Some(Amount::from_micros(rows.amount[row])),
            conditions: self.conditions[rows.conditions[row] as usize].unwrap(),
        }
    }

    fn of(book: &mut Book) -> Self {
        Self {
            events: EVENTS.iter().map(|name| Some(book.event_key(name))).collect(),
            items: ITEMS.iter().map(|name| Some(book.item_key(name))).collect(),
            conditions: CONDITIONS.iter().map(|name| Some(book.conditions_key(name))).collect(),
            source: book.source("log"),
        }
    }

    fn all<'a>(&'a self, rows: &'a Rows) -> Batch<'a> {
        self.some(rows, 0..rows.when.len())
    }

    fn some<'a>(&'a self, rows: &'a Rows, some: Range<usize>) -> Batch<'a> {
        let ticks = Ticks::Nanos(&rows.when[some.clone()]);
        let when = match rows.form {
            Form::Instants => Times::Instants(ticks),
            Form::Local => Times::Local(ticks),
            Form::Dates => Times::Dates(&rows.days[some.clone()]),
            Form::Each => Times::Each(&rows.each[some.clone()]),
        };
        Batch {
            item: Keys::Coded(Codes::U32(&rows.item[some.clone()]), &self.items),
            amount: Amounts::Micros(&rows.amount[some.clone()]),
            conditions: Keys::Coded(Codes::U16(&rows.conditions[some.clone()]), &self.conditions),
            place: Some((self.source, Lines::From(some.start as u32 + 1))),
            ..Batch::new(when, Keys::Coded(Codes::U8(&rows.event[some]), &self.events))
        }
    }
}

/// Some rows of a column of times.
fn some_times(times: Times<'_>, some: Range<usize>) -> Times<'_> {
    match times {
        Times::Instants(Ticks::Seconds(list)) => Times::Instants(Ticks::Seconds(&list[some])),
        Times::Local(Ticks::Seconds(list)) => Times::Local(Ticks::Seconds(&list[some])),
        Times::Dates(list) => Times::Dates(&list[some]),
        Times::Each(list) => Times::Each(&list[some]),
        other => panic!("not cut here: {other:?}"),
    }
}

/// Some rows of a column of amounts, which may lack the last.
fn some_amounts(amounts: Amounts<'_>, some: Range<usize>) -> Amounts<'_> {
    let cut = |list: &[i64]| some.start.min(list.len())..some.end.min(list.len());
    match amounts {
        Amounts::Whole(list) => Amounts::Whole(&list[cut(list)]),
        Amounts::Micros(list) => Amounts::Micros(&list[cut(list)]),
        other => panic!("not cut here: {other:?}"),
    }
}

fn fresh(rules: &Program) -> (Book, Names) {
    let mut book = Book::new(rules);
    let received = chrono::NaiveDate::from_ymd_opt(2026, 1, 1).unwrap();
    for (id, kind) in [("C1", "camera"), ("C2", "camera"), ("L1", "lens")] {
        book.add_item(Item::new(id, kind).kit("kit bag").received(received)).unwrap();
    }
    let names = Names::of(&mut book);
    (book, names)
}

/// Everything that a book says, in words.
fn answer(book: &mut Book, at: When, threads: NonZeroUsize) -> Vec<String> {
    let at = book.program().when_is_over(at);
    let found = book.standings_on(at, threads);
    let rows = found.rows().map(|row| {
        let parts: Vec<String> =
            row.rules().flat_map(|account| account.parts()).map(|part| format!("{part:?}")).collect();
        format!("{row:?} {:?} {parts:?}", row.last_done)
    });
    let problems = found.problems().iter().map(|problem| problem.to_string());
    rows.chain(problems).chain([book.len().to_string()]).collect()
}

/// Records some rows in one of the ways there are; counts what was refused.
fn record(rng: &mut Rng, book: &mut Book, names: &Names, rows: &Rows, some: std::ops::Range<usize>) -> usize {
    let place = |row: usize| Some((names.source, row as u32 + 1));
    match rng.range(0, 2) {
        0 => some
            .filter(|&row| {
                let fields = Fields {
                    when: Time::Read(rows.when(row)),
                    event: EVENTS[rows.event[row] as usize],
                    item: ITEMS[rows.item[row] as usize],
                    amount: Number::Read(Amount::from_micros(rows.amount[row])),
                    conditions: CONDITIONS[rows.conditions[row] as usize],
                    ..Fields::default()
                };
                book.record_fields(&fields, place(row)).is_err()
            })
            .count(),
        1 => some.filter(|&row| names.keyed(rows, row).record(book, place(row)).is_err()).count(),
        _ => {
            let threads = NonZeroUsize::new(rng.range(1, 3) as usize).unwrap();
            let middle = rng.range(some.start as i64, some.end as i64) as usize;
            let batches = [names.some(rows, some.start..middle), names.some(rows, middle..some.end)];
            book.record_batches(&batches, threads).len()
        }
    }
}

#[test]
fn any_mixture_of_ways_is_the_same_log() {
    let rules = Program::parse(RULES).unwrap_or_else(|error| panic!("{error}"));
    for seed in 0..60 {
        let mut rng = Rng::new(900_000 + seed);
        let count = [20, 600, 3_000][seed as usize % 3];
        let rows = Rows::random(&mut rng, count);
        // Of the whole log, or of what concerns one item.
        let fresh = |rules: &Program| {
            let (mut book, names) = fresh(rules);
            if seed % 2 == 1 {
                book.answer_for(["C1"]);
            }
            (book, names)
        };
        let (mut plain, names) = fresh(&rules);
        let mut refused = 0;
        for row in 0..count {
            let place = Some((names.source, row as u32 + 1));
            refused += usize::from(names.keyed(&rows, row).record(&mut plain, place).is_err());
        }
        let (mut mixed, names) = fresh(&rules);
        let mut start = 0;
        let mut also = 0;
        while start < count {
            let end = (start + rng.range(1, count as i64) as usize).min(count);
            also += record(&mut rng, &mut mixed, &names, &rows, start..end);
            start = end;
            if rng.chance(20) {
                answer(&mut mixed, rows.when(0), NonZeroUsize::MIN);
            }
        }
        let (mut at_once, names) = fresh(&rules);
        let whole = at_once.record_batches(&[names.all(&rows)], NonZeroUsize::MIN).len();
        assert_eq!((refused, refused), (also, whole), "seed {seed}");
        for row in [0, count / 2] {
            let threads = NonZeroUsize::new(rng.range(1, 3) as usize).unwrap();
            let one = answer(&mut plain, rows.when(row), NonZeroUsize::MIN);
            assert_eq!(one, answer(&mut mixed, rows.when(row), threads), "seed {seed}");
            assert_eq!(one, answer(&mut at_once, rows.when(row), threads), "seed {seed}");
        }
    }
}

/// Of one ten-millionth of a second the later rows are the earlier entries, the last of them a completion.
#[test]
fn rows_are_in_order_of_their_nanoseconds() {
    let rules = Program::parse(RULES).unwrap_or_else(|error| panic!("{error}"));
    let count = 600;
    let mut rows = Rows::random(&mut Rng::new(1), count);
    rows.form = Form::Instants;
    rows.when = (0..count as i64).map(|row| 1_774_000_000_000_000_090 - row / 10).collect();
    (rows.event, rows.item, rows.amount) = (vec![0; count], vec![0; count], vec![1_000_000; count]);
    rows.conditions = vec![1; count];
    rows.event[count - 1] = 3;
    rows.when[count - 1] -= 1;
    let (mut plain, names) = fresh(&rules);
    for row in 0..count {
        names.keyed(&rows, row).record(&mut plain, Some((names.source, row as u32 + 1))).unwrap();
    }
    let (mut at_once, names) = fresh(&rules);
    assert_eq!(at_once.record_batches(&[names.all(&rows)], NonZeroUsize::MIN), []);
    let one = answer(&mut plain, rows.when(0), NonZeroUsize::MIN);
    assert!(one.iter().any(|row| row.contains("Count(599000000000)")), "{one:?}");
    assert_eq!(one, answer(&mut at_once, rows.when(0), NonZeroUsize::MIN));
}

/// Enough rows that several threads work on them, over more names than one bucket holds.
#[test]
fn threads_do_not_matter() {
    let rules = Program::parse(RULES).unwrap_or_else(|error| panic!("{error}"));
    let mut rng = Rng::new(7);
    let count = 150_000;
    let mut rows = Rows::random(&mut rng, count);
    let ids: Vec<String> = (0..700).map(|number| format!("X{number}")).collect();
    rows.item = (0..count).map(|_| rng.range(0, 705) as u32).collect();
    let answer_by = |threads: usize| {
        let threads = NonZeroUsize::new(threads).unwrap();
        let (mut book, mut names) = fresh(&rules);
        for id in &ids {
            book.add_item(Item::new(id, "camera")).unwrap();
        }
        names.items.extend(ids.iter().map(|id| Some(book.item_key(id))));
        let refused = book.record_batches(&[names.all(&rows)], threads);
        (refused, answer(&mut book, rows.when(0), threads))
    };
    let one = answer_by(1);
    assert!(one.1.len() > 1_400, "{} lines", one.1.len());
    assert!(answer_by(2) == one && answer_by(3) == one, "threads change the answer");
}

/// The same hours counted in every unit, the same amounts in every form, among few rows and among many.
#[test]
fn every_unit_says_the_same() {
    let rules = Program::parse(RULES).unwrap_or_else(|error| panic!("{error}"));
    // Rows, whether by the clock of the house, and thousandths beside whole seconds.
    let ways = [(9, false, 0), (9, true, 500), (600, false, 500), (600, true, 0), (9, false, 500)];
    for (count, is_local, part) in ways {
        let seconds: Vec<i64> = (0..count).map(|row| 1_774_000_000 + row * 3_600).collect();
        let whole: Vec<i64> = (0..count).map(|row| row % 4 * 10).collect();
        let clock = |seconds: i64| chrono::DateTime::from_timestamp_millis(seconds * 1_000 + part).unwrap();
        let when = |seconds: &i64| match is_local {
            true => When::Local(clock(*seconds).naive_utc()),
            false => When::Instant(clock(*seconds).fixed_offset()),
        };
        let whens: Vec<When> = seconds.iter().map(when).collect();
        let stated: Vec<Option<Amount>> =
            whole.iter().map(|amount| Some(Amount::from(u32::try_from(*amount).unwrap()))).collect();
        let (mut plain, names) = fresh(&rules);
        let keys =
            |names: &Names| (names.events[1].unwrap(), names.items[0].unwrap(), names.conditions[0].unwrap());
        let (event, item, conditions) = keys(&names);
        for (when, amount) in whens.iter().zip(&stated) {
            let entry = Keyed { when: *when, event, item, amount: *amount, conditions };
            entry.record(&mut plain, None).unwrap();
        }
        let said = answer(&mut plain, whens[count as usize - 1], NonZeroUsize::MIN);
        assert!(said.iter().any(|row| row.contains("inspect strap") && !row.contains("Clear")), "{said:#?}");
        let times = |per_second: i64| {
            seconds.iter().map(|second| second * per_second + part * per_second / 1_000).collect::<Vec<_>>()
        };
        let (millis, micros, nanos) = (times(1_000), times(1_000_000), times(1_000_000_000));
        let ticks =
            [Ticks::Seconds(&seconds), Ticks::Millis(&millis), Ticks::Micros(&micros), Ticks::Nanos(&nanos)];
        let counted = ticks.map(|ticks| if is_local { Times::Local(ticks) } else { Times::Instants(ticks) });
        // Seconds alone have no thousandths.
        let counted = counted.into_iter().skip(usize::from(part > 0));
        let millionths: Vec<i64> = whole.iter().map(|amount| amount * 1_000_000).collect();
        let amounts = [Amounts::Whole(&whole), Amounts::Micros(&millionths), Amounts::Each(&stated)];
        for (when, amount) in
            counted.chain([Times::Each(&whens)]).flat_map(|when| amounts.map(|amount| (when, amount)))
        {
            let (mut book, names) = fresh(&rules);
            let (event, item, conditions) = keys(&names);
            let columns = Batch {
                item: Keys::One(item),
                amount,
                conditions: Keys::One(conditions),
                ..Batch::new(when, Keys::One(event))
            };
            assert_eq!(book.record_batches(&[columns], NonZeroUsize::MIN), []);
            assert_eq!(answer(&mut book, whens[count as usize - 1], NonZeroUsize::MIN), said);
        }
    }
}

/// A few rows that cannot be used, or whose hour the clock leaves out, among enough that they are read in blocks.
#[test]
fn odd_rows_among_many_fare_as_among_few() {
    let rules = Program::parse(RULES).unwrap_or_else(|error| panic!("{error}"));
    let count = 600;
    // From half past midnight of the night in which Lisbon leaves out an hour.
    let mut seconds: Vec<i64> = (0..count as i64).map(|row| 1_774_744_200 + row * 60).collect();
    let out_of_range = [i64::MIN, -62_135_596_801, 253_402_300_800, 95_000_000_000_000_000, i64::MAX];
    seconds[100..105].copy_from_slice(&out_of_range);
    let mut rows = Rows::random(&mut Rng::new(3), count);
    // Lens changes of both cameras.
    rows.event = vec![0; count];
    rows.item = (0..count as u32).map(|row| row % 2).collect();
    rows.conditions = (0..count as u16).map(|row| row % 2).collect();
    rows.amount = vec![1_000_000; count];
    for row in [3, 203, 599] {
        // Of names that were not looked up; of what cannot be counted; of a task an amount.
        rows.event[row] = EVENTS.len() as u8;
        rows.item[row - 1] = ITEMS.len() as u32;
        rows.conditions[row - 2] = CONDITIONS.len() as u16;
        rows.amount[row - 3] = -1;
    }
    (rows.event[300], rows.amount[300]) = (3, 7_000_000);
    // Close to what is seen besides.
    rows.event[400] = EVENTS.len() as u8 + 1;
    // Rules of another zone, for which a task of the others is a use.
    let others =
        "time zone Pacific/Auckland\nfor cameras\n  after 20 lens changes or 9 inspect sensor, wipe body
  after 115 lens changes, check mount
  after 116 lens changes, check strap";
    let others = Program::parse(others).unwrap_or_else(|error| panic!("{error}"));
    let mut whole: Vec<i64> = vec![1; count];
    (whole[7], whole[207], whole[407]) = (i64::MAX, i64::MIN, -1);
    (whole[507], whole[508]) = (1_000_000_000_000, 999_999_999_999);
    let mut days: Vec<i32> = seconds.iter().map(|second| second.div_euclid(86_400) as i32).collect();
    (days[100], days[101], days[102]) = (i32::MIN, 2_932_897, i32::MAX);
    let each: Vec<When> = (0..count as i64)
        .map(|row| {
            let at = chrono::DateTime::from_timestamp(1_774_744_200 + row * 60, 0).unwrap();
            [When::Local(at.naive_utc()), When::Instant(at.fixed_offset()), When::Date(at.date_naive())]
                [row as usize % 3]
        })
        .collect();
    let ticks = Ticks::Seconds(&seconds);
    for (number, when) in
        [Times::Local(ticks), Times::Instants(ticks), Times::Each(&each), Times::Dates(&days)]
            .iter()
            .enumerate()
    {
        // The last has too few.
        let amounts = [Amounts::Micros(&rows.amount), Amounts::Whole(&whole), Amounts::Whole(&whole[..450])];
        for (amounts_number, amount) in amounts.into_iter().enumerate() {
            let answer_in = |size: usize| {
                let (mut book, mut names) = fresh(&rules);
                names.events.extend([None, Some(book.event_key("lens chang"))]);
                names.items.push(None);
                names.conditions.push(None);
                let mut refused = Vec::new();
                for start in (0..count).step_by(size) {
                    let some = start..(start + size).min(count);
                    let piece = Batch {
                        when: some_times(*when, some.clone()),
                        amount: some_amounts(amount, some.clone()),
                        ..names.some(&rows, some)
                    };
                    let found = book.record_batches(&[piece], NonZeroUsize::MIN);
                    refused.extend(found.into_iter().map(|one| (start + one.row, one.problem.to_string())));
                }
                let mut saved = Vec::new();
                book.save(&mut saved).unwrap();
                let at = When::Date(chrono::NaiveDate::from_ymd_opt(2026, 4, 1).unwrap());
                let now = answer(&mut book, at, NonZeroUsize::MIN);
                let loaded = [&rules, &others].map(|rules| {
                    answer(&mut Book::load(rules, saved.as_slice()).unwrap(), at, NonZeroUsize::MIN)
                });
                assert_eq!(now, loaded[0], "saved, {size} at a time");
                refused.sort();
                (refused, now, loaded)
            };
            let few = answer_in(100);
            assert!(few.0.len() >= 9, "{:#?}", few.0);
            assert_eq!(few, answer_in(count), "times {number}, amounts {amounts_number}");
        }
    }
}
