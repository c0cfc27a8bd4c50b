//! The pages as text; how they look and print is tried in a browser by `tests/pages/check`.

use kitlore_engine::{Book, Entry, Item, Program, Standings, When};
use kitlore_planning::{Journey, Options, TripAsk};
use kitlore_render::page;

const RULES: &str = "\
house \"Kestrel <Yard>\"
for cameras
  after 90 days, inspect sensor
    notice 2 weeks
    needs blower, plain bright wall
    takes 10 minutes
    because \"spots & streaks\"
    caution \"Charged battery only: a shutter that falls <scratches>.\"
  after 20 lens changes, clean mount
for straps
  before every trip, inspect strap
    within 3 days
    do not use until done
";

fn book() -> Book {
    let rules = Program::parse(RULES).expect("rules");
    let mut book = Book::new(&rules);
    let date = |month, day| chrono::NaiveDate::from_ymd_opt(2026, month, day).expect("a date");
    for item in [
        Item::new("C1", "camera").received(date(1, 31)),
        Item::new("<script>alert(1)</script>", "camera").received(date(4, 1)),
        Item::new("S1", "strap").received(date(1, 31)),
    ] {
        book.add_item(item).expect("an item");
    }
    book.record(Entry::new("2026-05-10", "trip").item("S1").reference("T7")).expect("an entry");
    book.record(Entry::new("2026-04-10", "lens chagne").item("C1")).expect("an entry");
    book
}

fn standings(at: &str) -> Standings {
    let mut book = book();
    let at = book.program().when_is_over(When::parse(at).expect("a date"));
    book.standings(at)
}

/// A page without its style, a line for each element that begins one.
fn body(page: &str) -> String {
    let (_, body) = page.split_once("<body>").expect("a body");
    let mut lines = body.to_owned();
    for element in
        ["<section", "<table", "<tbody", "<tr", "<th", "<td", "<svg", "<p", "<ul", "<li", "<h", "<footer"]
    {
        lines = lines.replace(element, &format!("\n{element}"));
    }
    lines
}

#[test]
fn a_small_sheet() {
    insta::assert_snapshot!(body(&page::due(&standings("2026-05-08"), false)));
}

/// The page of each sort.
fn pages() -> Vec<String> {
    let mut book = book();
    let at = book.program().when_is_over(When::parse("2026-04-20").expect("a date"));
    let trip = kitlore_planning::trip(&mut book, at, &TripAsk::new(Journey::Logged("T7".to_owned())))
        .expect("a trip");
    let ahead = kitlore_planning::forecast(&mut book, at, &Options::default());
    vec![page::due(&standings("2026-05-08"), true), page::ahead(&ahead), page::trip(&trip)]
}

/// The page of a trip of 1 to 3 June with a camera of which so much use is expected a day, looked at from a date.
fn trip_page(at: &str, expect: &str) -> String {
    let rules = "for cameras\n after 20 uses or 90 days, inspect sensor\n after every use, wipe body";
    let rules = Program::parse(rules).expect("rules");
    let mut book = Book::new(&rules);
    book.add_item(Item::new("C1", "camera").kit("bag")).expect("an item");
    for entry in [
        Entry::new("2026-05-01", "inspect sensor").item("C1"),
        Entry::new("2026-05-04", "use").item("C1").amount(6),
        Entry::new("2026-05-11", "use").item("C1").amount(6),
        Entry::new("2026-05-18", "use").item("C1").amount(6),
        Entry::new("2026-06-01", "trip").until("2026-06-03").item("bag").reference("T7").expect(expect),
    ] {
        book.record(entry).expect("an entry");
    }
    let at = rules.when_is_over(When::parse(at).expect("a date"));
    let ask = TripAsk::new(Journey::Logged("T7".to_owned()));
    page::trip(&kitlore_planning::trip(&mut book, at, &ask).expect("a trip"))
}

#[test]
fn the_line_of_a_trip_is_its_departure_until_it_is_under_way() {
    let home = trip_page("2026-05-25", "use 1");
    assert!(home.contains("departure, <time>2026-06-01</time>") && !home.contains("today"), "{home}");
    let under_way = trip_page("2026-06-02", "use 1");
    assert!(under_way.contains("today, <time>2026-06-02</time>") && !under_way.contains("departure"));
}

#[test]
fn what_a_chance_calls_for_before_a_trip_shows_the_chance_and_no_date_beyond_the_trip() {
    for (expect, words) in [("", " % chance on the way"), ("use 1", "certain on the way")] {
        let page = trip_page("2026-05-25", expect);
        let (_, before) = page.split_once("id=\"before\"").expect("a part");
        let (before, _) = before.split_once("</section>").expect("its end");
        assert!(before.contains(words), "{before}");
        assert!(!before.contains("2026-07-30"), "its 90 days end long after the trip: {before}");
    }
}

#[test]
fn foreign_text_stays_text() {
    for page in pages() {
        assert!(!page.contains("<script") && !page.contains("<Yard>") && !page.contains("<scratches>"));
        assert!(page.contains("Kestrel &lt;Yard&gt;"));
    }
}

#[test]
fn a_page_stands_alone() {
    for page in pages() {
        for outside in ["src=", "<link", "@import", "url(", "http://", "https://", "<script"] {
            assert!(!page.contains(outside), "{outside}");
        }
    }
}

#[test]
fn cautions_stand_with_their_task_wherever_it_stands() {
    for page in pages().iter().take(2) {
        let inspections = page.matches("<h3>inspect sensor").count();
        let cautions = page.matches("a shutter that falls &lt;scratches&gt;.").count();
        assert!(inspections > 0 && cautions == inspections, "{cautions} cautions at {inspections} tasks");
    }
}

#[test]
fn every_row_that_is_not_clear_has_a_box() {
    let found = standings("2026-05-08");
    let open = found.rows().filter(|row| row.standing != kitlore_engine::Standing::Clear).count();
    assert_eq!(page::due(&found, false).matches("type=\"checkbox\"").count(), open);
    assert_eq!(page::due(&found, true).matches("type=\"checkbox\"").count(), found.rows().count());
}

#[test]
fn an_empty_house_has_a_page() {
    let rules = Program::parse("").expect("rules");
    let at = rules.when_is_over(When::parse("2026-05-08").expect("a date"));
    let page = page::due(&Book::new(&rules).standings(at), false);
    assert!(page.contains("no rule applies to any item"));
}
