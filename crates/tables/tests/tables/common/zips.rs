//! Workbooks written part by part, for what no spreadsheet program writes.
#![allow(dead_code, reason = "each test file uses its share")]

use std::io::{Cursor, Write};
use zip::write::{SimpleFileOptions, ZipWriter};

pub const SHEET: &str = r#"<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1"><c r="A1" t="inlineStr"><is><t>id</t></is></c><c r="B1" t="inlineStr"><is><t>kind</t></is></c></row><row r="2"><c r="A2" t="inlineStr"><is><t>C1</t></is></c><c r="B2" t="inlineStr"><is><t>camera</t></is></c></row></sheetData></worksheet>"#;

const TYPES: &str = r#"<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/></Types>"#;
const RELS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>"#;
const WORKBOOK_RELS: &str = r#"<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>"#;

/// A workbook's description, optionally with properties such as `<workbookPr date1904="1"/>`.
pub fn workbook(properties: &str) -> String {
    format!(
        r#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships">{properties}<sheets><sheet name="S" sheetId="1" r:id="rId1"/></sheets></workbook>"#
    )
}

/// A zip of a plain workbook, with parts replaced or added.
pub fn zipped(parts: &[(&str, &[u8])]) -> Vec<u8> {
    let plain = workbook("");
    let usual: [(&str, &[u8]); 5] = [
        ("[Content_Types].xml", TYPES.as_bytes()),
        ("_rels/.rels", RELS.as_bytes()),
        ("xl/workbook.xml", plain.as_bytes()),
        ("xl/_rels/workbook.xml.rels", WORKBOOK_RELS.as_bytes()),
        ("xl/worksheets/sheet1.xml", SHEET.as_bytes()),
    ];
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let given = |name: &str| parts.iter().any(|(part, _)| *part == name);
    for (name, bytes) in usual.iter().filter(|(name, _)| !given(name)).chain(parts) {
        zip.start_file(*name, SimpleFileOptions::default()).unwrap();
        zip.write_all(bytes).unwrap();
    }
    zip.finish().unwrap().into_inner()
}
