//! Workbooks: bytes as they are, or parts as text that are packed here, so that what is inside is reached.

use std::io::{Cursor, Write};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipWriter};

/// The parts of a workbook that every one needs; an input can bring its own.
const PARTS: [(&str, &str); 4] = [
    (
        "[Content_Types].xml",
        r#"<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>"#,
    ),
    (
        "xl/workbook.xml",
        r#"<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="One" sheetId="1" r:id="r1"/></sheets></workbook>"#,
    ),
    (
        "xl/_rels/workbook.xml.rels",
        r#"<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/><Relationship Id="r2" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/styles" Target="styles.xml"/><Relationship Id="r3" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/sharedStrings" Target="sharedStrings.xml"/></Relationships>"#,
    ),
    (
        "xl/styles.xml",
        r#"<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><cellXfs count="3"><xf numFmtId="0"/><xf numFmtId="14"/><xf numFmtId="22"/></cellXfs></styleSheet>"#,
    ),
];

/// The part that is meant before an input names another.
const SHEET: &str = "xl/worksheets/sheet1.xml";

/// A workbook of bytes that begin as one; else of parts: `=== name` begins one, the text before is the sheet.
pub(crate) fn xlsx(data: &[u8]) {
    if data.starts_with(b"PK") {
        crate::tables::read("t.xlsx", data);
    } else if data.len() < 1 << 14 {
        crate::tables::read("t.xlsx", &packed(data));
        crate::tables::read("t.xlsx#Two", &packed(data));
    }
}

fn packed(data: &[u8]) -> Vec<u8> {
    let text = String::from_utf8_lossy(data);
    let mut parts: Vec<(String, String)> = Vec::new();
    for (number, part) in text.split("=== ").enumerate() {
        let (name, body) =
            if number == 0 { (SHEET, part) } else { part.split_once('\n').unwrap_or((part, "")) };
        if !parts.iter().any(|(known, _)| known == name) {
            parts.push((name.to_owned(), body.to_owned()));
        }
    }
    for (name, body) in PARTS {
        if !parts.iter().any(|(known, _)| known == name) {
            parts.push((name.to_owned(), body.to_owned()));
        }
    }
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let stored = SimpleFileOptions::default().compression_method(CompressionMethod::Stored);
    for (name, body) in parts {
        if zip.start_file(name, stored).is_ok() {
            zip.write_all(body.as_bytes()).expect("memory");
        }
    }
    zip.finish().expect("a workbook of few parts").into_inner()
}
