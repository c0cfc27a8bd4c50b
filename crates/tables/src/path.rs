//! What a table is called on the command line, and how it is stored.

use crate::error::ReadError;
use std::fs::File;

/// How a table is stored.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Format {
    /// Separated by commas, semicolons or tabs; the first row holds the headings.
    Csv,
    /// One JSON object per line.
    Jsonl,
    /// A workbook.
    Xlsx,
}

impl Format {
    /// Its word, and that of the cargo feature.
    pub fn name(self) -> &'static str {
        match self {
            Format::Csv => "csv",
            Format::Jsonl => "jsonl",
            Format::Xlsx => "xlsx",
        }
    }

    /// The format a file's ending names.
    pub fn of_ending(path: &str) -> Option<Self> {
        let (_, ending) = path.rsplit_once('.')?;
        match ending.to_ascii_lowercase().as_str() {
            "csv" | "tsv" => Some(Format::Csv),
            "jsonl" | "ndjson" => Some(Format::Jsonl),
            "xlsx" | "xlsm" => Some(Format::Xlsx),
            _ => None,
        }
    }

    /// By the ending, else by how the content starts; known formats that are not read have an error of their own.
    pub(crate) fn find(file: &str, start: &[u8]) -> Result<Self, ReadError> {
        const ZIP: &[u8] = b"PK\x03\x04";
        const OLE: &[u8] = &[0xD0, 0xCF, 0x11, 0xE0];
        let wrong = |what, remedy| Err(ReadError::WrongFormat { file: file.to_owned(), what, remedy });
        if start.starts_with(OLE) {
            return wrong("an old workbook or one with a password", "save it as `.xlsx` without a password");
        }
        let ending = Self::of_ending(file);
        let zip = start.starts_with(ZIP);
        match ending {
            Some(Format::Xlsx) if !zip => wrong(
                "no workbook, whatever its ending says",
                "save it as `.xlsx`, or give it the ending it should have",
            ),
            Some(Format::Csv | Format::Jsonl) if zip => wrong(
                "a workbook or an archive, whatever its ending says",
                "give it the ending `.xlsx`, or save the table as csv",
            ),
            Some(format) => Ok(format),
            None if zip => Ok(Format::Xlsx),
            None => Ok(Self::of_text(start)),
        }
    }

    /// The format of text by its first character.
    pub(crate) fn of_text(start: &[u8]) -> Self {
        let text = start.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(start).trim_ascii_start();
        if text.starts_with(b"{") || text.starts_with(b"[") { Format::Jsonl } else { Format::Csv }
    }
}

/// Opens what is a file, and nothing else.
pub(crate) fn open_file(path: &str) -> Result<File, ReadError> {
    // A pipe would be waited for as soon as it is opened.
    let metadata = std::fs::metadata(path).map_err(|error| ReadError::io(path, error))?;
    if !metadata.is_file() {
        return Err(ReadError::NotAFile { file: path.to_owned() });
    }
    File::open(path).map_err(|error| ReadError::io(path, error))
}

/// `log.xlsx#Trips` is the sheet `Trips` of `log.xlsx`.
pub(crate) fn split_sheet(path: &str) -> (&str, Option<&str>) {
    path.rmatch_indices('#')
        .find_map(|(at, _)| {
            let (path, sheet) = path.split_at_checked(at)?;
            let sheet = sheet.strip_prefix('#')?;
            (Format::of_ending(path) == Some(Format::Xlsx) && !sheet.is_empty())
                .then_some((path, Some(sheet)))
        })
        .unwrap_or((path, None))
}
