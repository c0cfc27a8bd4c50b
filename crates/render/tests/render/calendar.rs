//! The file byte by byte. Sections are those of RFC 5545.

use kitlore_engine::{Book, Entry, Item, Program, Standings, When};
use kitlore_render::calendar::Calendar;
use proptest::prelude::*;

const RULES: &str = "\
house \"Kestrel Yard\"
time zone Europe/Lisbon
for cameras
  after 90 days, inspect sensor
    notice 2 weeks
    needs blower, plain bright wall
    takes 10 minutes
    by \"Mara; or Rui, if away\"
    because \"spots \\\\ streaks\"
    caution \"Charged battery only: a shutter that falls, scratches.\"
  after 20 lens changes, clean mount
for straps
  before every trip, inspect strap
    within 3 days
for lights
  after 1 month, test lamp
    do not use until done
";

/// A camera due on 1 May 2026, a strap for a trip on 10 May at nine, a lamp grounded from 1 May.
fn standings(at: &str, entries: &[Entry]) -> Standings {
    let rules = Program::parse(RULES).expect("rules");
    let mut book = Book::new(&rules);
    let date = |month, day| chrono::NaiveDate::from_ymd_opt(2026, month, day).expect("a date");
    book.add_item(Item::new("C1", "camera").received(date(1, 31))).expect("an item");
    book.add_item(Item::new("S1", "strap").received(date(1, 31))).expect("an item");
    book.add_item(Item::new("L1", "light").received(date(4, 1))).expect("an item");
    book.record(Entry::new("2026-05-10T09:00:00", "trip").item("S1")).expect("an entry");
    for entry in entries {
        book.record(entry.clone()).expect("an entry");
    }
    book.standings(rules.when_is_over(When::parse(at).expect("a time")))
}

/// The lines, unfolded (§3.1).
fn lines(file: &str) -> Vec<String> {
    file.replace("\r\n ", "").split_terminator("\r\n").map(str::to_owned).collect()
}

/// The lines of each component of a name, outer lines only.
fn components(file: &str, name: &str) -> Vec<Vec<String>> {
    let (begin, end) = (format!("BEGIN:{name}"), format!("END:{name}"));
    let mut found = Vec::new();
    let mut inside: Option<Vec<String>> = None;
    let mut inner = 0;
    for line in lines(file) {
        if line == begin {
            inside = Some(Vec::new());
        } else if line == end {
            found.push(inside.take().expect("begun"));
        } else if let Some(inside) = &mut inside {
            inner += usize::from(line.starts_with("BEGIN:"));
            if inner == 0 {
                inside.push(line.clone());
            }
            inner -= usize::from(line.starts_with("END:"));
        }
    }
    assert!(inside.is_none(), "every component is closed");
    found
}

fn named<'a>(component: &'a [String], name: &str) -> Vec<&'a str> {
    let of = |line: &&str| line.split([':', ';']).next() == Some(name);
    component.iter().map(String::as_str).filter(of).collect()
}

/// What holds for every file of ours: the faults that readers let pass are not in it.
fn is_sound(file: &str) {
    assert!(!file.replace("\r\n", "").contains(['\r', '\n']), "lines end with CRLF (§3.1)");
    assert!(file.ends_with("END:VCALENDAR\r\n"));
    for line in file.split("\r\n") {
        assert!(line.len() <= 75, "{} octets (§3.1): {line}", line.len());
        assert!(line.chars().all(|c| !c.is_control()), "no control characters (§3.3.11): {line:?}");
    }
    let mut uids = Vec::new();
    for kind in ["VTODO", "VEVENT"] {
        for component in components(file, kind) {
            for one in ["UID", "DTSTAMP", "SEQUENCE", "LAST-MODIFIED", "SUMMARY", "DESCRIPTION"] {
                assert_eq!(named(&component, one).len(), 1, "{one} once: {component:#?}");
            }
            assert!(named(&component, "DURATION").is_empty(), "no DURATION beside DUE (§3.6.2)");
            let (start, due) = (named(&component, "DTSTART"), named(&component, "DUE"));
            if let ([start], [due]) = (&start[..], &due[..]) {
                let (start_type, start) = start.rsplit_once(':').unwrap();
                let (due_type, due) = due.rsplit_once(':').unwrap();
                assert_eq!(start_type.replace("DTSTART", "DUE"), due_type, "of one type (§3.8.2.3)");
                assert!(start < due, "DUE is later than DTSTART (§3.8.2.3)");
            }
            uids.push(named(&component, "UID")[0].to_owned());
        }
    }
    let all = uids.len();
    uids.sort();
    uids.dedup();
    assert_eq!(uids.len(), all, "no UID twice (§3.8.4.7)");
    for alarm in components(
        &file
            .replace("BEGIN:VALARM", "END:VTODO\r\nBEGIN:VALARM")
            .replace("END:VALARM", "END:VALARM\r\nBEGIN:VTODO"),
        "VALARM",
    ) {
        assert_eq!(named(&alarm, "ACTION"), ["ACTION:DISPLAY"]);
        assert_eq!(named(&alarm, "DESCRIPTION").len(), 1);
        let trigger = named(&alarm, "TRIGGER");
        assert!(
            trigger.len() == 1 && trigger[0].starts_with("TRIGGER;RELATED=END:-P"),
            "(§3.8.6.3): {trigger:?}"
        );
    }
}

fn todo(file: &str, summary: &str) -> Vec<String> {
    let of = |todo: &Vec<String>| named(todo, "SUMMARY")[0].contains(summary);
    components(file, "VTODO").into_iter().find(of).expect("a task")
}

#[test]
fn a_small_file() {
    let file = Calendar::of(&standings("2026-04-28", &[])).events(true).to_string();
    is_sound(&file);
    insta::assert_snapshot!(file.replace('\r', ""));
}

#[test]
fn the_due_day_is_whole() {
    let file = Calendar::of(&standings("2026-04-28", &[])).to_string();
    let camera = todo(&file, "inspect sensor");
    // 90 days after 2026-01-31. The day is left to do it; overdue from the midnight after (§3.6.2).
    assert_eq!(named(&camera, "DTSTART"), ["DTSTART;VALUE=DATE:20260501"]);
    assert_eq!(named(&camera, "DUE"), ["DUE;VALUE=DATE:20260502"]);
    // Announced two weeks before the due day, on 17 April: 15 days before DUE.
    assert!(lines(&file).contains(&"TRIGGER;RELATED=END:-P15D".to_owned()));
}

#[test]
fn what_stops_an_item_is_due_before_its_day() {
    let file = Calendar::of(&standings("2026-04-28", &[])).to_string();
    let lamp = todo(&file, "test lamp");
    assert_eq!(named(&lamp, "DTSTART"), Vec::<&str>::new());
    assert_eq!(named(&lamp, "DUE"), ["DUE;VALUE=DATE:20260501"]);
}

#[test]
fn a_time_of_day_is_written_in_utc() {
    let file = Calendar::of(&standings("2026-04-28", &[])).to_string();
    let strap = todo(&file, "inspect strap");
    // Lisbon is an hour ahead of UTC in May.
    assert_eq!(named(&strap, "DTSTART"), ["DTSTART:20260506T230000Z"]);
    assert_eq!(named(&strap, "DUE"), ["DUE:20260510T080000Z"]);
}

#[test]
fn cautions_come_first_and_text_is_escaped() {
    let file = Calendar::of(&standings("2026-04-28", &[])).to_string();
    let camera = todo(&file, "inspect sensor");
    let description = named(&camera, "DESCRIPTION")[0];
    assert!(
        description
            .starts_with("DESCRIPTION:Caution: Charged battery only: a shutter that falls\\, scratches.\\n")
    );
    assert!(description.contains("\\nNeeds: blower\\, plain bright wall\\n"));
    assert!(description.contains("By: Mara\\; or Rui\\, if away"));
}

#[test]
fn a_row_without_a_date_is_no_task() {
    let file = Calendar::of(&standings("2026-04-28", &[])).to_string();
    assert!(!file.contains("clean mount"));
}

#[test]
fn exporting_again_updates() {
    let before = Calendar::of(&standings("2026-04-28", &[])).events(true).to_string();
    let done = [
        Entry::new("2026-05-02", "inspect sensor").item("C1"),
        Entry::new("2026-05-02", "inspect strap").item("S1"),
        Entry::new("2026-05-02", "clean mount").item("C1"),
    ];
    let found = standings("2026-05-12", &done);
    let after = Calendar::of(&found).events(true).to_string();
    is_sound(&after);
    let uid = |file: &str, summary: &str| named(&todo(file, summary), "UID")[0].to_owned();
    for summary in ["inspect sensor", "test lamp", "inspect strap"] {
        assert_eq!(uid(&before, summary), uid(&after, summary));
    }
    assert_eq!(named(&todo(&after, "inspect sensor"), "DUE"), ["DUE;VALUE=DATE:20260801"]);
    // Done, and no date for the next time: the earlier date does not stay open.
    assert_eq!(named(&todo(&after, "clean mount"), "STATUS"), ["STATUS:COMPLETED"]);
    assert_eq!(named(&todo(&after, "clean mount"), "COMPLETED"), ["COMPLETED:20260501T230000Z"]);
    let sequence = |file: &str| -> u32 {
        named(&todo(file, "test lamp"), "SEQUENCE")[0]
            .trim_start_matches("SEQUENCE:")
            .parse()
            .expect("a number")
    };
    assert!(sequence(&after) > sequence(&before));
    // No clock and no chance in it.
    assert_eq!(after, Calendar::of(&found).events(true).to_string());
}

#[test]
fn days_bound_what_lies_ahead_and_nothing_else() {
    let found = standings("2026-05-03", &[]);
    let file = Calendar::of(&found).within_days(Some(1)).to_string();
    let summaries: Vec<String> =
        components(&file, "VTODO").iter().map(|todo| named(todo, "SUMMARY")[0].to_owned()).collect();
    assert_eq!(
        summaries,
        ["SUMMARY:inspect sensor: camera C1", "SUMMARY:test lamp: light L1 (do not use until done)"]
    );
}

/// Letters of one to four octets, what is escaped, what ends lines for some readers.
const FOREIGN: &str = "[a-zü日📷\\\\;,:\"\u{1}\u{85}\u{2028}\r\n ]{1,120}";

proptest! {
    #[test]
    fn any_text_makes_a_sound_file(id in FOREIGN, kind in FOREIGN) {
        let rules = Program::parse("after 90 days, look").expect("rules");
        let mut book = Book::new(&rules);
        let received = chrono::NaiveDate::from_ymd_opt(2026, 1, 31).expect("a date");
        if book.add_item(Item::new(&id, &kind).received(received)).is_ok() {
            let at = rules.when_is_over(When::parse("2026-04-28").expect("a date"));
            let file = Calendar::of(&book.standings(at)).events(true).to_string();
            is_sound(&file);
        }
    }
}
