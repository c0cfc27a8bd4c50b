//! The ends of what numbers, times and counts of names may be: answers stay exact there, or say why not.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Amounts, Codes, Keys, Lines, Ticks, Times};
use kitlore_engine::{Amount, Book, Entry, Fields, Item, Number, Place, Program, Standings, Time, When};
use std::fmt::Write;
use std::num::NonZeroUsize;

/// Beyond what two bytes number.
const MANY: usize = 70_000;

fn book(rules: &str) -> Book {
    let mut book = Book::new(&Program::parse(rules).unwrap_or_else(|e| panic!("{e}")));
    book.add_item(Item::new("C1", "camera")).unwrap();
    book
}

fn ask(book: &mut Book, at: &str) -> Standings {
    let at = book.program().when_is_over(When::parse(at).unwrap());
    book.standings(at)
}

/// Each row with its standing, due date in the house's zone, and counts.
fn rows(book: &mut Book, at: &str) -> Vec<String> {
    let found = ask(book, at);
    let rules = found.program().clone();
    let row = |row: kitlore_engine::Row<'_>| {
        let due = row.due_at.map_or("-".to_owned(), |due| rules.local(due).to_rfc3339());
        let parts = row.rules().flat_map(|account| account.parts());
        let counts: Vec<String> =
            parts.filter_map(|part| part.count).map(|count| count.to_string()).collect();
        format!("{} {} {due} {}", row.item, row.standing.word(), counts.join(" "))
    };
    found.rows().map(row).collect()
}

fn codes(book: &mut Book, at: &str) -> Vec<String> {
    ask(book, at).problems().iter().map(|problem| problem.code.to_string()).collect()
}

/// The largest number a text can say, and what is beyond it.
#[test]
fn amounts_at_their_ends() {
    let mut book =
        book("for cameras\n after 999,999,999,999.999999 frames (in dust count 999,999,999,999.999), check");
    let largest = "999,999,999,999.999999";
    book.record(Entry::new("2026-02-01", "frames").item("C1").amount("0.000001")).unwrap();
    assert_eq!(rows(&mut book, "2026-02-02"), ["C1 clear - 0.000001"]);
    for _ in 0..3 {
        book.record(Entry::new("2026-02-02", "frames").item("C1").amount(largest)).unwrap();
    }
    assert_eq!(rows(&mut book, "2026-02-02"), ["C1 due 2026-02-02T00:00:00+00:00 2999999999999.999998"]);
    book.record(Entry::new("2026-02-03", "frames").item("C1").amount(largest).condition("dust")).unwrap();
    let weighted = 999_999_999_999_999_999_i128 * 999_999_999_999_999;
    let sum = 2_999_999_999_999_999_998_000 + weighted;
    assert_eq!(
        rows(&mut book, "2026-02-03"),
        [format!("C1 overdue 2026-02-02T00:00:00+00:00 {}", decimal(sum))]
    );
    for refused in ["1,000,000,000,000", "0.0000001", "-0.000001", "9,223,372,036,854,775,808"] {
        assert!(
            book.record(Entry::new("2026-02-03", "frames").item("C1").amount(refused)).is_err(),
            "{refused}"
        );
    }
}

/// Billionths as a decimal.
fn decimal(billionths: i128) -> String {
    let text = format!("{}.{:09}", billionths / 1_000_000_000, billionths % 1_000_000_000);
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Programs hand over numbers that no text can say.
#[test]
fn amounts_of_programs_at_the_ends_of_their_type() {
    let rules = "for cameras\n after 20 frames (in dust count 999,999,999,999.999), check";
    for (amount, reading) in [
        (Some(i64::MAX), None),
        (None, Some(i64::MAX)),
        (Some(i64::MIN), None),
        (None, Some(i64::MIN)),
        (Some(i64::MAX), Some(i64::MAX)),
    ] {
        let mut book = book(rules);
        let number =
            |micros: Option<i64>| micros.map_or(Number::Absent, |m| Number::Read(Amount::from_micros(m)));
        let fields = Fields {
            when: Time::Text("2026-02-01"),
            event: "frames",
            item: "C1",
            amount: number(amount),
            reading: number(reading),
            conditions: "dust",
            ..Fields::default()
        };
        let kept = (0..100).filter(|_| book.record_fields(&fields, None).is_ok()).count();
        let negative = amount.or(reading) == Some(i64::MIN);
        let counted = rows(&mut book, "2026-02-01");
        // A hundred times the largest amount; of a meter that stands still, its first reading alone.
        let times = if reading.is_some() { 1 } else { 100 };
        let sum = i128::from(i64::MAX) * 999_999_999_999_999 * times;
        let expected = match negative {
            true => "C1 clear - 0".to_owned(),
            false => format!("C1 due 2026-02-01T00:00:00+00:00 {}", decimal(sum)),
        };
        assert_eq!(counted, [expected], "{amount:?} {reading:?}, {kept} kept");
    }
}

/// A reading that falls from the largest to nothing is a meter that was replaced; gauges go below nothing.
#[test]
fn readings_at_their_ends() {
    let mut book = book(
        "for cameras\n after 999,999,999,999 frames, check\n when charge is below -999,999,999,999.999998 volts, load",
    );
    let reading =
        |when: &str, event: &str, reading: &str| Entry::new(when, event).item("C1").reading(reading);
    book.record(reading("2026-02-01", "frames", "999,999,999,999.999999")).unwrap();
    book.record(reading("2026-02-02", "frames", "0")).unwrap();
    book.record(reading("2026-02-03", "frames", "999,999,999,999.999999")).unwrap();
    book.record(reading("2026-02-03", "charge", "-999,999,999,999.999999")).unwrap();
    assert_eq!(
        rows(&mut book, "2026-02-03"),
        ["C1 overdue 2026-02-01T00:00:00+00:00 1999999999999.999998", "C1 due 2026-02-03T00:00:00+00:00 "]
    );
    assert_eq!(codes(&mut book, "2026-02-03"), ["meter-fell"]);
}

/// The first and the last day there are, in zones on both sides of UTC.
#[test]
fn times_at_their_ends() {
    for zone in ["UTC", "Pacific/Kiritimati", "Etc/GMT+12", "America/Los_Angeles", "Asia/Kathmandu"] {
        let clocks: chrono_tz::Tz = zone.parse().unwrap();
        let rules = format!(
            "time zone {zone}\nfor cameras\n every trip, look\n every 200 years, rest; notice 200 years\n \
             every month on day 31, wipe\n 1 day after each trip, dry\n before every trip, pack; within 200 years"
        );
        for (day, next) in [("0001-01-01", Some("0001-01-02")), ("9999-12-31", None)] {
            let mut book = Book::new(&Program::parse(&rules).unwrap());
            book.add_item(Item::new("C1", "camera").received(day.parse().unwrap())).unwrap();
            for clock in ["", "T00:00", "T23:59:60"] {
                book.record(Entry::new(format!("{day}{clock}"), "trip").item("C1").until(day)).unwrap();
            }
            let found = ask(&mut book, day);
            let due: Vec<Option<String>> = found
                .rows()
                .map(|row| Some(row.due_at?.utc().with_timezone(&clocks).date_naive().to_string()))
                .collect();
            let rest = next.map(|_| "0201-01-01".to_owned());
            let wipe = next.map_or(day.to_owned(), |_| "0001-01-31".to_owned());
            let opens = next.map_or("9799-12-31".to_owned(), |_| day.to_owned());
            // By task: dry, look, pack, rest, wipe.
            assert_eq!(
                due,
                [next.map(str::to_owned), Some(day.to_owned()), Some(opens), rest, Some(wipe)],
                "{zone} {day}"
            );
            for row in found.rows().flat_map(|row| row.rules().collect::<Vec<_>>()) {
                assert!(row.late_at.is_none_or(|late| late >= row.due_at.unwrap()), "{zone} {day}");
            }
        }
    }
}

/// An offset moves an instant by up to a day, and out of the years there are.
#[test]
fn offsets_at_their_ends() {
    let mut book = book("for cameras\n after 2 trips, look");
    for (when, taken) in [
        ("0001-01-01T00:00:00+00:00", true),
        ("0001-01-01T00:00:00+00:01", false),
        ("0001-01-01T23:59:00+23:59", true),
        ("9999-12-31T23:59:59-00:00", true),
        ("9999-12-31T23:59:59-00:01", false),
        ("9999-12-31T00:00:00-23:59", true),
        ("2026-02-01T00:00:00+24:00", false),
        ("2026-02-01T00:00:00+23:60", false),
        ("10000-01-01", false),
        ("0000-12-31", false),
    ] {
        assert_eq!(book.record(Entry::new(when, "trip").item("C1")).is_ok(), taken, "{when}");
    }
    assert_eq!(rows(&mut book, "9999-12-31"), ["C1 overdue 0001-01-01T00:00:00+00:00 4"]);
}

/// Clock times of columns just out of the years there are, in a zone that sets its clocks.
#[test]
fn local_times_of_columns_at_their_ends() {
    let mut book = book("time zone Europe/Lisbon\nfor cameras\n after 600 trips, look");
    let years = [-62_135_596_801, -62_135_596_800 + 43_200, 253_402_300_799 - 43_200, 253_402_300_800];
    let when = years.repeat(150);
    let entries = Batch {
        item: Keys::One(book.item_key("C1")),
        ..Batch::new(Times::Local(Ticks::Seconds(&when)), Keys::One(book.event_key("trip")))
    };
    let refused = book.record_batches(&[entries], NonZeroUsize::MIN);
    assert!(refused.iter().all(|refused| [0, 3].contains(&(refused.row % 4))), "{refused:?}");
    assert_eq!(refused.len(), 300);
    assert_eq!(rows(&mut book, "9999-12-31"), ["C1 clear - 300"]);
}

#[test]
fn durations_at_their_ends() {
    for (longest, beyond) in
        [("200 years", "201 years"), ("2,400 months", "2,401 months"), ("73,049 days", "73,050 days")]
    {
        assert!(Program::parse(&format!("every {longest}, rest")).is_ok(), "{longest}");
        let refused = Program::parse(&format!("every {beyond}, rest")).unwrap_err();
        assert_eq!(refused.list.len(), 1, "{beyond}");
    }
}

/// Names by the ten thousand in one log: each entry still counts where it belongs.
#[test]
fn more_events_than_two_bytes_number() {
    let mut rules = String::from("for cameras\n");
    for n in (0..MANY).step_by(7_000) {
        writeln!(rules, " after 3 uses of thing-{n}, task-{n}").unwrap();
    }
    let mut book = book(&rules);
    for n in 0..MANY {
        book.record(Entry::new("2026-02-01", format!("uses of thing-{n}")).item("C1").amount(n % 5)).unwrap();
    }
    let found = ask(&mut book, "2026-02-01");
    for row in found.rows() {
        let n: usize = row.task.trim_start_matches("task-").parse().unwrap();
        let part = &row.rules().next().unwrap().parts()[0];
        assert_eq!(part.count.unwrap().to_string(), (n % 5).to_string(), "{}", row.task);
    }
    assert_eq!(found.rows().count(), 10);
    assert_eq!(book.len(), MANY);
}

#[test]
fn more_sets_of_conditions_than_two_bytes_number() {
    let mut book = book(
        "for cameras\n after 1,000,000 trips in dust, look\n after 1,000,000 trips not in dust, wipe\n after 1 trip in place-69999, dry",
    );
    for n in 0..MANY {
        let entry = Entry::new("2026-02-01", "trip").item("C1").condition(&format!("place-{n}"));
        book.record(if n % 10 == 0 { entry.condition("dust") } else { entry }).unwrap();
    }
    let dusty = MANY / 10;
    let counts: Vec<String> = rows(&mut book, "2026-02-01");
    assert_eq!(
        counts,
        [
            "C1 due 2026-02-01T00:00:00+00:00 1".to_owned(),
            format!("C1 clear - {dusty}"),
            format!("C1 clear - {}", MANY - dusty),
        ]
    );
}

/// More than are weighed beforehand for every set of conditions.
#[test]
fn more_conditions_asked_for_than_a_table_holds() {
    let mut rules = String::from("for cameras\n");
    for n in 0..70 {
        writeln!(rules, " after 2 trips in place-{n}, look-{n}").unwrap();
    }
    let mut book = book(&rules);
    book.record(Entry::new("2026-02-01", "trip").item("C1").amount(2).condition("place-69")).unwrap();
    let due: Vec<String> = ask(&mut book, "2026-02-01")
        .rows()
        .filter(|row| row.due_at.is_some())
        .map(|row| row.task.to_owned())
        .collect();
    assert_eq!(due, ["look-69"]);
}

#[test]
fn more_items_findings_units_and_references_than_two_bytes_number() {
    let mut book = book(
        "for cameras\n when flaw-69999 is found, mend\n 1 day after each release unless recall, install\n after 2 trips, look",
    );
    for n in 0..MANY {
        book.add_item(
            Item::new(format!("T{n}"), "tripod").kit(format!("kit-{n}")).model(format!("model-{n}")),
        )
        .unwrap();
        let of = |event| Entry::new("2026-02-01", event).item(format!("T{n}")).id(format!("e-{n}-{event}"));
        let place = Place::new("log", u32::try_from(n).unwrap());
        book.record(of("trip").unit(format!("unit-{n}")).at(place)).unwrap();
        book.record(Entry::new("2026-02-01", "trip").item("C1").found(&format!("flaw-{n}")).amount(0))
            .unwrap();
        for event in ["release", "recall"] {
            // One release is recalled under another reference than its own.
            let other = if n == 69_998 && event == "recall" { n + 1_000_000 } else { n };
            book.record(Entry::new("2026-02-01", event).item("C1").reference(format!("r-{other}"))).unwrap();
        }
    }
    book.record(Entry::new("2026-02-01", "trip").item("kit-69999").amount(2)).unwrap();
    assert_eq!(
        rows(&mut book, "2026-02-02"),
        ["C1 due 2026-02-02T00:00:00+00:00 ", "C1 clear - 0", "C1 overdue 2026-02-01T00:00:00+00:00 "]
    );
    assert_eq!(codes(&mut book, "2026-02-02").iter().filter(|code| **code == "unit-differs").count(), MANY);
}

/// The same through columns, with codes of every width.
#[test]
fn more_keys_in_columns_than_two_bytes_number() {
    let mut book =
        book("for cameras\n after 1 use-69999 in place-69999, look\n after 1,000,000 use-65535, wipe");
    let events: Vec<_> = (0..MANY).map(|n| Some(book.event_key(&format!("use-{n}")))).collect();
    let places: Vec<_> = (0..MANY).map(|n| Some(book.conditions_key(&format!("place-{n};dust")))).collect();
    let items = [Some(book.item_key("C1"))];
    let numbers: Vec<u32> = (0..70_000).collect();
    let when = vec![1_770_000_000; MANY];
    let entries = Batch {
        item: Keys::Coded(Codes::U8(&[0; MANY]), &items),
        conditions: Keys::Coded(Codes::U32(&numbers), &places),
        place: Some((book.source("frame"), Lines::From(0))),
        ..Batch::new(Times::Instants(Ticks::Seconds(&when)), Keys::Coded(Codes::U32(&numbers), &events))
    };
    for threads in 1..=2 {
        let refused = book.record_batches(&[entries], NonZeroUsize::new(threads).unwrap());
        assert_eq!(refused, []);
    }
    assert_eq!(rows(&mut book, "2026-02-02"), ["C1 due 2026-02-02T02:40:00+00:00 2", "C1 clear - 2"]);
}

/// Columns are refused row by row where an entry is, among few rows and among many.
#[test]
fn columns_at_their_ends() {
    /// The first second of the year 0001 and the last of 9999.
    const SECONDS: [i64; 2] = [-62_135_596_800, 253_402_300_799];
    const DAYS: [i32; 2] = [-719_162, 2_932_896];
    const FITS: i64 = 1_000_000;
    let refused = |when: Times<'_>, amount: Amounts<'_>| {
        let mut book = book("for cameras\n after 2 trips, look");
        let entries = Batch {
            item: Keys::One(book.item_key("C1")),
            amount,
            ..Batch::new(when, Keys::One(book.event_key("trip")))
        };
        let refused = book.record_batches(&[entries], NonZeroUsize::MIN);
        assert_eq!(book.len() + refused.len(), when.len());
        refused.iter().map(|one| format!("{} {}", one.row, one.problem.code)).collect::<Vec<_>>()
    };
    for more in [0, 600] {
        let rows = |mut ends: Vec<i64>| {
            ends.resize(ends.len() + more, FITS);
            ends
        };
        let outside = ["0 bad-time", "1 bad-time", "4 bad-time", "5 bad-time"];
        let times = |per_second: i64| {
            let [first, last] = SECONDS.map(|second| second * per_second);
            rows(vec![i64::MIN, first - 1, first, last + per_second - 1, last + per_second, i64::MAX])
        };
        let (seconds, millis, micros) = (times(1), times(1_000), times(1_000_000));
        for ticks in [Ticks::Seconds(&seconds), Ticks::Millis(&millis), Ticks::Micros(&micros)] {
            assert_eq!(refused(Times::Instants(ticks), Amounts::Absent), outside, "{more} more");
        }
        let [first, last] = DAYS;
        let mut days = vec![i32::MIN, first - 1, first, last, last + 1, i32::MAX];
        days.resize(days.len() + more, 20_000);
        assert_eq!(refused(Times::Dates(&days), Amounts::Absent), outside, "{more} more");

        let most = 1_000_000_000_000;
        let amounts = rows(vec![most - 1, most, 0, -1, -most, i64::MAX, i64::MIN]);
        let when = vec![FITS; amounts.len()];
        let when = Times::Instants(Ticks::Seconds(&when));
        assert_eq!(
            refused(when, Amounts::Whole(&amounts)),
            ["1 bad-number", "3 negative-amount", "4 bad-number", "5 bad-number", "6 bad-number"],
            "{more} more"
        );
        let short = Amounts::Whole(&amounts[7..]);
        assert_eq!(refused(when, short).len(), 7, "{more} more: the last rows have no amount");
    }
}
