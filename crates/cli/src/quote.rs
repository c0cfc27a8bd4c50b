//! The lines of text tables, to quote an entry as it was written.

use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};

/// Bytes of a line that are quoted.
const LONGEST: u64 = 400;

/// The tables that may be quoted.
pub(crate) struct Quotes(Vec<PathBuf>);

impl Quotes {
    pub fn new<'a>(paths: impl IntoIterator<Item = &'a String>) -> Self {
        Self(paths.into_iter().map(PathBuf::from).collect())
    }

    /// A line of the source of that name; `None` for a workbook, or where it cannot be had.
    pub fn line(&self, source: &str, number: u32) -> Option<String> {
        let path = self.0.iter().find(|path| path.file_name().is_some_and(|name| name == source))?;
        if is_workbook(path) {
            return None;
        }
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
}

fn is_workbook(path: &Path) -> bool {
    let mut start = [0; 2];
    let read = std::fs::File::open(path).and_then(|mut file| file.read_exact(&mut start));
    read.is_err() || start == *b"PK"
}
