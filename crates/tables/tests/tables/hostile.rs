//! Files that want to exhaust memory or time, and files that are not what they say: each is a clear
//! error, reported quickly. Sizes here are small enough for an unoptimised build; limits are lowered to match
//! where a test would otherwise need the real size.
#![cfg(all(feature = "csv", feature = "jsonl", feature = "xlsx"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

use crate::common;
use crate::common::zips;

use kitlore_tables::{Columns, Limits, ReadError, Table, read_items, read_log};
use std::io::Write;
use std::time::{Duration, Instant};

fn error(name: &str, bytes: &[u8], limits: &Limits) -> String {
    let started = Instant::now();
    let mut book = common::book();
    let read = |table| read_items(&mut book, table, &Columns::new(), limits);
    let error: ReadError = Table::from_bytes(name, bytes).and_then(read).expect_err("must be refused");
    assert!(started.elapsed() < Duration::from_secs(2), "{name} took {:?}", started.elapsed());
    format!("{}: {error}", error.code())
}

fn refused(name: &str, bytes: &[u8]) -> String {
    error(name, bytes, &Limits::default())
}

#[test]
fn a_field_of_a_hundred_megabytes() {
    // A file, so that the table alone would have to hold it.
    let folder = tempfile::tempdir().unwrap();
    for (name, start) in
        [("plain.csv", "id,kind\nC1,"), ("quoted.csv", "id,kind\nC1,\""), ("head.csv", "id,kind,\"")]
    {
        let path = folder.path().join(name);
        let mut file = std::fs::File::create(&path).unwrap();
        file.write_all(start.as_bytes()).unwrap();
        let block = vec![b'x'; 1 << 20];
        for _ in 0..100 {
            file.write_all(&block).unwrap();
        }
        let started = Instant::now();
        let table = Table::open(path.to_str().unwrap()).unwrap();
        let error = read_items(&mut common::book(), table, &Columns::new(), &Limits::default()).unwrap_err();
        assert!(started.elapsed() < Duration::from_secs(2));
        let line = if name == "head.csv" { 1 } else { 2 };
        assert_eq!(
            error.to_string(),
            format!(
                "`{name}` in line {line} has a row that is too long, more than the 1 MiB that are read; look there for a quote that is not closed, or shorten the text"
            )
        );
        assert_eq!(error.code(), "too-large");
    }
}

#[test]
fn a_value_just_over_the_bound_and_just_under_it() {
    let limits = Limits { record_bytes: 100, ..Limits::default() };
    let table = |length: usize| format!("id,kind\nC1,{}\n", "x".repeat(length));
    assert!(error("t.csv", table(98).as_bytes(), &limits).starts_with("too-large: `t.csv` in line 2"));
    let read = read_items(
        &mut common::book(),
        Table::from_bytes("t.csv", table(97).as_bytes()).unwrap(),
        &Columns::new(),
        &limits,
    );
    assert!(read.is_ok());
    let object = |length: usize| format!("{{\"id\": \"C1\", \"kind\": \"{}\"}}\n", "x".repeat(length));
    assert!(error("t.jsonl", object(100).as_bytes(), &limits).starts_with("too-large: `t.jsonl` in line 1"));
}

#[test]
fn many_columns() {
    let names: Vec<String> = (0..16_384).map(|n| format!("c{n}")).collect();
    let csv = format!("id,kind,{}\n", names.join(","));
    let expected = "has 16386 columns, more than the 1000 that are read; keep the columns that matter and leave out the rest";
    assert_eq!(refused("wide.csv", csv.as_bytes()), format!("too-large: `wide.csv` {expected}"));
    let pairs: Vec<String> = names.iter().map(|name| format!("\"{name}\": 1")).collect();
    let shown = refused("wide.jsonl", format!("{{{}}}\n", pairs.join(", ")).as_bytes());
    assert_eq!(
        shown,
        "too-large: `wide.jsonl` in line 1 brings the keys to 1001, more than the 1000 that are read; keep the keys that matter and leave out the rest"
    );
    let cells: String =
        names.iter().map(|name| format!("<c t=\"inlineStr\"><is><t>{name}</t></is></c>")).collect();
    let sheet = format!("<worksheet><sheetData><row r=\"1\">{cells}</row></sheetData></worksheet>");
    let shown = refused("wide.xlsx", &zips::zipped(&[("xl/worksheets/sheet1.xml", sheet.as_bytes())]));
    assert!(shown.starts_with("too-large: `wide.xlsx` has 16384 columns"), "{shown}");
}

#[test]
fn nuls_and_random_bytes() {
    let nuls = vec![0; 1 << 20];
    let expected = "is not text; save the table as `CSV UTF-8` or as `.xlsx`";
    assert_eq!(refused("nul.csv", &nuls), format!("wrong-format: `nul.csv` {expected}"));
    assert_eq!(refused("nul.jsonl", &nuls), format!("wrong-format: `nul.jsonl` {expected}"));
    assert!(refused("nul.xlsx", &nuls).starts_with("wrong-format: `nul.xlsx` is no workbook"));
    // Bytes of a fixed linear congruential generator: no text, whatever the seed.
    let mut state = 1_u64;
    let noise: Vec<u8> = (0..1 << 20)
        .map(|_| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) as u8 | 1
        })
        .collect();
    assert!(refused("noise.csv", &noise).starts_with("wrong-format: `noise.csv` is not text"));
    assert!(refused("noise", &noise).starts_with("wrong-format: `noise` is not text"));
    let mut workbook = b"PK\x03\x04".to_vec();
    workbook.extend(&noise);
    assert!(refused("noise.xlsx", &workbook).starts_with("damaged-workbook: `noise.xlsx` is damaged"));
}

#[test]
fn other_formats_say_what_they_are() {
    let utf16: Vec<u8> = "\u{feff}id,kind\n".encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert!(refused("u.csv", &utf16).starts_with("wrong-format: `u.csv` is text in UTF-16; save"));
    assert!(
        refused("old.xls", b"\xD0\xCF\x11\xE0\xA1\xB1\x1A\xE1")
            .starts_with("wrong-format: `old.xls` is an old workbook")
    );
    assert!(
        refused("w.csv", &zips::zipped(&[])).starts_with("wrong-format: `w.csv` is a workbook or an archive")
    );
    assert!(refused("z.xlsx", &empty_zip()).starts_with("damaged-workbook: `z.xlsx` is damaged"));
    let folder = tempfile::tempdir().unwrap();
    assert_eq!(Table::open(folder.path().to_str().unwrap()).unwrap_err().code(), "not-a-file");
    assert_eq!(Table::open("no such file.csv").unwrap_err().code(), "cannot-read");
}

fn empty_zip() -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(std::io::Cursor::new(Vec::new()));
    zip.start_file("a.txt", zip::write::SimpleFileOptions::default()).unwrap();
    zip.finish().unwrap().into_inner()
}

#[test]
fn bytes_that_are_not_text_spoil_their_row_alone() {
    let mut book = common::book();
    let table = b"id,kind,maker\nC1,camera,caf\xe9\nC2,camera,\"\xc3\",\"\xa9\"\nC3,camera,caf\xc3\xa9\n";
    common::items(&mut book, "latin.csv", table, &Columns::new()).unwrap();
    common::log(
        &mut book,
        "log.jsonl",
        b"{\"when\": \"2026-02-07\", \"event\": \"\xff\"}\n",
        &Columns::new(),
    )
    .unwrap();
    assert_eq!(
        common::show(&mut book),
        "item C3 | camera | maker: caf\u{e9}\n\
         latin.csv:2 bad-text: this row holds bytes that are not UTF-8 text and is left out; save the file as `CSV UTF-8`\n\
         latin.csv:3 bad-text: this row holds bytes that are not UTF-8 text and is left out; save the file as `CSV UTF-8`\n\
         log.jsonl:1 bad-text: this row holds bytes that are not UTF-8 text and is left out; save the file as UTF-8\n"
    );
}

#[test]
fn problems_without_end_are_counted() {
    let limits = Limits { problems: 3, ..Limits::default() };
    let mut book = common::book();
    let log = format!("when,event\n{}", "bad,lens change\n".repeat(10));
    read_log(&mut book, Table::from_bytes("log.csv", log.as_bytes()).unwrap(), &Columns::new(), &limits)
        .unwrap();
    let shown = common::show(&mut book);
    assert_eq!(shown.lines().filter(|line| line.contains("bad-time")).count(), 3, "{shown}");
    assert!(
        shown.contains("log.csv:5 more-problems: 7 more problems in lines 5 to 11 are not listed"),
        "{shown}"
    );
}

#[test]
fn a_workbook_that_unpacks_to_too_much() {
    let limits = Limits { unpacked_bytes: 1 << 20, ..Limits::default() };
    let bomb = zips::zipped(&[("xl/styles.xml", &vec![b' '; 2 << 20])]);
    assert!(bomb.len() < 20_000);
    let expected = "too-large: `bomb.xlsx` unpacks to too much, more than the 1 MiB that are read; save the one sheet that is needed as `CSV UTF-8`";
    assert_eq!(error("bomb.xlsx", &bomb, &limits), expected);
    // Many parts that only together are too much.
    let part = vec![b' '; 300 << 10];
    let parts: Vec<(String, &[u8])> = (0..4).map(|n| (format!("xl/more{n}.xml"), part.as_slice())).collect();
    let parts: Vec<(&str, &[u8])> = parts.iter().map(|(name, bytes)| (name.as_str(), *bytes)).collect();
    assert_eq!(error("bomb.xlsx", &zips::zipped(&parts), &limits), expected);
    // Pictures are never unpacked.
    let mut book = common::book();
    let album = zips::zipped(&[("xl/media/image1.png", &vec![7; 2 << 20])]);
    read_items(&mut book, Table::from_bytes("album.xlsx", &album).unwrap(), &Columns::new(), &limits)
        .unwrap();
    assert_eq!(common::show(&mut book), "item C1 | camera\n");
}

#[test]
fn a_workbook_that_lies_about_its_size() {
    let honest = zips::zipped(&[("xl/styles.xml", &vec![b' '; 2 << 20])]);
    let size = u32::to_le_bytes(2 << 20);
    let mut lying = honest.clone();
    let mut lies = 0;
    for at in 0..honest.len() - 4 {
        if honest[at..at + 4] == size {
            lying[at..at + 4].copy_from_slice(&100_u32.to_le_bytes());
            lies += 1;
        }
    }
    assert!(lies >= 1, "the declared size was found and changed");
    let limits = Limits { unpacked_bytes: 1 << 20, ..Limits::default() };
    let shown = error("lie.xlsx", &lying, &limits);
    assert!(
        shown.starts_with("too-large: `lie.xlsx` unpacks to too much")
            || shown.starts_with("damaged-workbook: "),
        "{shown}"
    );
}

#[test]
fn a_workbook_of_many_parts_texts_or_styles() {
    let limits = Limits { parts: 10, texts: 100, ..Limits::default() };
    let names: Vec<String> = (0..20).map(|n| format!("xl/p{n}.xml")).collect();
    let parts: Vec<(&str, &[u8])> = names.iter().map(|name| (name.as_str(), b"<a/>".as_slice())).collect();
    assert!(
        error("parts.xlsx", &zips::zipped(&parts), &limits)
            .starts_with("too-large: `parts.xlsx` has 25 parts, more than the 10")
    );
    let texts = format!("<sst>{}</sst>", "<si><t>a</t></si>".repeat(200));
    let shown = error("texts.xlsx", &zips::zipped(&[("xl/sharedStrings.xml", texts.as_bytes())]), &limits);
    assert!(shown.starts_with("too-large: `texts.xlsx` has 803 marks in `xl/sharedstrings.xml`"), "{shown}");
    let styles = format!("<styleSheet><cellXfs>{}</cellXfs></styleSheet>", "<xf/>".repeat(100_001));
    let shown = refused("styles.xlsx", &zips::zipped(&[("xl/styles.xml", styles.as_bytes())]));
    assert!(shown.starts_with("too-large: `styles.xlsx` has 100006 marks in `xl/styles.xml`"), "{shown}");
    let long = format!("<sst><si><t>{}</t></si></sst>", "a".repeat((1 << 20) + 1));
    let shown = refused("long.xlsx", &zips::zipped(&[("xl/sharedStrings.xml", long.as_bytes())]));
    assert!(shown.starts_with("too-large: `long.xlsx` has a text of 1 MiB"), "{shown}");
}

#[test]
fn numbers_in_a_workbook_that_would_overflow() {
    for (part, text) in [
        ("xl/sharedStrings.xml", "<sst uniqueCount=\"99999999999999\"></sst>".to_owned()),
        ("xl/worksheets/sheet1.xml", zips::SHEET.replace("r=\"A1\"", "r=\"A99999999999\"")),
        ("xl/worksheets/sheet1.xml", zips::SHEET.replace("r=\"A1\"", "r = 'ZZZZZZZZZ1'")),
        ("xl/worksheets/sheet1.xml", zips::SHEET.replace("row r=\"1\"", "row\nr=\"99999999999\"")),
        (
            "xl/worksheets/sheet1.xml",
            zips::SHEET.replace("<sheetData>", "<dimension ref=\"A1:A99999999999\"/><sheetData>"),
        ),
    ] {
        let shown = refused("big.xlsx", &zips::zipped(&[(part, text.as_bytes())]));
        assert!(
            shown.starts_with("damaged-workbook: `big.xlsx` is damaged: a cell name or a count is beyond what a sheet can have"),
            "{shown}"
        );
    }
}

/// As a rectangle this sheet would have 17 thousand million cells.
#[test]
fn one_cell_in_each_corner_of_a_sheet() {
    let sheet = zips::SHEET
        .replace("</sheetData>", "<row r=\"1048576\"><c r=\"XFD1048576\"><v>1</v></c></row></sheetData>");
    let mut book = common::book();
    let started = Instant::now();
    common::items(
        &mut book,
        "corners.xlsx",
        &zips::zipped(&[("xl/worksheets/sheet1.xml", sheet.as_bytes())]),
        &Columns::new(),
    )
    .unwrap();
    assert!(started.elapsed() < Duration::from_secs(1));
    assert_eq!(
        common::show(&mut book),
        "item C1 | camera\n\
         corners.xlsx:1048576 no-heading: column 16384 has no heading, so that `1` and what stands below it is not read; give the column a heading\n\
         corners.xlsx:1048576 missing-id: this row has no `id` and is left out; write its id\n"
    );
}

/// Each row names one long text many times.
#[test]
fn a_text_that_a_row_repeats() {
    let cells = "<c t=\"s\"><v>0</v></c>".repeat(1_000);
    let sheet = zips::SHEET.replace("</sheetData>", &format!("<row r=\"3\">{cells}</row></sheetData>"));
    let texts = format!("<sst><si><t>{}</t></si></sst>", "a".repeat(100_000));
    let parts = zips::zipped(&[
        ("xl/worksheets/sheet1.xml", sheet.as_bytes()),
        ("xl/sharedStrings.xml", texts.as_bytes()),
    ]);
    let shown = refused("again.xlsx", &parts);
    assert!(shown.starts_with("too-large: `again.xlsx` in line 3 has a row that is too long"), "{shown}");
}

proptest::proptest! {
    /// No bytes make a reader panic; a sane table with one part replaced by them neither.
    #[test]
    fn any_bytes(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..300), name in "[abc]\\.(csv|jsonl|xlsx)") {
        let mut book = common::book();
        let _ = common::items(&mut book, &name, &bytes, &Columns::new());
        let _ = common::log(&mut book, &name, &bytes, &Columns::new());
    }

    /// A sheet with some bytes changed is read or refused.
    #[test]
    fn any_damage_to_a_sheet(changes in proptest::collection::vec((0_usize..420, "[<>/\"'=a-zA-Z0-9 &;!\\[\\]-]"), 1..6)) {
        let mut sheet = zips::SHEET.as_bytes().to_vec();
        for (at, with) in changes {
            if let Some(byte) = sheet.get_mut(at) {
                *byte = with.as_bytes()[0];
            }
        }
        let mut book = common::book();
        let _ = common::items(&mut book, "s.xlsx", &zips::zipped(&[("xl/worksheets/sheet1.xml", &sheet)]), &Columns::new());
    }
}
