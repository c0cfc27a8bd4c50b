//! Rows of a workbook as text, to quote an entry as it was written.

use super::sheet::{Cell, damaged, open, read_cell};
use crate::error::{ReadError, narrow};
use crate::limits::Limits;
use crate::path::{open_file, split_sheet};
use calamine::Xlsx;
use std::fs::File;
use std::io::BufReader;

/// Bytes of a row that are quoted.
const LONGEST: usize = 400;

/// A sheet whose rows can be quoted.
pub struct WorkbookRows {
    file: String,
    workbook: Xlsx<BufReader<File>>,
    sheet: String,
}

impl WorkbookRows {
    /// Opens a workbook as named on the command line: a path, optionally with `#Sheet`.
    ///
    /// # Errors
    /// It cannot be opened, is no workbook or a damaged one, or has no such sheet.
    pub fn open(path: &str, limits: &Limits) -> Result<Self, ReadError> {
        let (path, sheet) = split_sheet(path);
        let (workbook, sheet) = open(path, sheet, open_file(path)?, limits)?;
        Ok(Self { file: path.to_owned(), workbook, sheet })
    }

    /// The cells of a row as they are read, joined by commas, or nothing where all are empty.
    ///
    /// # Errors
    /// The sheet is damaged before that row.
    pub fn row(&mut self, line: u32) -> Result<Option<String>, ReadError> {
        let damaged = |line, error: calamine::XlsxError| damaged(&self.file, line, &error);
        let mut cells =
            self.workbook.worksheet_cells_reader(&self.sheet).map_err(|error| damaged(None, error))?;
        let mut text = String::new();
        let mut commas = 0;
        while let Some(found) = cells.next_cell().map_err(|error| damaged(Some(line), error))? {
            let (row, column) = found.get_position();
            let cell = match narrow(u64::from(row) + 1).cmp(&line) {
                std::cmp::Ordering::Less => continue,
                std::cmp::Ordering::Equal => read_cell(found.get_value(), row, column as usize),
                std::cmp::Ordering::Greater => break,
            };
            let (Cell::Text(written) | Cell::Number(written) | Cell::Time(_, written)) = cell else {
                continue;
            };
            let missing = (column as usize).saturating_sub(commas);
            text.extend(std::iter::repeat_n(',', missing.min(LONGEST)));
            commas += missing;
            text.extend(written.chars().take(LONGEST));
            if text.len() >= LONGEST {
                break;
            }
        }
        Ok(Some(text).filter(|text| !text.is_empty()))
    }
}
