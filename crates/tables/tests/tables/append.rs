//! Appending to a log: what is there stays, byte for byte.
#![cfg(all(feature = "csv", feature = "jsonl", feature = "xlsx"))]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "tests"
)]

use crate::common;

use kitlore_engine::Entry;
use kitlore_tables::{AppendError, Columns, append_entry};
use std::path::PathBuf;

struct Log {
    _folder: tempfile::TempDir,
    path: PathBuf,
}

fn log(name: &str, text: &str) -> Log {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join(name);
    std::fs::write(&path, text).unwrap();
    Log { _folder: folder, path }
}

fn entry() -> Entry {
    Entry::new("2026-02-08", "lens change").item("C1").amount(8)
}

/// Appends to a log of this text and returns the line number and what was added.
fn added(name: &str, text: &str, columns: &str, entry: &Entry) -> Result<(u32, String), AppendError> {
    let log = log(name, text);
    let line = append_entry(&log.path, &Columns::parse(columns).unwrap(), entry);
    let now = std::fs::read_to_string(&log.path).unwrap();
    let rest = now.strip_prefix(text).expect("what was there stays");
    if line.is_err() {
        assert_eq!(rest, "", "a refusal writes nothing");
    }
    line.map(|line| (line, rest.to_owned()))
}

#[test]
fn the_columns_separator_and_line_ends_of_the_file_are_kept() {
    for (name, text, columns, line, expected) in [
        (
            "a.csv",
            "when,event,item,amount\n2026-02-07,lens change,C1,12\n",
            "",
            3,
            "2026-02-08,lens change,C1,\"8\"\n",
        ),
        ("a.csv", "\u{feff}Event,Remark,Item,Amount,When\r\n", "", 2, "lens change,,C1,8,\"2026-02-08\"\r\n"),
        (
            "a.csv",
            "Date;What;Asset no;Qty\n",
            "when=Date,event=What,item=Asset no,amount=Qty",
            2,
            "2026-02-08;lens change;C1;\"8\"\n",
        ),
        ("a.tsv", "when\tevent\titem\tamount\n\n\n", "", 4, "2026-02-08\tlens change\tC1\t\"8\"\n"),
        ("a.csv", "sep=;\nwhen;event;item;amount\n", "", 3, "2026-02-08;lens change;C1;\"8\"\n"),
        ("a", "when,event,item,amount\n", "", 2, "2026-02-08,lens change,C1,\"8\"\n"),
        (
            "a.jsonl",
            "",
            "",
            1,
            "{\"when\": \"2026-02-08\", \"event\": \"lens change\", \"item\": \"C1\", \"amount\": 8}\n",
        ),
        (
            "a.jsonl",
            "{\"item\": \"C1\", \"Event\": \"x\", \"Date\": \"2026-02-07\", \"weather\": 1}\n",
            "when=Date",
            2,
            "{\"item\": \"C1\", \"Event\": \"lens change\", \"Date\": \"2026-02-08\", \"amount\": 8}\n",
        ),
    ] {
        assert_eq!(
            added(name, text, columns, &entry()).unwrap(),
            (line, expected.to_owned()),
            "{name}: {text:?}"
        );
    }
}

#[test]
fn values_are_quoted_where_they_must_be() {
    let entry = Entry::new("2026-02-08", "lens change")
        .item("C1; the \"old\" one")
        .amount("1,200")
        .condition("dust")
        .condition("sand");
    let (_, line) = added("a.csv", "when,event,item,amount,in\n", "", &entry).unwrap();
    assert_eq!(line, "2026-02-08,lens change,\"C1; the \"\"old\"\" one\",\"1,200\",\"dust;sand\"\n");
    let (_, line) = added("a.csv", "when;event;item;amount;in\n", "", &entry).unwrap();
    assert_eq!(line, "2026-02-08;lens change;\"C1; the \"\"old\"\" one\";1,200;\"dust;sand\"\n");
    let (_, line) = added("a.jsonl", "", "", &entry).unwrap();
    assert_eq!(
        line,
        "{\"when\": \"2026-02-08\", \"event\": \"lens change\", \"item\": \"C1; the \\\"old\\\" one\", \"amount\": 1200, \"in\": [\"dust\",\"sand\"]}\n"
    );
}

#[test]
fn a_last_line_without_end_is_ended_first_and_never_joined() {
    let (line, text) = added("a.csv", "when,event,item,amount\r\n2026-02-07,x,C1,1", "", &entry()).unwrap();
    assert_eq!((line, text.as_str()), (3, "\r\n2026-02-08,lens change,C1,\"8\"\r\n"));
    let (line, text) = added("a.csv", "when,event,item,amount", "", &entry()).unwrap();
    assert_eq!((line, text.as_str()), (2, "\n2026-02-08,lens change,C1,\"8\"\n"));
    let (line, text) = added("a.jsonl", "{\"when\": \"2026-02-07\"}", "", &entry()).unwrap();
    assert_eq!(line, 2);
    assert!(text.starts_with("\n{\"when\": \"2026-02-08\""));
}

#[test]
fn every_beginning_of_an_appended_line_is_a_whole_entry_or_refused_by_the_next() {
    let entry = entry().condition("dust").note("the \"old\" one, in\ntwo lines");
    for (name, start) in [
        ("a.csv", "when,event,item,amount,in,note\n"),
        ("a.csv", "when;note;event;item;in;amount\r\n"),
        ("a.csv", "when,event,item,amount,in,note,ref\n"),
        ("a.jsonl", ""),
        ("a.jsonl", "{\"note\": \"x\"}\n"),
    ] {
        let (_, line) = added(name, start, "", &entry).unwrap();
        let body = line.trim_end();
        for cut in 1..line.len() {
            let torn = format!("{start}{}", &line[..cut]);
            let next = added(name, &torn, "", &entry);
            match next {
                Ok(_) => assert!(cut >= body.len(), "{torn:?}"),
                Err(error) => {
                    assert!(cut <= body.len(), "{torn:?}");
                    assert!(["breaks-off", "unclosed-quote"].contains(&error.code()), "{torn:?}: {error}");
                }
            }
        }
    }
}

#[test]
fn what_a_spreadsheet_would_work_out_is_refused() {
    for value in ["=1+1", "+x", "-x", "@x", "\t=1", "\r=1"] {
        for entry in [entry().note(value), entry().reference(value), Entry::new("2026-02-08", value)] {
            let refused = added("a.csv", "when,event,item,amount,ref,note\n", "", &entry);
            assert_eq!(refused.unwrap_err().code(), "formula", "{value:?}");
            assert!(added("a.jsonl", "", "", &entry).is_ok(), "{value:?}");
        }
    }
    let reading = Entry::new("2026-02-08", "temperature").item("C1").reading("-5");
    assert!(added("a.csv", "when,event,item,reading\n", "", &reading).is_ok());
}

#[test]
fn a_log_that_does_not_exist_is_created() {
    let folder = tempfile::tempdir().unwrap();
    let csv = folder.path().join("log.csv");
    assert_eq!(append_entry(&csv, &Columns::parse("when=Date,id=Asset").unwrap(), &entry()).unwrap(), 2);
    assert_eq!(append_entry(&csv, &Columns::parse("when=Date,id=Asset").unwrap(), &entry()).unwrap(), 3);
    assert_eq!(
        std::fs::read_to_string(&csv).unwrap(),
        "Date,event,until,item,amount,reading,unit,in,found,ref,id,by,note,expect\n\
         2026-02-08,lens change,,C1,8,,,,,,,,,\n2026-02-08,lens change,,C1,8,,,,,,,,,\n"
    );
    let jsonl = folder.path().join("log.jsonl");
    assert_eq!(append_entry(&jsonl, &Columns::new(), &entry()).unwrap(), 1);
    let error = append_entry(folder.path().join("log"), &Columns::new(), &entry()).unwrap_err();
    assert_eq!(error.code(), "unknown-format");
    assert!(!folder.path().join("log").exists());
    let error = append_entry(folder.path().join("none/log.csv"), &Columns::new(), &entry()).unwrap_err();
    assert_eq!(error.code(), "cannot-write");
}

#[test]
fn what_cannot_be_written_is_refused_with_the_remedy() {
    let refused = |name: &str, text: &str, columns: &str| {
        let error = added(name, text, columns, &entry()).unwrap_err();
        let folder = error.to_string();
        // The path of the temporary folder differs from run to run.
        let message = match folder.find(name) {
            Some(at) => folder[..folder.find('`').unwrap() + 1].to_owned() + &folder[at..],
            None => folder,
        };
        format!("{}: {message}", error.code())
    };
    assert_eq!(
        refused("a.csv", "when,event,item\n", ""),
        "no-column: `a.csv` has no column for `amount`; add the heading `amount` to its first line, then record again"
    );
    assert!(
        refused("a.csv", "when,item,amount\n", "")
            .starts_with("missing-column: `a.csv` has no column `event`")
    );
    assert!(
        refused("a.csv", "when,event\n", "item=Asset")
            .starts_with("unknown-heading: `a.csv` has no heading `Asset` for `item`")
    );
    assert!(refused("a.xlsx", "", "").starts_with("workbook-log: "));
    assert!(refused("a", "PK\u{3}\u{4}", "").starts_with("workbook-log: "));
    let open = added("a.csv", "when,event,item,amount,note\n2026-02-07,lens change,C1,1,\"win", "", &entry())
        .unwrap_err();
    assert_eq!(open.code(), "unclosed-quote");
    assert!(open.to_string().starts_with("a quote in line 2 of "), "{open}");
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(append_entry(folder.path(), &Columns::new(), &entry()).unwrap_err().code(), "not-a-file");
}

#[test]
fn what_was_appended_reads_back() {
    for name in ["log.csv", "log.jsonl"] {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join(name);
        for who in ["Ana", "Piet", "Ines"] {
            let entry = entry().condition("dust").note("two\nlines, \"quoted\"").by(who);
            append_entry(&path, &Columns::new(), &entry).unwrap();
        }
        let mut book = common::book();
        common::items(&mut book, "items.csv", b"id,kind\nC1,camera\n", &Columns::new()).unwrap();
        common::log(&mut book, name, &std::fs::read(&path).unwrap(), &Columns::new()).unwrap();
        assert_eq!(
            common::show(&mut book),
            "item C1 | camera\nentries 3\nC1: 24 lens changes in dust\nC1: 24 lens changes\n"
        );
    }
}

#[test]
fn several_that_record_at_once_each_add_their_line() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("log.csv");
    let mut lines: Vec<u32> = std::thread::scope(|scope| {
        let writers: Vec<_> = (0..4)
            .map(|_| {
                scope.spawn(|| {
                    (0..10)
                        .map(|_| append_entry(&path, &Columns::new(), &entry()).unwrap())
                        .collect::<Vec<_>>()
                })
            })
            .collect();
        writers.into_iter().flat_map(|writer| writer.join().unwrap()).collect()
    });
    lines.sort_unstable();
    assert_eq!(lines, (2..=41).collect::<Vec<u32>>(), "one heading and forty lines, each number given once");
    assert_eq!(std::fs::read_to_string(&path).unwrap().lines().count(), 41);
}
