//! A saved book is the book: under any rules, and only if every byte is as it was written.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

mod file;

use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Amounts, Keys, Lines, Ticks, Times};
use kitlore_engine::{Amount, Book, Entry, Item, Place, Problem, Program, When};
use kitlore_tests::evaluators::{at_of, book, house};
use kitlore_tests::keyed::Keyed;
use kitlore_tests::random;
use kitlore_tests::rng::Rng;
use std::num::NonZeroUsize;

fn saved(book: &Book) -> Vec<u8> {
    let mut file = Vec::new();
    book.save(&mut file).unwrap();
    file
}

/// Everything a book answers, accounts and problems with their places.
fn answers(book: &mut Book, at: &str) -> String {
    let at = book.program().when_is_over(at_of(at));
    let plans: Vec<String> = book
        .plans(at)
        .iter()
        .map(|plan| {
            let whom = (&plan.event, &plan.item, plan.begin, plan.end, &plan.place);
            format!("{whom:?} {:?} {:?} {:?}\n", plan.conditions, plan.reference, plan.expect)
        })
        .collect();
    let standings = book.standings(at);
    let problems = standings.problems().iter().map(|problem| format!("{} {problem}\n", problem.code));
    serde_json::to_string_pretty(&standings).unwrap() + &problems.chain(plans).collect::<String>()
}

fn assert_same(loaded: &mut Book, fresh: &mut Book, ats: &[String], what: &str) {
    assert_eq!(loaded.len(), fresh.len(), "{what}");
    assert!(loaded.items().eq(fresh.items()), "{what}");
    for at in ats {
        assert_eq!(answers(loaded, at), answers(fresh, at), "{at}\n{what}");
    }
    assert!(saved(loaded) == saved(fresh), "saved once more, it differs: {what}");
}

#[test]
fn a_saved_book_answers_under_other_rules_what_a_fresh_reading_does() {
    let mut refusals = 0;
    for seed in 400_000..400_600 {
        let mut rng = Rng::new(seed);
        let (question, ats) = random::question(&mut rng);
        let (mut other, _) = random::question(&mut rng);
        other.items = question.items.clone();
        other.log = question.log.clone();
        let what = format!("seed {seed}\n{question}\n--- other rules\n{}", other.rules);
        let [rules, other_rules] =
            [&question, &other].map(|question| Program::compile(house(&question.rules).unwrap()));
        let mut book_then = book(&rules, &question);
        if rng.chance(50) {
            // What was asked before has no part in it.
            answers(&mut book_then, &ats[0]);
        }
        let file = saved(&book_then);
        assert_same(&mut Book::load(&rules, &*file).unwrap(), &mut book_then, &ats, &what);
        let mut fresh = book(&other_rules, &other);
        refusals += usize::from(fresh.len() != book_then.len());
        assert_same(&mut Book::load(&other_rules, &*file).unwrap(), &mut fresh, &ats, &what);
    }
    assert!(
        refusals > 2,
        "only {refusals} books had entries that one set of rules refuses and the other not"
    );
}

const RULES: &str = "time zone Europe/Berlin
for cameras
  after 20 lens changes in dust, inspect sensor
  when shutter count is above 1,000, service shutter
  before every trip, charge batteries";

/// A book with something of everything, its clock times on the night of a clock change.
fn small() -> Book {
    let rules = Program::parse(RULES).unwrap();
    let mut book = Book::new(&rules);
    let place = |line| Place::new("items.csv", line);
    let camera = Item::new("C1", "Cameras").kit("travel").model("Alder 4").attribute("shelf", "left");
    book.add_item(camera.received("2024-02-29".parse().unwrap()).at(place(2))).unwrap();
    book.add_item(Item::new("C2", "camera").at(place(3))).unwrap();
    book.report(Problem::new("a-code-of-the-host", "a word of the host").at(Some(place(4))));
    let at = |line| Place::new("log.csv", line);
    let mut entry = |entry: Entry| book.record(entry);
    entry(
        Entry::new("2026-03-29T02:30", "lens change").item("C1").amount("12.5").condition("dust").at(at(2)),
    )
    .unwrap();
    entry(
        Entry::new("2026-03-29T01:00:00.000000005Z", "lens change")
            .item("C2")
            .id("a")
            .note("in rain")
            .by("Jo")
            .at(at(3)),
    )
    .unwrap();
    entry(Entry::new("2026-03-30", "inspect sensor").item("travel").found("dust").reading(3).at(at(4)))
        .unwrap();
    entry(
        Entry::new("2026-04-01", "trip")
            .until("2026-04-09T10:00+02:00")
            .item("cameras")
            .reference("T1")
            .condition("sea")
            .expect("lens change 15; frames 800")
            .at(at(5)),
    )
    .unwrap();
    entry(Entry::new("2026-05-01", "trip").item("C2").expect("many frames").at(at(11))).unwrap();
    entry(Entry::new("2026-04-02", "shutter count").item("C1").reading("1,200").unit("shots").at(at(6)))
        .unwrap();
    entry(Entry::new("2026-04-03", "void").reference("a").at(at(7))).unwrap();
    entry(Entry::new("2026-04-03", "lens change").item("C1").id("a").at(at(8))).unwrap();
    entry(Entry::new("2026-04-03", "lens chnage").item("C9").at(at(9))).unwrap();
    let problem =
        entry(Entry::new("2026-04-03", "lens change").item("C1").reading(-1).at(at(10))).unwrap_err();
    book.report(problem);
    book
}

/// As written by the first version; never written anew.
#[test]
fn a_book_of_version_1_is_read() {
    let file = include_bytes!("../../../data/book-version-1.kitlore");
    let rules = Program::parse(RULES).unwrap();
    let mut loaded = Book::load(&rules, &file[..]).unwrap();
    let ats = ["2026-03-29", "2026-04-02", "2026-05-01"].map(str::to_owned);
    assert_same(&mut loaded, &mut small(), &ats, "the book of version 1");
}

#[test]
fn entries_of_columns_are_saved_as_they_were_given() {
    let zones = ["Europe/Berlin", "Pacific/Apia", "UTC"];
    let rules = zones.map(|zone| {
        Program::parse(&format!("time zone {zone}\nfor cameras\n after 3 inspections or 5 lens changes, clean sensor\n after 9 days, inspection"))
            .unwrap()
    });
    // Every half hour of some days, among them nights that the clock jumps over and a day that Apia left out.
    let local: Vec<i64> = (0..1_000)
        .map(|n| 1_301_175_000 + n * 1_800)
        .chain((0..500).map(|n| 1_325_117_000 + n * 1_800))
        .collect();
    let dates: Vec<i32> = (0..600).map(|n| 15_000 + n).collect();
    let fill = |rules: &Program| {
        let mut book = Book::new(rules);
        book.add_item(Item::new("C1", "camera")).unwrap();
        let source = book.source("frame");
        let amounts: Vec<i64> = (0..1_500).map(|n| n % 7 - 1).collect();
        let place = |line| Some((source, Lines::From(line)));
        let (item, conditions) = (Keys::One(book.item_key("C1")), Keys::One(book.conditions_key("")));
        let [change, inspection] =
            ["lens change", "inspection"].map(|event| Keys::One(book.event_key(event)));
        let pieces = [
            // A piece without rows says nothing, not even how its times are written.
            Batch {
                item,
                conditions,
                place: place(1),
                ..Batch::new(Times::Instants(Ticks::Seconds(&[])), change)
            },
            Batch {
                item,
                amount: Amounts::Whole(&amounts),
                conditions,
                place: place(1),
                ..Batch::new(Times::Local(Ticks::Seconds(&local)), change)
            },
            Batch {
                item,
                conditions,
                place: place(1_501),
                ..Batch::new(Times::Instants(Ticks::Seconds(&local)), inspection)
            },
            Batch { item, conditions, place: place(3_001), ..Batch::new(Times::Dates(&dates), inspection) },
        ];
        for refused in book.record_batches(&pieces, NonZeroUsize::MIN) {
            book.report(refused.problem);
        }
        book
    };
    let ats = ["2011-03-27", "2011-12-31", "2012-06-01"].map(str::to_owned);
    for one in &rules {
        let file = saved(&fill(one));
        for other in &rules {
            assert_same(&mut Book::load(other, &*file).unwrap(), &mut fill(other), &ats, "columns");
        }
    }
}

#[test]
fn a_loaded_book_goes_on() {
    let rules = Program::parse(RULES).unwrap();
    let mut book = small();
    let mut loaded = Book::load(&rules, &*saved(&book)).unwrap();
    for book in [&mut book, &mut loaded] {
        book.record(Entry::new("2026-04-04", "lens change").item("C1").amount(20).condition("dust").id("b"))
            .unwrap();
        book.record(Entry::new("2026-04-05", "void").reference("b").id("c")).unwrap();
        book.record(Entry::new("2026-04-05", "void").reference("c")).unwrap();
        book.add_item(Item::new("C9", "camera")).unwrap();
    }
    assert_same(&mut loaded, &mut book, &["2026-04-30".to_owned()], "gone on");
    let at = rules.when_is_over(When::parse("2026-04-30").unwrap());
    assert!(book.standings(at).rows().any(|row| row.standing.word() != "clear"));
}

/// Rules for which something is a task have no use for its amount; others may count it.
#[test]
fn the_amount_of_a_task_is_saved_for_rules_that_count_it() {
    let task = Program::parse("for cameras\n every year, inspection").unwrap();
    let usage = Program::parse("for cameras\n after 100,000 inspections, clean sensor").unwrap();
    let when = When::parse("2026-02-01").unwrap();
    for count in [2, 600] {
        let fill = |rules: &Program, is_columns: bool| {
            let mut book = Book::new(rules);
            book.add_item(Item::new("C1", "camera")).unwrap();
            let (event, item) = (book.event_key("inspection"), book.item_key("C1"));
            let conditions = book.conditions_key("");
            let amounts: Vec<i64> = (0..count).map(|row| row % 7).collect();
            if is_columns {
                let times = vec![when; amounts.len()];
                let columns = Batch {
                    item: Keys::One(item),
                    amount: Amounts::Whole(&amounts),
                    conditions: Keys::One(conditions),
                    ..Batch::new(Times::Each(&times), Keys::One(event))
                };
                assert_eq!(book.record_batches(&[columns], NonZeroUsize::MIN), []);
            } else {
                for amount in amounts {
                    let amount = Some(Amount::from_micros(amount * 1_000_000));
                    Keyed { when, event, item, amount, conditions }.record(&mut book, None).unwrap();
                }
            }
            book
        };
        for is_columns in [false, true] {
            let what = format!("{count} entries, columns: {is_columns}");
            let mut loaded = Book::load(&usage, &*saved(&fill(&task, is_columns))).unwrap();
            assert_same(&mut loaded, &mut fill(&usage, false), &["2026-02-01".to_owned()], &what);
        }
        let history = |is_columns: bool| fill(&task, is_columns).history("C1");
        assert_eq!(history(true), history(false));
    }
}

/// A block leaves out what its entries have alike, and nothing else.
#[test]
fn what_is_alike_takes_no_room_and_what_is_not_is_kept() {
    let rules = Program::parse(RULES).unwrap();
    let ats = ["2026-04-30".to_owned()];
    let half = || Entry::new("2026-04-03", "lens change").item("C1").amount("0.5").condition("dust");
    let nanos = || Entry::new("2026-04-03T10:00:00.000000005Z", "inspect sensor").item("C1");
    for entry in [half(), nanos()] {
        let fill = || {
            let mut book = Book::new(&rules);
            book.add_item(Item::new("C1", "camera")).unwrap();
            book.record(entry.clone()).unwrap();
            book
        };
        assert_same(&mut Book::load(&rules, &*saved(&fill())).unwrap(), &mut fill(), &ats, "one entry");
    }
    let size = |count: u32| {
        let mut book = Book::new(&rules);
        for line in 0..count {
            let entry = Entry::new("2026-04-03", "lens change").item("C1").amount(2);
            book.record(entry.at(Place::new("log.csv", line))).unwrap();
        }
        saved(&book).len()
    };
    // A byte each for the time, the event, the item, the conditions and the amount.
    assert_eq!(size(100) - size(50), 5 * 50);
}

/// A loaded book does not report what the host, when the entry was refused, did not.
#[test]
fn a_refusal_is_reported_if_the_host_did() {
    let rules = Program::parse(RULES).unwrap();
    for is_reported in [false, true] {
        let fill = || {
            let mut book = Book::new(&rules);
            let entry = Entry::new("2026-04-03", "lens change").item("C1").amount(-1);
            let problem = book.record(entry).unwrap_err();
            if is_reported {
                book.report(problem);
            }
            book
        };
        let mut loaded = Book::load(&rules, &*saved(&fill())).unwrap();
        assert_same(&mut loaded, &mut fill(), &["2026-04-30".to_owned()], "a refusal");
    }
}

/// What waits to be filed when a book is saved is saved under its own name, however many names there are.
#[test]
fn entries_under_many_names_are_saved_before_anybody_asks() {
    let rules = Program::parse("for cameras\n after 5 lens changes, inspect sensor").unwrap();
    let fill = || {
        let mut book = Book::new(&rules);
        for number in 0..700 {
            book.add_item(Item::new(format!("C{number}"), "camera")).unwrap();
        }
        for number in 0..700_u32 {
            let entry = Entry::new("2026-02-01", "lens change").item(format!("C{number}"));
            book.record(entry.amount(number % 7)).unwrap();
        }
        book
    };
    let file = saved(&fill());
    let mut loaded = Book::load(&rules, &*file).unwrap();
    assert_same(&mut loaded, &mut fill(), &["2026-02-01".to_owned()], "many names");
    let at = rules.when_is_over(When::parse("2026-02-01").unwrap());
    assert_eq!(loaded.standings(at).rows().filter(|row| row.standing.word() == "due").count(), 200);
}
