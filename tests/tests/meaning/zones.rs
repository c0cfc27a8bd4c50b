//! 00:00 of a date, by its definition: the first instant whose local date is that date or later.

#![allow(clippy::unwrap_used, clippy::panic, clippy::indexing_slicing, reason = "a panic is a failed test")]

use chrono::{DateTime, NaiveDate, NaiveTime, Offset, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;
use kitlore_engine::{Book, Item, Program, When};
use kitlore_tests::plain::clock::Clock;

const ZONES: [&str; 24] = [
    "UTC",
    "Africa/Cairo",
    "Africa/Casablanca",
    "America/Asuncion",
    "America/Havana",
    "America/New_York",
    "America/Santiago",
    "America/Sao_Paulo",
    "America/Scoresbysund",
    "America/St_Johns",
    "Antarctica/Troll",
    "Asia/Amman",
    "Asia/Beirut",
    "Asia/Gaza",
    "Asia/Kathmandu",
    "Asia/Pyongyang",
    "Asia/Tehran",
    "Atlantic/Azores",
    "Australia/Lord_Howe",
    "Europe/Lisbon",
    "Pacific/Apia",
    "Pacific/Chatham",
    "Pacific/Fakaofo",
    "Pacific/Kwajalein",
];

/// The days of 1973 to 2037 at which a zone's clocks are set, and the days after.
fn days_of_change(zone: Tz) -> Vec<NaiveDate> {
    let noon = |day: &NaiveDate| day.and_hms_opt(12, 0, 0).unwrap();
    let offset = |day: &NaiveDate| zone.offset_from_utc_datetime(&noon(day)).fix();
    let first = NaiveDate::from_ymd_opt(1973, 1, 1).unwrap();
    let days = first.iter_days().take(65 * 365).filter(|d| offset(d) != offset(&d.succ_opt().unwrap()));
    days.flat_map(|d| [d, d.succ_opt().unwrap()]).collect()
}

/// By trying every minute from well before: clocks are set at whole minutes since 1973.
fn by_definition(zone: Tz, date: NaiveDate) -> DateTime<Utc> {
    let from = date.and_time(NaiveTime::MIN).and_utc() - TimeDelta::hours(26);
    let minutes = (0..60 * 60).map(|minute| from + TimeDelta::minutes(minute));
    minutes.into_iter().find(|t| t.with_timezone(&zone).date_naive() >= date).unwrap()
}

#[test]
fn dates_begin_at_their_first_instant() {
    let mut checked = 0;
    for name in ZONES {
        let zone: Tz = name.parse().unwrap();
        let program = Program::parse(&format!("time zone {name}\nafter 1 day, aim check")).unwrap();
        for date in days_of_change(zone) {
            let expected = by_definition(zone, date);
            assert_eq!(Clock(zone).start_of(date), expected, "plain evaluator: {name} {date}");
            let mut book = Book::new(&program);
            let day_before = date.pred_opt().unwrap();
            book.add_item(Item::new("C1", "camera").received(day_before)).unwrap();
            let standings = book.standings(program.when_is_over(When::Date(date)));
            let row = standings.rows().next().unwrap();
            assert_eq!(row.due_at.unwrap().utc(), expected, "engine: {name} {date}");
            checked += 1;
        }
    }
    assert!(checked > 3_000, "only {checked} dates");
}
