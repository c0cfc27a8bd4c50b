//! Dates and clocks against published or printed outside values, each with its source.

#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a panic is a failed test"
)]

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use kitlore_tests::case::{Answer, At, Line, Question, read_items, read_log};
use kitlore_tests::evaluators;

type Evaluator = fn(&Question, &At) -> Answer;

const BOTH: [(&str, Evaluator); 2] = [("plain", evaluators::plain), ("engine", evaluators::engine)];

fn rows(evaluate: Evaluator, question: &Question, at: &str) -> Vec<Line> {
    match evaluate(question, &At::past(at)) {
        Answer::Rows(rows, _) => rows,
        Answer::Refused(why) => panic!("{}\n{why}", question.rules),
    }
}

fn due(evaluate: Evaluator, question: &Question, at: &str) -> DateTime<Utc> {
    let rows = rows(evaluate, question, at);
    rows[0].due_at.unwrap_or_else(|| panic!("{}\n{rows:?}", question.rules))
}

/// The table of a data file, without its header comment.
fn data(text: &'static str) -> Vec<csv::StringRecord> {
    let mut reader = csv::ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
    reader.records().map(Result::unwrap).collect()
}

fn one_camera(received: &str) -> Vec<kitlore_tests::plain::ItemRow> {
    read_items(&format!("id,kind,received\nC1,camera,{received}"))
}

fn midnight(date: &str) -> DateTime<Utc> {
    date.parse::<NaiveDate>().unwrap().and_hms_opt(0, 0, 0).unwrap().and_utc()
}

/// python-dateutil 2.9.0.post0: an interval adds forward, a notice takes away.
#[test]
fn months_and_years_keep_the_day_or_take_the_last_one() {
    let mut checked = 0;
    for row in &data(include_str!("../../data/month_arithmetic.csv")) {
        let (date, added, result) = (&row[0], &row[1], &row[2]);
        // A duration of the language has one unit; sums of several are not expressible.
        if added.contains(' ') {
            continue;
        }
        let count: i64 = added.trim_matches(|c: char| !c.is_ascii_digit()).parse().unwrap();
        let unit = if added.starts_with("months") {
            "months"
        } else if added.starts_with("years") {
            "years"
        } else {
            "days"
        };
        for (name, evaluate) in BOTH {
            if added.contains('-') {
                let rules = format!("on {date}, aim check; notice {count} {unit}");
                let question = Question { rules, items: one_camera("1990-01-01"), ..Question::default() };
                let day_before = (midnight(result) - TimeDelta::days(1)).date_naive().to_string();
                assert_eq!(rows(evaluate, &question, result)[0].standing, "soon", "{name}: {date} {added}");
                assert_eq!(
                    rows(evaluate, &question, &day_before)[0].standing,
                    "clear",
                    "{name}: {date} {added}"
                );
            } else {
                let rules = format!("after {count} {unit}, aim check");
                let question = Question { rules, items: one_camera(date), ..Question::default() };
                assert_eq!(due(evaluate, &question, date), midnight(result), "{name}: {date} {added}");
            }
        }
        checked += 1;
    }
    assert_eq!(checked, 33, "rows of the table that a duration can say");
}

/// MDN, Temporal.PlainDate.prototype.add(), its printed examples of one unit.
#[test]
fn single_units_as_printed_for_plain_dates() {
    for (date, rule, result) in
        [("2021-01-31", "after 1 month", "2021-02-28"), ("2021-01-01", "after 100 days", "2021-04-11")]
    {
        for (name, evaluate) in BOTH {
            let question = Question {
                rules: format!("{rule}, aim check"),
                items: one_camera(date),
                ..Question::default()
            };
            assert_eq!(due(evaluate, &question, date), midnight(result), "{name}: {date} {rule}");
        }
    }
}

/// Does the task on each due date; gives the due dates.
fn stepped(evaluate: Evaluator, rules: &str, start: NaiveDate, count: usize) -> Vec<NaiveDate> {
    let mut question =
        Question { rules: rules.to_owned(), items: one_camera(&start.to_string()), ..Question::default() };
    let mut table = "when,item,event".to_owned();
    let mut dates: Vec<NaiveDate> = Vec::new();
    let mut at = start;
    for _ in 0..count {
        let next = due(evaluate, &question, &at.to_string()).date_naive();
        dates.push(next);
        table += &format!("\n{next},C1,aim check");
        question.log = read_log(&table);
        at = next;
    }
    dates
}

fn dates(text: &str) -> Vec<NaiveDate> {
    text.split(' ').map(|d| d.parse().unwrap()).collect()
}

/// RFC 5545, section 3.8.5.3: a task done whenever it falls due recurs as the RFC prints.
#[test]
fn recurrences_as_printed_in_rfc_5545() {
    let mut checked = 0;
    for row in &data(include_str!("../../data/rfc5545_recurrences.csv")) {
        let (number, printed, trigger) = (&row[0], dates(&row[3]), &row[5]);
        // A calendar takes its first date on or after the start; an interval ends one length after it.
        let length = match trigger {
            "every day" => 1,
            "every 10 days" => 10,
            "every 2 weeks" => 14,
            _ => 0,
        };
        let start = row[1].parse::<NaiveDate>().unwrap() - TimeDelta::days(length);
        // A marked difference: the RFC leaves out 30 February, a house rule takes the month's last day
        // (as RFC 7529 does with SKIP=BACKWARD).
        let expected = match number {
            "39" => dates("2007-01-15 2007-01-30 2007-02-15 2007-02-28 2007-03-15 2007-03-30"),
            _ => printed.clone(),
        };
        for (name, evaluate) in BOTH {
            let found = stepped(evaluate, &format!("{trigger}, aim check"), start, expected.len());
            assert_eq!(found, expected, "{name}: example {number}, {trigger}");
        }
        if number == "39" {
            assert_ne!(expected, printed, "the difference that is marked");
        }
        checked += 1;
    }
    assert_eq!(checked, 13);
}

/// RFC 7529, SKIP=BACKWARD: the 31st of a shorter month is its last day.
#[test]
fn day_31_as_rfc_7529_skips_backward() {
    for (name, evaluate) in BOTH {
        let start = "2014-01-31".parse().unwrap();
        let found = stepped(evaluate, "every month on day 31, aim check", start, 4);
        assert_eq!(found, dates("2014-01-31 2014-02-28 2014-03-31 2014-04-30"), "{name}");
    }
}

/// python-dateutil 2.9.0.post0: a month added six times, each to the last result.
///
/// An interval counts from last done, so it drifts to day 29; counted from one anchor it would not.
#[test]
fn intervals_add_to_the_last_completion() {
    for (name, evaluate) in BOTH {
        let start = "2024-01-31".parse().unwrap();
        let found = stepped(evaluate, "every month, aim check", start, 6);
        let chained = "2024-02-29 2024-03-29 2024-04-29 2024-05-29 2024-06-29 2024-07-29";
        assert_eq!(found, dates(chained), "{name}");
    }
}

/// When a trip recorded at a local time stands.
fn stands_at(evaluate: Evaluator, zone: &str, local: &str) -> DateTime<Utc> {
    let question = Question {
        rules: format!("time zone {zone}\nafter every trip, aim check"),
        items: one_camera("2000-01-01"),
        log: read_log(&format!("when,item,event\n{local},C1,trip")),
    };
    due(evaluate, &question, "2030-01-01")
}

fn instant(text: &str) -> DateTime<Utc> {
    DateTime::parse_from_rfc3339(text).unwrap().to_utc()
}

/// Python 3.11.7 zoneinfo (tz database 2026); the rows of New York are printed in RFC 5545, section 3.3.5.
#[test]
fn local_times_where_clocks_change() {
    let table = data(include_str!("../../data/clock_changes.csv"));
    assert_eq!(table.len(), 13);
    for row in &table {
        let expected = instant(&row[2].replace('Z', ":00Z"));
        for (name, evaluate) in BOTH {
            assert_eq!(stands_at(evaluate, &row[0], &row[1]), expected, "{name}: {} {}", &row[0], &row[1]);
        }
    }
}

/// The same table where it asks for 00:00: such a midnight as a due date and as a date alone.
#[test]
fn midnights_that_clocks_leave_out() {
    let mut checked = 0;
    for row in
        data(include_str!("../../data/clock_changes.csv")).iter().filter(|r| r[1].ends_with("T00:00:00"))
    {
        let (zone, date) = (&row[0], &row[1][..10]);
        let day_before = (midnight(date) - TimeDelta::days(1)).date_naive().to_string();
        let expected = instant(&row[2].replace('Z', ":00Z"));
        for (name, evaluate) in BOTH {
            let rules = format!("time zone {zone}\nafter 1 day, aim check");
            let question = Question { rules, items: one_camera(&day_before), ..Question::default() };
            assert_eq!(due(evaluate, &question, date), expected, "{name}: {zone} {date}");
            assert_eq!(stands_at(evaluate, zone, date), expected, "{name}: {zone} {date}");
        }
        checked += 1;
    }
    assert_eq!(checked, 4);
}

/// Hours from noon to noon, Python 3.11.7 zoneinfo (tz database 2026): a day is not always 24 hours.
#[test]
fn days_of_other_lengths() {
    let noons = [
        ("Europe/Berlin", "2024-03-30", "2024-03-31", 23.0),
        ("Europe/Berlin", "2024-10-26", "2024-10-27", 25.0),
        ("America/New_York", "2024-03-09", "2024-03-10", 23.0),
        ("Australia/Lord_Howe", "2024-04-06", "2024-04-07", 24.5),
        ("Pacific/Apia", "2011-12-29", "2011-12-31", 24.0),
    ];
    for (zone, first, second, hours) in noons {
        for (name, evaluate) in BOTH {
            let noon = |date: &str| stands_at(evaluate, zone, &format!("{date}T12:00"));
            let minutes = (noon(second) - noon(first)).num_minutes() as f64;
            assert_eq!(minutes / 60.0, hours, "{name}: {zone} {first} to {second}");
        }
    }
}

/// RFC 3339, section 5.8: the printed examples and their equal instants.
#[test]
fn date_times_as_printed_in_rfc_3339() {
    let equal = [
        ("1996-12-19T16:39:57-08:00", "1996-12-20T00:39:57Z"),
        ("1937-01-01T12:00:27.87+00:20", "1937-01-01T11:40:27.87Z"),
        ("1990-12-31T23:59:60Z", "1990-12-31T15:59:60-08:00"),
    ];
    for (name, evaluate) in BOTH {
        for (a, b) in equal {
            assert_eq!(stands_at(evaluate, "UTC", a), stands_at(evaluate, "UTC", b), "{name}: {a} and {b}");
        }
        let milliseconds = stands_at(evaluate, "UTC", "1985-04-12T23:20:50.52Z").timestamp_millis();
        assert_eq!(milliseconds, 482_196_050_520, "{name}");
    }
}

/// RFC 3339, section 5.7 and appendix C: days that no month has.
#[test]
fn days_that_do_not_exist_are_reported() {
    for (name, evaluate) in BOTH {
        for when in ["2023-02-29", "2024-04-31", "1900-02-29", "2100-02-29", "2026-01-01T24:00:00Z"] {
            let question = Question {
                rules: "after every trip, aim check".to_owned(),
                items: one_camera("2000-01-01"),
                log: read_log(&format!("when,item,event\n{when},C1,trip")),
            };
            let Answer::Rows(rows, problems) = evaluate(&question, &At::past("2030-01-01")) else { panic!() };
            assert_eq!(rows[0].standing, "clear", "{name}: {when}");
            assert!(problems.iter().any(|p| p.code == "bad-time" && p.place == "log 2"), "{name}: {when}");
        }
        assert_eq!(stands_at(evaluate, "UTC", "2000-02-29"), midnight("2000-02-29"), "{name}");
    }
}

/// Samoa had no 30 December 2011 (tz database, Pacific/Apia): a trip written on it is no trip that ends too early.
#[test]
fn a_day_that_clocks_left_out_can_be_written() {
    for (name, evaluate) in BOTH {
        let question = Question {
            rules: "time zone Pacific/Apia\nafter every trip, aim check".to_owned(),
            items: one_camera("2000-01-01"),
            log: read_log("when,until,item,event\n2011-12-30,2011-12-30,C1,trip"),
        };
        let Answer::Rows(rows, problems) = evaluate(&question, &At::past("2030-01-01")) else { panic!() };
        assert_eq!(rows[0].due_at, Some(instant("2011-12-30T10:00:00Z")), "{name}: 00:00 of 31 December");
        assert!(problems.is_empty(), "{name}: {problems:?}");
    }
}
