//! Inventories and logs in a workbook.
//!
//! Cells are read one after another, never as a rectangle: a sheet with one cell in each corner would
//! be billions of them.

use super::guard;
use crate::batch::{Row, Sink, Value};
use crate::codes::Code;
use crate::error::{ReadError, narrow};
use crate::limits::Limits;
use crate::mapping::{Field, Headings, Kind, Layout};
use crate::path::split_sheet;
use calamine::{DataRef, ExcelDateTime, Reader, SheetType, Xlsx};
use chrono::{NaiveDateTime, NaiveTime, Timelike};
use kitlore_engine::Problem;
use kitlore_syntax::{When, closest};
use std::io::{BufReader, Read, Seek};

/// The value of a cell, kept until its row is whole.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) enum Cell {
    #[default]
    Empty,
    Text(String),
    Number(String),
    Time(When, String),
    Fault(String),
}

impl Cell {
    fn value(&self) -> Value<'_> {
        match self {
            Cell::Empty => Value::Absent,
            Cell::Text(text) => Value::Text(text),
            Cell::Number(text) => Value::Number(text),
            Cell::Time(when, text) => Value::Time(*when, text),
            Cell::Fault(what) => Value::Fault(what),
        }
    }
}

struct SheetRow<'a> {
    cells: &'a [Cell],
    layout: &'a Layout,
}

impl SheetRow<'_> {
    fn cell(&self, column: usize) -> Value<'_> {
        self.cells.get(column).map_or(Value::Absent, Cell::value)
    }
}

impl Row for SheetRow<'_> {
    fn get(&self, field: Field) -> Value<'_> {
        self.layout.position(field).map_or(Value::Absent, |column| self.cell(column))
    }

    fn attributes(&self, each: &mut dyn FnMut(&str, Value<'_>)) {
        for (column, heading) in &self.layout.others {
            each(heading, self.cell(*column));
        }
    }
}

/// Reads the sheet that the table's name says into a book, else the first one.
pub(crate) fn read(
    sink: &mut Sink<'_>,
    input: impl Read + Seek,
    headings: &Headings<'_>,
    limits: &Limits,
) -> Result<(), ReadError> {
    let (file, sheet) = split_sheet(headings.file);
    let (mut workbook, sheet) = open(file, sheet, input, limits)?;
    let mut cells = workbook.worksheet_cells_reader(&sheet).map_err(|error| damaged(file, None, &error))?;
    let mut table = SheetTable {
        file: headings.file,
        headings,
        limits,
        layout: None,
        nameless: Vec::new(),
        cells: Vec::new(),
        row: 0,
        bytes: 0,
    };
    loop {
        // One pass gives values and formulas: an empty cell with a formula is no empty cell.
        let next = cells
            .next_cell_with_formula_metadata()
            .map_err(|error| damaged(file, Some(table.line()), &error))?;
        let Some(cell) = next else {
            break;
        };
        table.take(sink, cell.pos, &cell.value, cell.formula.is_some())?;
    }
    table.finish(sink)
}

/// A workbook that was looked into, and the name of the sheet that is meant.
pub(crate) fn open<R: Read + Seek>(
    file: &str,
    sheet: Option<&str>,
    mut input: R,
    limits: &Limits,
) -> Result<(Xlsx<BufReader<R>>, String), ReadError> {
    guard::check(file, &mut input, limits)?;
    let workbook = Xlsx::new(BufReader::new(input)).map_err(|error| damaged(file, None, &error))?;
    let sheet = sheet_name(file, &workbook, sheet)?;
    Ok((workbook, sheet))
}

/// What does not hold together, and where.
pub(crate) fn damaged(file: &str, line: Option<u32>, error: &calamine::XlsxError) -> ReadError {
    ReadError::Damaged { file: file.to_owned(), line, what: error.to_string() }
}

fn sheet_name<R: Read + Seek>(
    file: &str,
    workbook: &Xlsx<R>,
    wanted: Option<&str>,
) -> Result<String, ReadError> {
    let sheets: Vec<String> = workbook
        .sheets_metadata()
        .iter()
        .filter(|sheet| sheet.typ == SheetType::WorkSheet)
        .map(|sheet| sheet.name.clone())
        .collect();
    let found = match wanted {
        None => sheets.first(),
        Some(wanted) => {
            let exact = sheets.iter().find(|sheet| *sheet == wanted);
            exact.or_else(|| {
                sheets.iter().find(|sheet| sheet.trim().to_lowercase() == wanted.trim().to_lowercase())
            })
        }
    };
    found.cloned().ok_or_else(|| ReadError::UnknownSheet {
        file: file.to_owned(),
        sheet: wanted.unwrap_or_default().to_owned(),
        meant: wanted
            .and_then(|wanted| closest(wanted, sheets.iter().map(String::as_str)))
            .map(str::to_owned),
        sheets: sheets.clone(),
    })
}

/// A sheet as its cells come in.
struct SheetTable<'a> {
    file: &'a str,
    headings: &'a Headings<'a>,
    limits: &'a Limits,
    layout: Option<Layout>,
    nameless: Vec<usize>,
    /// The row being gathered, from 0, its cells and their size.
    row: u32,
    cells: Vec<Cell>,
    bytes: usize,
}

impl SheetTable<'_> {
    fn line(&self) -> u32 {
        narrow(u64::from(self.row) + 1)
    }

    fn take(
        &mut self,
        sink: &mut Sink<'_>,
        (row, column): (u32, u32),
        value: &DataRef<'_>,
        formula: bool,
    ) -> Result<(), ReadError> {
        if row != self.row {
            self.flush(sink)?;
            self.row = row;
        }
        let length = match value {
            DataRef::Empty if !formula => return Ok(()),
            DataRef::String(text) => text.trim().len(),
            DataRef::SharedString(text) => text.trim().len(),
            _ => 1,
        };
        if length == 0 {
            return Ok(());
        }
        self.bytes += length;
        if self.bytes > self.limits.record_bytes {
            return Err(ReadError::record_too_large(
                self.file,
                u64::from(self.line()),
                self.limits.record_bytes,
            ));
        }
        let column = column as usize;
        if self.layout.is_some() && !self.is_read(column) {
            return Ok(());
        }
        if column >= self.cells.len() {
            // Leading empty columns cost one small cell each; a sheet has at most 16,384.
            self.cells.resize_with(column.min(16_383) + 1, Cell::default);
        }
        if let Some(cell) = self.cells.get_mut(column) {
            *cell = match value {
                // A result that is an empty text is stored as one.
                DataRef::Empty => Cell::Fault(format!(
                    "has a formula without a stored result in cell {} (open the workbook in a spreadsheet program and save it)",
                    cell_name(row, column)
                )),
                value => read_cell(value, row, column),
            };
        }
        Ok(())
    }

    /// Whether a column can matter; what lies beyond the headings of a log cannot.
    fn is_read(&self, column: usize) -> bool {
        self.headings.kind == Kind::Items || self.layout.as_ref().is_some_and(|layout| column < layout.width)
    }

    /// Uses the row that was gathered.
    fn flush(&mut self, sink: &mut Sink<'_>) -> Result<(), ReadError> {
        self.bytes = 0;
        let mut cells = std::mem::take(&mut self.cells);
        if cells.is_empty() {
            return Ok(());
        }
        let line = u64::from(self.row) + 1;
        match &self.layout {
            None => self.layout = Some(self.read_headings(sink, &cells)?),
            Some(layout) => {
                report_nameless(sink, &mut self.nameless, layout, &cells, line);
                let row = SheetRow { cells: &cells, layout };
                match self.headings.kind {
                    Kind::Items => sink.item(&row, line),
                    Kind::Log => sink.entry(&row, line),
                }
            }
        }
        cells.clear();
        self.cells = cells;
        Ok(())
    }

    fn read_headings(&mut self, sink: &mut Sink<'_>, cells: &[Cell]) -> Result<Layout, ReadError> {
        let used = cells.iter().filter(|cell| **cell != Cell::Empty).count();
        if used > self.limits.columns {
            return Err(ReadError::too_many_columns(self.file, used, self.limits));
        }
        let names: Vec<&str> = cells
            .iter()
            .map(|cell| match cell {
                Cell::Text(text) | Cell::Number(text) | Cell::Time(_, text) => text.as_str(),
                Cell::Empty | Cell::Fault(_) => "",
            })
            .collect();
        let layout = self.headings.layout(&names, self.line())?;
        if self.headings.kind == Kind::Items {
            let faulty = |column: &usize| matches!(cells.get(*column), Some(Cell::Fault(_)));
            let nameless = layout.nameless.iter().copied().filter(|column| !faulty(column));
            self.nameless = nameless.chain([BEYOND]).collect();
        }
        for cell in cells {
            if let Cell::Fault(what) = cell {
                let problem = Problem::new(Code::BadValue, "a heading {what}; its column is not read");
                sink.problem(u64::from(self.line()), problem.with("what", what.as_str()));
            }
        }
        sink.doubtful_headings(&layout, self.headings.kind, u64::from(self.line()));
        Ok(layout)
    }

    fn finish(mut self, sink: &mut Sink<'_>) -> Result<(), ReadError> {
        self.flush(sink)?;
        if self.layout.is_none() {
            return Err(ReadError::Empty {
                file: self.file.to_owned(),
                required: self.headings.kind.required().map(|field| field.name().to_owned()).to_vec(),
            });
        }
        Ok(())
    }
}

/// Reports once every column of an inventory that has values and no heading, and once for all what
/// stands right of the headings.
fn report_nameless(
    sink: &mut Sink<'_>,
    nameless: &mut Vec<usize>,
    layout: &Layout,
    cells: &[Cell],
    line: u64,
) {
    let mut said = |column: &usize| match cells.get(*column) {
        Some(Cell::Text(text) | Cell::Number(text) | Cell::Time(_, text)) => {
            sink.no_heading(line, *column, text);
            true
        }
        _ => false,
    };
    nameless.retain(|column| {
        !if *column == BEYOND {
            (layout.width..cells.len()).any(|column| said(&column))
        } else {
            said(column)
        }
    });
}

/// Stands for every column right of the headings.
const BEYOND: usize = usize::MAX;

/// The value of a cell that has one.
pub(crate) fn read_cell(value: &DataRef<'_>, row: u32, column: usize) -> Cell {
    let text = |text: &str| match text.trim() {
        "" => Cell::Empty,
        text => Cell::Text(text.to_owned()),
    };
    match value {
        DataRef::Empty => Cell::Empty,
        DataRef::String(found) => text(found),
        DataRef::SharedString(found) => text(found),
        DataRef::Bool(found) => Cell::Text(found.to_string()),
        DataRef::Int(number) => Cell::Number(number.to_string()),
        DataRef::Float(number) => Cell::Number(decimal(*number)),
        DataRef::DateTime(found) => time(found),
        DataRef::DateTimeIso(found) => {
            When::parse(found.trim()).map_or_else(|_| text(found), |when| whole_day(when, found.trim()))
        }
        DataRef::DurationIso(found) => text(found),
        DataRef::Error(error) => {
            Cell::Fault(format!("has the error `{error}` in cell {}", cell_name(row, column)))
        }
    }
}

/// A time that the sheet stores as one; the length of a span or a bare clock time is only a number.
fn time(found: &ExcelDateTime) -> Cell {
    const FIRST_DAY: f64 = 1.0;
    if found.is_duration() || found.as_f64() < FIRST_DAY {
        return Cell::Number(decimal(found.as_f64()));
    }
    let (year, month, day, ..) = found.to_ymd_hms_milli();
    // Spreadsheets count a 29 February 1900.
    let exists =
        |at: &NaiveDateTime| kitlore_syntax::in_range(at.date()) && (year, month, day) != (1900, 2, 29);
    match found.as_datetime().filter(exists) {
        Some(at) => whole_day(When::Local(at), ""),
        None => Cell::Number(decimal(found.as_f64())),
    }
}

/// A sheet does not tell a date from its 00:00, so 00:00 is the date.
fn whole_day(when: When, written: &str) -> Cell {
    let when = match when {
        When::Local(at) if at.time() == NaiveTime::MIN => When::Date(at.date()),
        When::Local(at) => When::Local(to_the_second(at)),
        other => other,
    };
    let text = if written.is_empty() { when.to_string() } else { written.to_owned() };
    Cell::Time(when, text)
}

/// Days as floating point are exact to a millisecond at best: what is within one of a second is it.
fn to_the_second(at: NaiveDateTime) -> NaiveDateTime {
    let rounded = at.with_nanosecond(0).unwrap_or(at);
    match at.nanosecond() / 1_000_000 {
        0 | 1 => rounded,
        998.. => rounded + chrono::TimeDelta::seconds(1),
        _ => at,
    }
}

/// A number as people wrote it: whole ones without a point, and the decimal of up to 6 digits whose
/// nearest floating-point neighbour, or the next after a sum, the cell holds.
fn decimal(number: f64) -> String {
    const CLOSE: f64 = 4.0 * f64::EPSILON;
    let rounded = format!("{number:.6}");
    let rounded = rounded.trim_end_matches('0').trim_end_matches('.');
    let rounded = if rounded == "-0" { "0" } else { rounded };
    match rounded.parse::<f64>() {
        Ok(back) if (back - number).abs() <= CLOSE * number.abs() => rounded.to_owned(),
        _ => number.to_string(),
    }
}

/// `C7` for row 6 and column 2, both from 0.
fn cell_name(row: u32, column: usize) -> String {
    let mut letters = Vec::new();
    let mut left = column + 1;
    while left > 0 {
        letters.push(char::from(b'A' + u8::try_from((left - 1) % 26).unwrap_or(0)));
        left = (left - 1) / 26;
    }
    let letters: String = letters.iter().rev().collect();
    format!("{letters}{}", u64::from(row) + 1)
}

#[cfg(test)]
mod tests {
    use super::{cell_name, decimal};

    #[test]
    fn numbers_are_as_people_wrote_them() {
        for (number, text) in [
            (12.0, "12"),
            (0.1 + 0.2, "0.3"),
            (1.1 * 3.0, "3.3"),
            (200_000.0, "200000"),
            (-2.5, "-2.5"),
            (0.000_001, "0.000001"),
            (1_234.567_891, "1234.567891"),
            (0.0, "0"),
        ] {
            assert_eq!(decimal(number), text);
        }
        assert_eq!(
            decimal(1.0 / 3.0),
            "0.3333333333333333",
            "not the neighbour of a short decimal: kept whole"
        );
        assert_eq!(decimal(0.000_000_1), "0.0000001");
    }

    #[test]
    fn cells_have_their_names() {
        assert_eq!(cell_name(6, 2), "C7");
        assert_eq!(cell_name(0, 25), "Z1");
        assert_eq!(cell_name(0, 26), "AA1");
        assert_eq!(cell_name(1_048_575, 16_383), "XFD1048576");
    }
}
