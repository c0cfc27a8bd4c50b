//! Quotes entries as their tables have them.

use kitlore::tables::{Limits, WorkbookRows};
use std::cell::RefCell;
use std::collections::HashMap;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

/// How many bytes of a line are quoted.
const LONGEST: u64 = 400;

/// The tables that may be quoted.
pub(crate) struct Quotes {
    paths: Vec<PathBuf>,
    /// The workbooks opened so far; `None` where one cannot be.
    workbooks: RefCell<HashMap<PathBuf, Option<WorkbookRows>>>,
}

impl Quotes {
    pub fn new<'a>(paths: impl IntoIterator<Item = &'a String>) -> Self {
        Self { paths: paths.into_iter().map(PathBuf::from).collect(), workbooks: RefCell::default() }
    }

    /// A line of a source; `None` if it is not available.
    pub fn line(&self, source: &str, number: u32) -> Option<String> {
        let path = self.paths.iter().find(|path| path.file_name().is_some_and(|name| name == source))?;
        if is_text(path) { text_line(path, number) } else { self.row(path, number) }
    }

    /// A row of a workbook, which is opened only once.
    fn row(&self, path: &Path, number: u32) -> Option<String> {
        let mut workbooks = self.workbooks.borrow_mut();
        let open = || WorkbookRows::open(path.to_str()?, &Limits::default()).ok();
        workbooks.entry(path.to_owned()).or_insert_with(open).as_mut()?.row(number).ok()?
    }
}

fn text_line(path: &Path, number: u32) -> Option<String> {
    let mut reader = BufReader::new(std::fs::File::open(path).ok()?);
    for _ in 1..number {
        reader.skip_until(b'\n').ok()?;
    }
    let mut bytes = Vec::new();
    reader.take(LONGEST).read_until(b'\n', &mut bytes).ok()?;
    let text = String::from_utf8_lossy(&bytes);
    let text = text.trim_end_matches(['\r', '\n']).trim_end_matches(',');
    (!text.is_empty()).then(|| text.to_owned())
}

/// Whether it is a file other than a zip archive. The path of a workbook may end with the name of a sheet.
fn is_text(path: &Path) -> bool {
    let mut start = [0; 2];
    match std::fs::File::open(path).map(|mut file| file.read(&mut start)) {
        Ok(Ok(_)) => start != *b"PK",
        _ => false,
    }
}

#[cfg(test)]
mod tests {
    use super::Quotes;

    #[test]
    fn rows_of_texts_and_workbooks() {
        let studio = |file: &str| format!("{}/../../examples/studio/{file}", env!("CARGO_MANIFEST_DIR"));
        let quotes =
            Quotes::new(&[studio("log.csv"), studio("inventory.xlsx#Equipment"), studio("none.xlsx")]);
        for (source, line, quoted) in [
            ("log.csv", 2, Some("2025-09-01,,CAB-01,read humidity,,,,,,,Oluchi,,E0001")),
            (
                "inventory.xlsx#Equipment",
                2,
                Some(
                    "CAM-01,Camera,Brask,Brask Four,2023-03-14,2023-03-20,,travel kit,2890,,,BF4-118203,main body",
                ),
            ),
            ("inventory.xlsx#Equipment", 5000, None),
            ("log.csv", 50_000, None),
            ("none.xlsx", 2, None),
            ("other.csv", 2, None),
        ] {
            assert_eq!(quotes.line(source, line).as_deref(), quoted, "{source}:{line}");
        }
    }
}
