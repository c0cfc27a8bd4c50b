//! What people see of the days ahead, and how the forecast of the studio's last quarter went.

use crate::common::{examples, studio};
use insta::assert_snapshot;
use kitlore::planning::{Options, forecast};
use kitlore::tables::{Columns, Limits, Table, load_rules, read_items, read_log};
use kitlore::{Book, NaiveDate, Rules, When};

#[test]
fn ahead_at_80_columns() {
    let done = studio(80, false, "ahead", &["--at", "2026-11-25", "--days", "30"]);
    assert_snapshot!(done.transcript());
}

#[test]
fn no_line_is_wider_than_the_screen() {
    for width in [50, 60, 80, 140] {
        for line in studio(width, false, "ahead", &["--at", "2026-11-25"]).out.lines() {
            assert!(unicode_width::UnicodeWidthStr::width(line) <= width, "{width}: {line}");
        }
    }
}

#[test]
fn every_caution_of_a_shown_row_is_shown() {
    let out = studio(140, false, "ahead", &["--at", "2026-11-25"]).out;
    assert!(out.contains("caution: Flash capacitors hold a deadly charge"));
}

#[test]
fn json_and_csv_have_every_row() {
    let json = studio(80, false, "ahead", &["--at", "2026-11-25", "--as", "json", "--days", "10"]).out;
    let json: serde_json::Value = serde_json::from_str(&json).expect("JSON");
    let rows = json["rows"].as_array().expect("rows");
    let due = studio(80, false, "due", &["--at", "2026-11-25", "--as", "json"]).out;
    let due: serde_json::Value = serde_json::from_str(&due).expect("JSON");
    assert_eq!(rows.len(), due["rows"].as_array().expect("rows").len());
    assert!(rows.iter().all(|row| row["by_day"].as_array().is_some_and(|days| days.len() == 11)));
    let csv = studio(80, false, "ahead", &["--at", "2026-11-25", "--as", "csv"]).out;
    assert_eq!(csv::Reader::from_reader(csv.as_bytes()).records().count(), rows.len());
}

/// The studio's book, with the entries of its log up to a date.
fn book(rules: &Rules, until: &str) -> Book {
    let folder = examples().join("studio");
    let columns = std::fs::read_to_string(folder.join("columns")).expect("columns");
    let columns = Columns::parse(&columns).expect("columns");
    let mut book = Book::new(rules);
    let inventory = Table::open(&folder.join("inventory.xlsx").display().to_string()).expect("inventory");
    read_items(&mut book, inventory, &columns, &Limits::default()).expect("items");
    let log = std::fs::read_to_string(folder.join("log.csv")).expect("a log");
    let kept = log.lines().enumerate().filter(|(number, line)| *number == 0 || line.get(..10) <= Some(until));
    let kept: Vec<&str> = kept.map(|(_, line)| line).collect();
    let past = tempfile::tempdir().expect("a folder");
    let file = past.path().join("log.csv");
    std::fs::write(&file, kept.join("\n") + "\n").expect("written");
    let log = Table::open(&file.display().to_string()).expect("a log");
    read_log(&mut book, log, &columns, &Limits::default()).expect("entries");
    book
}

/// Forecast at the end of August from what came before; then day by day what was due. A task that was done
/// before it fell due says nothing of its date and is left out.
#[test]
fn the_last_quarter_of_the_studio() {
    let rules = load_rules(examples().join("studio/house.lore").display().to_string()).expect("rules");
    let date = |text: &str| -> NaiveDate { text.parse().expect("a date") };
    let (from, to) = (date("2026-08-27"), date("2026-11-25"));
    let over = |date| rules.when_is_over(When::Date(date));
    let ahead = forecast(&mut book(&rules, "2026-08-27"), over(from), &Options::default());
    let mut whole = book(&rules, "9999");
    let mut lines = Vec::new();
    let (mut within, mut known) = (0, 0);
    for row in ahead.rows().iter().filter(|row| !row.is_certain() && row.enough() && row.p50.is_some()) {
        let mut happened = None;
        for day in from.iter_days().skip(1).take_while(|day| *day <= to) {
            let standings = whole.standing(&row.item, over(day));
            let Some(now) = standings.rows().find(|now| now.task == row.task) else { break };
            if now.last_done.is_some_and(|done| done > over(from)) {
                happened = Some("done before it fell due".to_owned());
                break;
            }
            if let Some(due) = now.due_at.filter(|due| *due <= over(day)) {
                let due = rules.local(due).date_naive();
                let held = row.p10.is_some_and(|p10| p10 <= due) && row.p90.is_none_or(|p90| due <= p90);
                (within, known) = (within + u32::from(held), known + 1);
                happened = Some(format!("{due} {}", if held { "within" } else { "outside" }));
                break;
            }
        }
        let shown =
            |date: Option<NaiveDate>| date.map_or_else(|| "later".to_owned(), |date| date.to_string());
        let happened = happened.unwrap_or_else(|| "not due by the end".to_owned());
        let [p10, p50, p90] = [row.p10, row.p50, row.p90].map(shown);
        lines.push(format!("{} {}: {p10} {p50} {p90}; {happened}", row.item, row.task));
    }
    lines.push(format!("{within} of {known} fell due within the span"));
    assert!(known > 0);
    assert_snapshot!(lines.join("\n"));
}
