//! Workbooks as studios keep them, made here with rust_xlsxwriter.
#![cfg(all(feature = "csv", feature = "jsonl", feature = "xlsx"))]
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::indexing_slicing, reason = "tests")]

use crate::common;
#[path = "common/zips.rs"]
mod zips;

use kitlore_tables::{Columns, WorkbookRows};
use rust_xlsxwriter::{ExcelDateTime, Format, Formula, Workbook, Worksheet};

fn date(sheet: &mut Worksheet, row: u32, column: u16, text: &str) {
    let format = Format::new().set_num_format("d mmm yyyy");
    sheet
        .write_datetime_with_format(row, column, ExcelDateTime::parse_from_str(text).unwrap(), &format)
        .unwrap();
}

fn headings(sheet: &mut Worksheet, row: u32, column: u16, names: &[&str]) {
    sheet.write_row(row, column, names.iter().copied()).unwrap();
}

fn show(name: &str, items: Vec<u8>, log: Option<Vec<u8>>) -> String {
    let mut book = common::book();
    let mut errors = String::new();
    for (what, bytes) in [("items", Some(items)), ("log", log)] {
        let Some(bytes) = bytes else { continue };
        let read = match what {
            "items" => common::items(&mut book, name, &bytes, &Columns::new()),
            _ => common::log(&mut book, name, &bytes, &Columns::new()),
        };
        if let Err(error) = read {
            errors += &format!("error {}: {error}\n", error.code());
        }
    }
    common::show(&mut book) + &errors
}

#[test]
fn dates_numbers_and_texts_as_spreadsheets_store_them() {
    let mut items = Workbook::new();
    let sheet = items.add_worksheet();
    headings(sheet, 0, 0, &["ID", "Kind", "Received", "In Service", "Serial", "Price", "Sealed", "Warranty"]);
    sheet.write_row(1, 0, ["C1", "camera"]).unwrap();
    date(sheet, 1, 2, "2026-01-10");
    sheet.write(1, 3, "2026-01-12").unwrap();
    sheet.write(1, 4, "00123").unwrap();
    sheet.write(1, 5, 0.1 + 0.2).unwrap();
    sheet.write(1, 6, true).unwrap();
    date(sheet, 1, 7, "2028-01-10");
    sheet.write(2, 0, 17).unwrap();
    sheet.write(2, 1, "camera ").unwrap();
    sheet.write(2, 2, 46_000).unwrap();
    sheet.write(2, 4, 1234).unwrap();
    sheet.write(2, 5, 1.0 / 3.0).unwrap();

    let mut log = Workbook::new();
    let sheet = log.add_worksheet();
    headings(sheet, 0, 0, &["when", "event", "item", "amount", "in"]);
    date(sheet, 1, 0, "2026-02-07");
    sheet.write(1, 1, "lens change").unwrap();
    sheet.write(1, 2, "C1").unwrap();
    sheet.write(1, 3, 12).unwrap();
    sheet.write(1, 4, "dust; sand").unwrap();
    date(sheet, 2, 0, "2026-02-08T09:30:15");
    sheet.write_row(2, 1, ["lens change", "C1", "1,200"]).unwrap();
    sheet.write_row(3, 0, ["2026-02-09T10:00:00Z", "lens change", "17", "0.5"]).unwrap();
    sheet.write(4, 0, 46_062).unwrap();
    sheet.write_row(4, 1, ["lens change", "C1"]).unwrap();
    sheet.write_row(5, 0, ["9.2.2026", "lens change", "C1"]).unwrap();

    let shown = show("book.xlsx", items.save_to_buffer().unwrap(), Some(log.save_to_buffer().unwrap()));
    assert_eq!(
        shown,
        "item C1 | camera | received 2026-01-10 | in_service 2026-01-12 | Serial: 00123 | Price: 0.3 | Sealed: true | Warranty: 2028-01-10\n\
         item 17 | camera | Serial: 1234 | Price: 0.3333333333333333\n\
         entries 3\n\
         17: 0.5 lens changes\n\
         C1: 12 lens changes in dust\n\
         C1: 1212 lens changes\n\
         book.xlsx:3 bad-time: `received` `46000` is not a date such as `2026-03-01` or a date-time such as `2026-03-01T14:30:00+01:00`; a plain number is no date; in a spreadsheet give the cell a date format; the item is taken without it\n\
         book.xlsx:5 bad-time: `when` `46062` is not a date such as `2026-03-01` or a date-time such as `2026-03-01T14:30:00+01:00`; a plain number is no date; in a spreadsheet give the cell a date format\n\
         book.xlsx:6 bad-time: `when` `9.2.2026` is not a date such as `2026-03-01` or a date-time such as `2026-03-01T14:30:00+01:00`; day and month can be read either way round; write year, month, day\n"
    );
}

/// The 1904 epoch counts days from 1904-01-01 (ECMA-376 part 1, 18.17.4.1): serial 44570 is 2026-01-10,
/// as 46032 is in the 1900 one, 1462 days more. The 1900 one counts a 29 February 1900 that never was, as
/// serial 60.
#[test]
fn dates_of_either_epoch() {
    let sheet = |serial: &str| {
        zips::SHEET
            .replace(
                "</row><row r=\"2\">",
                "<c r=\"C1\" t=\"inlineStr\"><is><t>received</t></is></c></row><row r=\"2\">",
            )
            .replace(
                "</row></sheetData>",
                &format!("<c r=\"C2\" s=\"1\"><v>{serial}</v></c></row></sheetData>"),
            )
    };
    let styles = "<styleSheet><cellXfs><xf numFmtId=\"0\"/><xf numFmtId=\"14\"/></cellXfs></styleSheet>";
    let workbook = |properties: &str, serial: &str| {
        zips::zipped(&[
            ("xl/workbook.xml", zips::workbook(properties).as_bytes()),
            ("xl/styles.xml", styles.as_bytes()),
            ("xl/worksheets/sheet1.xml", sheet(serial).as_bytes()),
        ])
    };
    let epoch_1904 = "<workbookPr date1904=\"1\"/>";
    for (properties, serial, expected) in [
        ("", "46032", "received 2026-01-10"),
        (epoch_1904, "44570", "received 2026-01-10"),
        ("", "59", "received 1900-02-28"),
        ("", "61", "received 1900-03-01"),
        (epoch_1904, "59", "received 1904-02-29"),
        (epoch_1904, "60", "received 1904-03-01"),
    ] {
        let shown = show("epoch.xlsx", workbook(properties, serial), None);
        assert_eq!(shown, format!("item C1 | camera | {expected}\n"), "serial {serial}, {properties}");
    }
    let shown = show("epoch.xlsx", workbook("", "60"), None);
    assert!(
        shown.starts_with("item C1 | camera\nepoch.xlsx:2 bad-time: `received` `60` is not a date"),
        "{shown}"
    );
}

#[test]
fn headings_below_and_right_of_empty_cells() {
    let mut items = Workbook::new();
    let sheet = items.add_worksheet();
    headings(sheet, 3, 2, &["id", "kind", "maker"]);
    headings(sheet, 4, 2, &["C1", "camera", "Tern"]);
    headings(sheet, 7, 2, &["C2", " ", "Tern"]);
    sheet.write(8, 4, "   ").unwrap();
    headings(sheet, 9, 2, &["C3", "camera"]);
    sheet.write(9, 7, "stray").unwrap();
    sheet.write(10, 8, "more").unwrap();
    let shown = show("low.xlsx", items.save_to_buffer().unwrap(), None);
    assert_eq!(
        shown,
        "item C1 | camera | maker: Tern\nitem C3 | camera\n\
         low.xlsx:8 missing-kind: this row has no `kind` and is left out; write its kind\n\
         low.xlsx:10 no-heading: column 8 has no heading, so that `stray` and what stands below it is not read; give the column a heading\n\
         low.xlsx:11 missing-id: this row has no `id` and is left out; write its id\n"
    );
}

#[test]
fn error_cells_are_reported_with_their_names() {
    let mut items = Workbook::new();
    let sheet = items.add_worksheet();
    headings(sheet, 0, 0, &["id", "kind", "received", "price"]);
    sheet.write_row(1, 0, ["C1", "camera"]).unwrap();
    sheet.write(1, 2, Formula::new("=1/0").set_result("#DIV/0!")).unwrap();
    sheet.write(1, 3, Formula::new("=NA()").set_result("#N/A")).unwrap();
    sheet.write(2, 0, Formula::new("=NA()").set_result("#N/A")).unwrap();
    sheet.write(2, 1, "camera").unwrap();
    let mut log = Workbook::new();
    let sheet = log.add_worksheet();
    headings(sheet, 0, 0, &["when", "event", "item", "amount", "note"]);
    sheet.write_row(1, 0, ["2026-02-07", "lens change", "C1"]).unwrap();
    sheet.write(1, 3, Formula::new("=B9").set_result("#REF!")).unwrap();
    sheet.write_row(2, 0, ["2026-02-08", "lens change", "C1", "3"]).unwrap();
    sheet.write(2, 4, Formula::new("=B9").set_result("#REF!")).unwrap();
    sheet.write_row(3, 0, ["2026-02-08", "lens change", "C1"]).unwrap();
    sheet.write(3, 3, Formula::new("=2+2").set_result("4")).unwrap();
    let shown = show("err.xlsx", items.save_to_buffer().unwrap(), Some(log.save_to_buffer().unwrap()));
    assert_eq!(
        shown,
        "item C1 | camera\nentries 2\nC1: 7 lens changes\n\
         err.xlsx:2 bad-value: `received` has the error `#DIV/0!` in cell C2; the item is taken without it\n\
         err.xlsx:2 bad-value: `price` has the error `#N/A` in cell D2 and is left out\n\
         err.xlsx:2 bad-value: `amount` has the error `#REF!` in cell D2; the entry is left out\n\
         err.xlsx:3 bad-value: `id` has the error `#N/A` in cell A3; the item is left out\n\
         err.xlsx:3 bad-value: `note` has the error `#REF!` in cell E3; the entry is taken without it\n"
    );
}

/// openpyxl stores no results: `ws.append(["C1", "camera", "=A1"])` gives a cell with `<f>` and an empty
/// `<v>`. Spreadsheet programs store an empty text as `t="str"` and an empty `<v>`.
#[test]
fn formulas_without_a_stored_result_are_no_empty_cells() {
    let row = |cells: &[&str]| {
        let cells: String = cells
            .iter()
            .map(|cell| match cell.strip_prefix('=') {
                Some("empty text") => "<c t=\"str\"><f>\"\"</f><v></v></c>".to_owned(),
                Some("shared") => "<c><f t=\"shared\" si=\"0\"/><v/></c>".to_owned(),
                Some("12+8 is 20") => "<c><f>12+8</f><v>20</v></c>".to_owned(),
                Some(formula) => format!("<c><f>{formula}</f><v></v></c>"),
                None => format!("<c t=\"inlineStr\"><is><t>{cell}</t></is></c>"),
            })
            .collect();
        format!("<row>{cells}</row>")
    };
    let sheet = |rows: &[&[&str]]| {
        let rows: String = rows.iter().map(|cells| row(cells)).collect();
        let sheet = format!("<worksheet><sheetData>{rows}</sheetData></worksheet>");
        zips::zipped(&[("xl/worksheets/sheet1.xml", sheet.as_bytes())])
    };
    let items = sheet(&[
        &["id", "kind", "received", "maker", "=A9", "colour"],
        &["C1", "camera", "=TODAY()", "=A9", "x", "=empty text"],
        &["=A9", "camera"],
    ]);
    let log = sheet(&[
        &["when", "event", "item", "amount", "note", "=A9"],
        &["2026-02-01", "lens change", "C1", "=12+8 is 20", "=empty text", "x"],
        &["2026-02-02", "lens change", "C1", "=12+8"],
        &["=TODAY()", "lens change", "C1", "=shared"],
        &["2026-02-04", "lens change", "C1", "1", "=A9", "=A9"],
    ]);
    let left = "(open the workbook in a spreadsheet program and save it)";
    assert_eq!(
        show("sums.xlsx", items, Some(log)).replace(left, "()"),
        "item C1 | camera\nentries 2\nC1: 21 lens changes\n\
         sums.xlsx:1 bad-value: a heading has a formula without a stored result in cell E1 (); its column is not read\n\
         sums.xlsx:1 bad-value: a heading has a formula without a stored result in cell F1 (); its column is not read\n\
         sums.xlsx:2 bad-value: `received` has a formula without a stored result in cell C2 (); the item is taken without it\n\
         sums.xlsx:2 bad-value: `maker` has a formula without a stored result in cell D2 () and is left out\n\
         sums.xlsx:3 bad-value: `id` has a formula without a stored result in cell A3 (); the item is left out\n\
         sums.xlsx:3 bad-value: `amount` has a formula without a stored result in cell D3 (); the entry is left out\n\
         sums.xlsx:4 bad-value: `when` has a formula without a stored result in cell A4 (); the entry is left out\n\
         sums.xlsx:4 bad-value: `amount` has a formula without a stored result in cell D4 (); the entry is left out\n\
         sums.xlsx:5 bad-value: `note` has a formula without a stored result in cell E5 (); the entry is taken without it\n"
    );
}

#[test]
fn clock_times_and_spans_are_no_dates() {
    let mut items = Workbook::new();
    let sheet = items.add_worksheet();
    headings(sheet, 0, 0, &["id", "kind", "received", "in_service"]);
    sheet.write_row(1, 0, ["C1", "camera"]).unwrap();
    sheet.write_with_format(1, 2, 0.25, &Format::new().set_num_format("hh:mm")).unwrap();
    sheet.write_with_format(1, 3, 46_000.5, &Format::new().set_num_format("[h]:mm")).unwrap();
    let shown = show("times.xlsx", items.save_to_buffer().unwrap(), None);
    let lines: Vec<&str> = shown.lines().collect();
    assert_eq!(lines[0], "item C1 | camera");
    assert!(lines[1].starts_with("times.xlsx:2 bad-time: `received` `0.25` is not a date"), "{shown}");
    assert!(lines[2].starts_with("times.xlsx:2 bad-time: `in_service` `46000.5` is not a date"), "{shown}");
}

#[test]
fn a_sheet_by_its_name() {
    let mut workbook = Workbook::new();
    workbook.add_worksheet().set_name("Read me").unwrap().write(0, 0, "nothing here").unwrap();
    let sheet = workbook.add_worksheet();
    sheet.set_name("Gear # 1").unwrap();
    headings(sheet, 0, 0, &["id", "kind"]);
    headings(sheet, 1, 0, &["C1", "camera"]);
    let bytes = workbook.save_to_buffer().unwrap();
    assert_eq!(show("a.xlsx#Gear # 1", bytes.clone(), None), "item C1 | camera\n");
    assert_eq!(show("a.xlsx#gear # 1", bytes.clone(), None), "item C1 | camera\n");
    assert_eq!(
        show("a.xlsx#Gaer # 1", bytes.clone(), None),
        "error unknown-sheet: `a.xlsx` has no sheet `Gaer # 1` (did you mean `Gear # 1`?); its sheets are `Read me`, `Gear # 1`\n"
    );
    assert_eq!(
        show("a.xlsx", bytes, None),
        "error missing-column: `a.xlsx` has no column `id`; its headings in line 1 are `nothing here`; name the column with `--columns id=Heading`\n"
    );
}

#[test]
fn problems_name_the_sheet_that_was_asked_for() {
    let mut workbook = Workbook::new();
    let sheet = workbook.add_worksheet();
    sheet.set_name("Items").unwrap();
    headings(sheet, 0, 0, &["id", "kind", "received"]);
    headings(sheet, 1, 0, &["C1", "camera", "soon"]);
    let sheet = workbook.add_worksheet();
    sheet.set_name("Log").unwrap();
    headings(sheet, 0, 0, &["when", "event"]);
    headings(sheet, 1, 0, &["soon", "lens change"]);
    let sheet = workbook.add_worksheet();
    sheet.set_name("Notes").unwrap();
    headings(sheet, 0, 0, &["hello"]);
    let bytes = workbook.save_to_buffer().unwrap();
    let mut book = common::book();
    common::items(&mut book, "two.xlsx", &bytes, &Columns::new()).unwrap();
    common::log(&mut book, "two.xlsx#Log", &bytes, &Columns::new()).unwrap();
    let shown = common::show(&mut book);
    let lines: Vec<&str> = shown.lines().collect();
    assert!(lines[1].starts_with("two.xlsx:2 bad-time: `received` `soon`"), "{shown}");
    assert!(lines[2].starts_with("two.xlsx#Log:2 bad-time: `when` `soon`"), "{shown}");
    let error = common::log(&mut book, "two.xlsx#Notes", &bytes, &Columns::new()).unwrap_err();
    assert!(error.to_string().starts_with("`two.xlsx#Notes` has no column `when`"), "{error}");
}

#[test]
fn rows_as_they_are_quoted() {
    let mut workbook = Workbook::new();
    workbook.add_worksheet().set_name("Read me").unwrap().write(0, 0, "nothing here").unwrap();
    let sheet = workbook.add_worksheet();
    sheet.set_name("Log").unwrap();
    headings(sheet, 0, 0, &["when", "event", "item", "amount", "note"]);
    date(sheet, 1, 0, "2026-02-07");
    sheet.write_row(1, 1, ["lens change", "", "C1"]).unwrap();
    sheet.write(1, 5, 0.1 + 0.2).unwrap();
    sheet.write(4, 2, "only this").unwrap();
    sheet.write(5, 0, "long ".repeat(1_000)).unwrap();
    sheet.write(5, 1, "cut").unwrap();
    sheet.write(6, 16_383, "far").unwrap();
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("two.xlsx");
    workbook.save(&path).unwrap();
    let open = |sheet: &str| {
        WorkbookRows::open(&format!("{}{sheet}", path.display()), &kitlore_tables::Limits::default())
    };
    let mut rows = open("#log").unwrap();
    let mut row = |line| rows.row(line).unwrap();
    assert_eq!(row(2).unwrap(), "2026-02-07,lens change,,C1,,0.3");
    assert_eq!(row(1).unwrap(), "when,event,item,amount,note", "in any order, from one opening");
    assert_eq!(row(5).unwrap(), ",,only this");
    assert_eq!(row(6).unwrap().len(), 400);
    assert!(row(7).unwrap().len() < 1_000);
    assert_eq!((row(3), row(0), row(u32::MAX)), (None, None, None));
    assert_eq!(open("").unwrap().row(1).unwrap().unwrap(), "nothing here");
    assert_eq!(open("#Lgo").err().unwrap().code(), "unknown-sheet");
    assert_eq!(WorkbookRows::open("/nowhere.xlsx", &Default::default()).err().unwrap().code(), "cannot-read");
}

#[test]
fn an_empty_sheet() {
    let mut workbook = Workbook::new();
    workbook.add_worksheet();
    assert_eq!(
        show("none.xlsx", workbook.save_to_buffer().unwrap(), None),
        "error empty-table: `none.xlsx` is empty; its first row names the columns, at least `id`, `kind`\n"
    );
}
