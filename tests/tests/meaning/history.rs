//! What a host reads in a book beside its standings: an item's log, its uses and plans, what tipped a part, and
//! what the rules know.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use kitlore_engine::{Book, Entry, Instant, Item, Place, Program, UsageKey, When};

/// A camera C1 of 2026-01-10, and a log whose entries stand on its lines from 2 on.
fn book(rules: &str, log: Vec<Entry>) -> Book {
    let rules = Program::parse(rules).unwrap_or_else(|error| panic!("{error}"));
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera").received("2026-01-10".parse().unwrap())).unwrap();
    for (entry, line) in log.into_iter().zip(2..) {
        book.record(entry.at(Place::new("log.csv", line))).unwrap();
    }
    book
}

fn of(when: &str, event: &str) -> Entry {
    Entry::new(when, event).item("C1")
}

fn over(book: &Book, at: &str) -> Instant {
    book.program().when_is_over(When::parse(at).unwrap())
}

fn utc(at: Instant) -> String {
    at.utc().to_rfc3339()
}

/// The keys of all usages that C1's rules count, in reading order.
fn usages(book: &mut Book) -> Vec<UsageKey> {
    let at = over(book, "2026-12-01");
    let found = book.standings(at);
    let rules = found.rows().flat_map(|row| row.rules()).flat_map(|account| account.parts());
    rules.filter_map(|part| part.usage).collect()
}

#[test]
fn the_log_of_an_item_says_what_was_recorded() {
    let mut book = book(
        "for cameras\n after 20 lens changes in dust, inspect sensor\n after 1,000 frames, service shutter",
        vec![
            of("2026-02-07", "lens change").amount(12).reference("J1"),
            of("2026-02-08T10:00:00", "Frames").reading("1,500.5"),
            of("2026-02-06", "shoot").until("2026-02-08").condition("dust").reference("J2"),
            of("2026-02-09", "inspect sensor").reading(3).found("fluff").found("scratch"),
            of("2026-02-10", "lens change").id("e5"),
            of("2026-02-11", "void").reference("e5"),
        ],
    );
    let lines: Vec<String> = book
        .history("C1")
        .iter()
        .map(|logged| {
            let numbers =
                [logged.amount, logged.reading].map(|n| n.map_or("-".to_owned(), |n| n.to_string()));
            let (done, line) = (if logged.done { "done" } else { "-" }, logged.place.as_ref().unwrap().line);
            let lists = (&logged.conditions, &logged.found, &logged.reference);
            format!(
                "{line}: {} {done} {numbers:?} {lists:?}, {} to {}",
                logged.event,
                utc(logged.begin),
                utc(logged.end)
            )
        })
        .collect();
    assert_eq!(
        lines,
        [
            r#"2: lens change - ["12", "-"] (["dust"], [], Some("J1")), 2026-02-07T00:00:00+00:00 to 2026-02-07T23:59:59.999999999+00:00"#,
            r#"4: shoot - ["1", "-"] (["dust"], [], Some("J2")), 2026-02-06T00:00:00+00:00 to 2026-02-08T23:59:59.999999999+00:00"#,
            r#"3: frame - ["-", "1500.5"] (["dust"], [], None), 2026-02-08T10:00:00+00:00 to 2026-02-08T10:00:00+00:00"#,
            r#"5: inspect sensor done ["1", "3"] ([], ["fluff", "scratch"], None), 2026-02-09T00:00:00+00:00 to 2026-02-09T23:59:59.999999999+00:00"#,
        ]
    );
    assert_eq!(book.history("C2"), []);
}

#[test]
fn uses_are_what_the_rules_count() {
    let mut book = book(
        "for cameras\n after 20 lens changes in dust, inspect sensor\n after 1,000 frames, service shutter",
        vec![
            of("2026-02-01", "frames").reading(500),
            of("2026-02-02", "frames").reading(800),
            of("2026-02-03", "frames").reading(800),
            of("2026-02-04", "frames").reading(200),
            of("2026-02-05", "frames").amount(7),
            of("2026-02-06", "frames").amount(9).unit("rolls"),
            of("2026-02-07", "shoot").until("2026-02-08").condition("dust"),
            of("2026-02-08", "lens change").amount(2),
            of("2026-02-09", "lens change").amount(4),
            of("2026-02-10", "lens change").amount(8).condition("dust").id("e"),
            of("2026-02-11", "void").reference("e"),
        ],
    );
    let asked = usages(&mut book);
    let mut uses = Vec::new();
    book.uses().each("C1", &asked, |used| uses.push((used.which, used.billionths / 1_000_000_000)));
    // A meter's first reading counts for none, one that fell as a whole.
    assert_eq!(uses, [(1, 300), (1, 0), (1, 200), (1, 7), (0, 2)]);
}

#[test]
fn an_amount_is_weighed_as_the_rules_count_it() {
    let rules =
        "for cameras\n after 20 lens changes in dust (in sand count 3), inspect sensor\n after 9 trips, pack";
    let mut book =
        book(rules, vec![of("2026-02-01", "trip"), of("2026-02-02", "lens change").condition("dust")]);
    let asked = usages(&mut book);
    let mut uses = book.uses();
    let weigh = |event: &str, conditions: &[&str]| {
        let held: Vec<String> = conditions.iter().map(|name| (*name).to_owned()).collect();
        uses.weigh(asked[0], event, "2.5".parse().unwrap(), &held)
    };
    assert_eq!(weigh("Lens changes", &["dust"]), Some(2_500_000_000));
    assert_eq!(weigh("lens change", &["Dust", "sand"]), Some(7_500_000_000));
    assert_eq!(weigh("lens change", &["sand"]), Some(0));
    assert_eq!(weigh("trip", &["dust"]), None);
    // Asked for alone, each is read alone.
    let mut read = Vec::new();
    for usage in asked {
        uses.each("C1", &[usage], |used| read.push((used.which, utc(used.at))));
    }
    assert_eq!(read.len(), 2, "{read:?}");
    assert!(read.iter().all(|(which, _)| *which == 0) && read[0].1.starts_with("2026-02-02"), "{read:?}");
}

#[test]
fn an_item_has_begun_by_the_inventory_or_else_the_log() {
    let mut book = book(
        "for cameras\n after 9 trips, pack",
        vec![
            of("2026-01-01", "trip").id("e"),
            of("2026-01-05", "void").reference("e"),
            of("2026-01-07", "trip"),
            Entry::new("2026-02-03", "in service").item("C2"),
            Entry::new("2026-02-01", "received").item("C2"),
            Entry::new("2026-02-05", "received").item("C3"),
        ],
    );
    for id in ["C2", "C3", "C4"] {
        book.add_item(Item::new(id, "camera")).unwrap();
    }
    let uses = book.uses();
    let begun = ["C1", "C2", "C3", "C4", "C5"].map(|id| uses.begun(id).map(|date| date.to_string()));
    let dates = ["2026-01-10", "2026-02-03", "2026-02-05"].map(|date| Some(date.to_owned()));
    assert_eq!(begun, [dates.as_slice(), &[None, None]].concat()[..]);
    assert_eq!(uses.first().map(utc).as_deref(), Some("2026-01-07T00:00:00+00:00"));
}

/// The clocks go back: it lasts 25 hours.
#[test]
fn a_plan_of_a_long_day_is_not_over_in_its_last_hour() {
    let rules = "time zone Europe/Lisbon\nfor cameras\n after 1,000 frames, service shutter";
    let mut book = book(rules, vec![of("2026-10-25", "shoot").expect("frames 100")]);
    let asked = usages(&mut book);
    let at = over(&book, "2026-10-25T23:30:00");
    assert_eq!(book.uses().plans("C1", &asked, at).len(), 1);
    assert_eq!(book.plans(at).len(), 1);
    let at = over(&book, "2026-10-25");
    assert_eq!(book.uses().plans("C1", &asked, at).len(), 0);
}

#[test]
fn only_plans_with_expectations_that_are_not_over_expect_uses() {
    let mut book = book(
        "for cameras\n after 20 lens changes in dust, inspect sensor\n after 1,000 frames, service shutter",
        vec![
            of("2026-02-01", "shoot").until("2026-02-03").expect("frames 100"),
            of("2026-02-04", "shoot").until("2026-02-06").expect("frames 200; lens change 3"),
            of("2026-02-07", "shoot").condition("dust").expect("lens change 4"),
            of("2026-02-08", "shoot"),
        ],
    );
    let asked = usages(&mut book);
    let at = over(&book, "2026-02-04");
    let plans = book.uses().plans("C1", &asked, at);
    let plans_shown: Vec<String> =
        plans.iter().map(|plan| format!("{} to {} {:?}", plan.from, plan.to, plan.daily)).collect();
    assert_eq!(
        plans_shown,
        [
            "2026-02-04 to 2026-02-06 [(0, 0), (1, 200000000000)]",
            "2026-02-07 to 2026-02-07 [(0, 4000000000)]"
        ]
    );
}

#[test]
fn a_name_means_an_item_else_a_kit_a_model_or_a_kind() {
    let mut book = book("a rangefinder is a camera\nafter 90 days, look it over", Vec::new());
    book.add_item(Item::new("C2", "rangefinder").kit("travel").model("Alder 4")).unwrap();
    book.add_item(Item::new("B1", "battery").kit("travel").kit("home")).unwrap();
    let members =
        |name: &str| -> Vec<String> { book.members(name).iter().map(|item| item.id.clone()).collect() };
    assert_eq!(members("C2"), ["C2"]);
    assert_eq!(members("travel"), ["B1", "C2"]);
    assert_eq!(members("home"), ["B1"]);
    assert_eq!(members("Alder 4"), ["C2"]);
    assert_eq!(members("Cameras"), ["C1", "C2"]);
    assert_eq!(members("rangefinder"), ["C2"]);
    assert_eq!(members(" "), ["B1", "C1", "C2"]);
    assert_eq!(members("Birch 2"), Vec::<String>::new());
}

#[test]
fn a_part_says_what_it_counts_from_and_what_tipped_it() {
    let rules = "for cameras
  at age 2 years, retire camera
  every year on 1 March, grease mount
  7 days after each release, install firmware
  when unused for 30 days, exercise shutter
  when unused for 60 days, wipe body
  before every trip, inspect strap";
    let mut book = book(
        rules,
        vec![
            of("2026-01-20", "release"),
            of("2026-01-25", "shoot"),
            of("2026-01-27", "wipe body"),
            of("2026-03-10", "trip").until("2026-03-12"),
            of("2026-03-10", "trip").until("2026-03-20"),
        ],
    );
    let at = over(&book, "2026-02-01");
    let found = book.standings(at);
    let bases: Vec<String> = found
        .rows()
        .map(|row| {
            let part = &row.rules().next().unwrap().parts()[0];
            let from = part.from.map_or("-".to_owned(), |from| from.to_string());
            let line = part.tipped_by.as_ref().map_or("-".to_owned(), |place| place.line.to_string());
            format!("{}: from {from}, line {line}", row.task)
        })
        .collect();
    assert_eq!(
        bases,
        [
            "exercise shutter: from 2026-01-25, line 3",
            "grease mount: from 2026-01-10, line -",
            "inspect strap: from -, line 5",
            "install firmware: from 2026-01-20, line 2",
            "retire camera: from 2026-01-10, line -",
            "wipe body: from 2026-01-27, line -",
        ]
    );
}

#[test]
fn the_last_reading_is_that_of_the_name_by_the_instant() {
    let mut book = book(
        "for cameras\n when stock is below 3, order more\n when level is below 2, charge it",
        vec![
            of("2026-02-01", "Stock").reading(9).unit("packs"),
            of("2026-02-02", "stock").amount(1),
            of("2026-02-03", "level").reading(4),
            of("2026-02-04", "stock").reading(7).id("e"),
            of("2026-02-04", "void").reference("e"),
            of("2026-02-05", "stock").reading(5),
        ],
    );
    let mut last = |item: &str, at: &str| {
        let at = over(&book, at);
        book.last_reading(item, "stock", at).map(|(reading, unit)| (reading.to_string(), unit))
    };
    assert_eq!(last("C1", "2026-01-31"), None);
    assert_eq!(last("C1", "2026-02-04"), Some(("9".to_owned(), Some("packs".to_owned()))));
    assert_eq!(last("C1", "2026-02-05"), Some(("5".to_owned(), None)));
    assert_eq!(last("C2", "2026-02-05"), None);
}

#[test]
fn an_entry_without_a_place_has_none() {
    let mut book = book("for cameras\n after 2 shoots, wipe body", vec![of("2026-02-01", "shoot")]);
    book.record(of("2026-02-02", "shoot")).unwrap();
    book.record(of("2026-02-03", "shoot").at(Place::new("log.csv", 7))).unwrap();
    let lines: Vec<Option<u32>> =
        book.history("C1").iter().map(|logged| logged.place.as_ref().map(|place| place.line)).collect();
    assert_eq!(lines, [Some(2), None, Some(7)]);
}

/// Between the questions: what was asked before has no part in the answer.
#[test]
fn a_correction_that_is_taken_back_puts_the_entry_in_again() {
    let mut book = book(
        "for cameras\n after 2 shoots, wipe body",
        vec![of("2026-02-01", "shoot").amount(2).id("e"), of("2026-02-02", "void").reference("e").id("v")],
    );
    let at = over(&book, "2026-02-01");
    let words =
        |book: &mut Book| book.standings(at).rows().map(|row| row.standing.word()).collect::<Vec<_>>();
    assert_eq!(words(&mut book), ["clear"]);
    book.record(Entry::new("2026-02-03", "void").reference("v")).unwrap();
    assert_eq!(words(&mut book), ["due"]);
}

/// Many at once are worked out in another way than few.
#[test]
fn many_corrections_that_are_taken_back_put_their_entries_in_again() {
    let shoots = (0..40).map(|n| of("2026-02-01", "shoot").id(format!("e{n}")));
    let voids =
        (0..40).map(|n| Entry::new("2026-02-02", "void").reference(format!("e{n}")).id(format!("v{n}")));
    let mut book = book("for cameras\n after 90 shoots, wipe body", shoots.chain(voids).collect());
    let at = over(&book, "2026-02-01");
    let count = |book: &mut Book| {
        let found = book.standings(at);
        let row = found.rows().next().unwrap();
        row.rules().next().unwrap().parts()[0].count.unwrap().to_string()
    };
    assert_eq!(count(&mut book), "0");
    for n in 0..30 {
        book.record(Entry::new("2026-02-03", "void").reference(format!("v{n}"))).unwrap();
    }
    assert_eq!(count(&mut book), "30");
}

#[test]
fn an_item_is_in_hand_between_its_dates() {
    let mut book = book("for cameras\n after 30 days, look it over", Vec::new());
    let date = |text: &str| text.parse().unwrap();
    book.add_item(Item::new("C2", "camera").in_service(date("2026-02-01"))).unwrap();
    book.add_item(Item::new("C3", "camera").retired(date("2026-03-01"))).unwrap();
    let at = over(&book, "2026-03-03");
    let found = book.standings(at);
    let rows: Vec<String> = found.rows().map(|row| format!("{} {}", row.item, row.standing.word())).collect();
    assert_eq!(rows, ["C1 overdue", "C2 due"]);
}

#[test]
fn an_item_of_an_example_may_have_a_kit_a_model_and_a_date_retired() {
    let rules = "for cameras where kit is travel and model is Alder
  after 2 shoots, look it over
example \"kits and models\"
  camera C1 received 2026-01-01 kit travel model Alder
  camera C2 received 2026-01-01 kit travel model Alder retired 2026-02-01
  2026-01-05 travel shoot 2
  on 2026-01-05 C1 look it over is due
  on 2026-01-05 C2 look it over is due
  on 2026-02-01 C2 look it over is clear";
    let failures = Program::parse(rules).unwrap_or_else(|error| panic!("{error}")).run_examples();
    let messages: Vec<&str> = failures.iter().map(|failure| failure.message.as_str()).collect();
    assert_eq!(messages, ["`C2` has no `look it over` on that date"]);
}

#[test]
fn rules_show_their_house_and_how_many_they_are() {
    let rules = Program::parse("house \"Kestrel Yard\"\nafter 90 days, look it over").unwrap();
    assert_eq!(format!("{rules:?}"), r#"Program { house: Some("Kestrel Yard"), rules: 1 }"#);
}

#[test]
fn rules_know_what_they_ask_for_or_declare() {
    let rules = Program::parse(
        "events client call, trip\nconditions fog, dust\nfor cameras\n after 3 trips in dust, wipe body",
    );
    let rules = rules.unwrap();
    for known in ["Trip", "wipe body", "client calls", "retired"] {
        assert!(rules.knows_event(known), "{known}");
    }
    for unknown in ["dust", "fog", "tirp", ""] {
        assert!(!rules.knows_event(unknown), "{unknown}");
    }
    assert!(rules.knows_condition("Dust") && rules.knows_condition("fog") && !rules.knows_condition("trip"));
}

#[test]
fn a_book_names_the_sources_of_its_entries() {
    let book = book("for cameras\n  after 2 trips, wipe body", vec![of("2026-02-01", "trip")]);
    let sources: Vec<&str> = book.sources().collect();
    assert_eq!(sources, ["log.csv"]);
}
