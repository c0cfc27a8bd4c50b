//! Appending entries to a log: the old lines stay as they are, byte for byte.

use crate::csv::{CsvRecords, read_headings};
use crate::error::{ReadError, narrow};
use crate::limits::Limits;
use crate::mapping::{Columns, Field, Headings, Kind, Layout, Meaning};
use crate::path::{Format, split_sheet};
use kitlore_engine::{Entry, Fields, Number, Time};
use std::fs::{File, OpenOptions};
use std::io::{BufRead, BufReader, Read, Seek, SeekFrom, Write};
use std::path::Path;

/// Why an entry cannot be appended. The log is as it was.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum AppendError {
    /// The log cannot be read as a table.
    #[error(transparent)]
    Read(#[from] ReadError),
    /// The log cannot be written.
    #[error("cannot write to `{file}`: {cause}")]
    Io {
        /// The file.
        file: String,
        /// What the system says.
        #[source]
        cause: std::io::Error,
    },
    /// The entry has a value for which the log has no column.
    #[error(
        "`{file}` has no column for `{field}`; add the heading `{heading}` to its first line, then record again"
    )]
    NoColumn {
        /// The file.
        file: String,
        /// The field.
        field: &'static str,
        /// The heading to add.
        heading: String,
    },
    /// The log is a workbook.
    #[error("`{file}` is a workbook, which is only read; save the sheet as `CSV UTF-8` and record into that")]
    Workbook {
        /// The file.
        file: String,
    },
    /// The log does not exist and its ending says no format.
    #[error(
        "`{file}` does not exist, and its ending does not say how to write it; name it `.csv` or `.jsonl`"
    )]
    UnknownFormat {
        /// The file.
        file: String,
    },
    /// The last line of the log was never finished: what follows it would hide that.
    #[error(
        "line {line} of `{file}`, its last, breaks off; complete it with its line end or delete it, then record again"
    )]
    BreaksOff {
        /// The file.
        file: String,
        /// The line.
        line: u32,
    },
    /// A value that a spreadsheet would take for a formula.
    #[error("`{value}` begins as a formula does in a spreadsheet; begin the {field} with another character")]
    Formula {
        /// The field.
        field: &'static str,
        /// Its value.
        value: String,
    },
    /// The log ends inside quotes, where a new line would not be one.
    #[error("a quote in line {line} of `{file}` is never closed; close it, then record again")]
    UnclosedQuote {
        /// The file.
        file: String,
        /// The line of the quote.
        line: u32,
    },
}

impl AppendError {
    /// The stable word for this kind of error.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Read(error) => error.code(),
            Self::Io { .. } => "cannot-write",
            Self::NoColumn { .. } => "no-column",
            Self::Workbook { .. } => "workbook-log",
            Self::UnknownFormat { .. } => "unknown-format",
            Self::BreaksOff { .. } => "breaks-off",
            Self::Formula { .. } => "formula",
            Self::UnclosedQuote { .. } => "unclosed-quote",
        }
    }
}

/// Appends an entry to a csv or jsonl log and says on which line it stands. A log that does not exist is
/// created, a csv one with all headings.
///
/// The file's own headings, their order, its separator and line ends are kept. The line is written at
/// once, at the end, and brought to the disk before this returns; a last line without an end is ended
/// first. Meanwhile the file is locked against others that record.
///
/// A line of which only the beginning reached the disk (the process was killed, the power failed) differs
/// from a whole one: it has fewer values than headings, or ends within quotes, in which the last value is
/// written for that reason. The next to record gets an error that names such a line instead of hiding it.
///
/// # Errors
/// The log cannot be read or written, breaks off, lacks a column for a value, or is a workbook; a value would
/// be a formula in a spreadsheet. The log is then as before.
///
/// ```
/// use kitlore_engine::Entry;
/// use kitlore_tables::{Columns, append_entry};
/// let folder = tempfile::tempdir()?;
/// let log = folder.path().join("log.csv");
/// std::fs::write(&log, "Date;item;event;amount\n2026-02-07;C1;lens change;12\n")?;
/// let entry = Entry::new("2026-02-08", "lens change").item("C1").amount(8);
/// let line = append_entry(&log, &Columns::parse("when=Date")?, &entry)?;
/// assert_eq!(line, 3);
/// assert!(std::fs::read_to_string(&log)?.ends_with("\n2026-02-08;C1;lens change;\"8\"\n"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn append_entry(path: impl AsRef<Path>, columns: &Columns, entry: &Entry) -> Result<u32, AppendError> {
    append_all(path.as_ref(), columns, std::slice::from_ref(entry), &mut |_| {})
}

/// Appends many entries as [`append_entry`] would one after the other, in one go: the log is read and locked
/// once, and the lines reach the disk some dozens at a time, each whole. `written` is called with how many have.
///
/// # Errors
/// As [`append_entry`]. What `written` was called with stays in the log.
///
/// ```
/// use kitlore_engine::Entry;
/// use kitlore_tables::{Columns, append_entries};
/// let folder = tempfile::tempdir()?;
/// let log = folder.path().join("log.csv");
/// let entries = [8, 12].map(|count| Entry::new("2026-02-08", "frames").item("C1").amount(count));
/// append_entries(&log, &Columns::new(), &entries, |_| {})?;
/// assert_eq!(std::fs::read_to_string(&log)?.lines().count(), 3); // the headings, two entries
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn append_entries(
    path: impl AsRef<Path>,
    columns: &Columns,
    entries: &[Entry],
    mut written: impl FnMut(usize),
) -> Result<(), AppendError> {
    if entries.is_empty() {
        return Ok(());
    }
    append_all(path.as_ref(), columns, entries, &mut written).map(|_| ())
}

/// Whether entries can be appended to a log at all, as far as that is seen without writing: before long work whose
/// result is to go there.
///
/// # Errors
/// It is a workbook or of no known form, cannot be opened for writing, or its folder does not exist.
///
/// ```
/// let folder = tempfile::tempdir()?;
/// assert!(kitlore_tables::check_append(folder.path().join("log.csv")).is_ok());
/// assert!(kitlore_tables::check_append(folder.path().join("log.xlsx")).is_err());
/// assert!(kitlore_tables::check_append(folder.path().join("nowhere/log.csv")).is_err());
/// assert!(!folder.path().join("log.csv").exists());
/// # Ok::<(), std::io::Error>(())
/// ```
pub fn check_append(path: impl AsRef<Path>) -> Result<(), AppendError> {
    let path = path.as_ref();
    let (name, exists, _) = form(path)?;
    let io = |cause| AppendError::Io { file: name, cause };
    let tried = match path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        _ if exists => OpenOptions::new().append(true).open(path).map(|_| ()),
        Some(folder) => folder.metadata().map(|_| ()),
        None => Ok(()),
    };
    tried.map_err(io)
}

/// The name of a log, whether it is there, and the form that its ending says.
fn form(path: &Path) -> Result<(String, bool, Option<Format>), AppendError> {
    let name = path.to_string_lossy().into_owned();
    let (without_sheet, _) = split_sheet(&name);
    let by_ending = Format::of_ending(without_sheet);
    if by_ending == Some(Format::Xlsx) {
        return Err(AppendError::Workbook { file: name });
    }
    let exists = path.exists();
    if !exists && by_ending.is_none() {
        return Err(AppendError::UnknownFormat { file: name });
    }
    if exists && !path.is_file() {
        return Err(ReadError::NotAFile { file: name }.into());
    }
    Ok((name, exists, by_ending))
}

/// The line of the last entry.
fn append_all(
    path: &Path,
    columns: &Columns,
    entries: &[Entry],
    written: &mut dyn FnMut(usize),
) -> Result<u32, AppendError> {
    let (name, exists, by_ending) = form(path)?;
    let io = |cause| AppendError::Io { file: name.clone(), cause };
    let mut file = OpenOptions::new().read(true).append(true).create(!exists).open(path).map_err(io)?;
    file.lock().map_err(io)?;
    let entries = entries.iter().map(|entry| values(&entry.fields())).collect();
    let log = Log { name: &name, columns, entries };
    let line = log.append(&mut file, by_ending, written);
    file.unlock().map_err(io)?;
    if !exists && line.is_ok() {
        sync_folder(path);
    }
    line
}

/// A new file is in its folder for good only when the folder is on the disk; where a folder cannot be
/// opened as a file the system sees to that itself.
fn sync_folder(path: &Path) {
    let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if let Ok(folder) = File::open(parent) {
        let _ = folder.sync_all();
    }
}

/// The fields of an entry that have a value.
type Values = Vec<(Field, String)>;

fn values(fields: &Fields<'_>) -> Values {
    let time = |time: Time<'_>| match time {
        Time::Absent => String::new(),
        Time::Text(text) => text.to_owned(),
        Time::Read(when) => when.to_string(),
    };
    let number = |number: Number<'_>| match number {
        Number::Absent => String::new(),
        Number::Text(text) => text.to_owned(),
        Number::Read(amount) => amount.to_string(),
    };
    let value = |field| match field {
        Field::When => time(fields.when),
        Field::Until => time(fields.until),
        Field::Amount => number(fields.amount),
        Field::Reading => number(fields.reading),
        Field::Event => fields.event.to_owned(),
        Field::Item => fields.item.to_owned(),
        Field::Unit => fields.unit.to_owned(),
        Field::In => fields.conditions.to_owned(),
        Field::Found => fields.found.to_owned(),
        Field::Ref => fields.reference.to_owned(),
        Field::Id => fields.id.to_owned(),
        Field::By => fields.by.to_owned(),
        Field::Note => fields.note.to_owned(),
        Field::Expect => fields.expect.to_owned(),
        _ => String::new(),
    };
    let all = Kind::Log.fields().iter().map(|field| (*field, value(*field)));
    all.filter(|(_, value)| !value.trim().is_empty()).collect()
}

struct Log<'a> {
    name: &'a str,
    columns: &'a Columns,
    entries: Vec<Values>,
}

/// So much is written at once: a page of the system's, which no signal tears.
const PAGE: usize = 4096;

/// How the file ends.
struct Tail {
    /// Lines, the last one counted also where it has no end.
    lines: u64,
    /// The last byte.
    last: Option<u8>,
    length: u64,
}

impl Tail {
    /// Whether the last line, if there is one, has an end.
    fn ended(&self) -> bool {
        self.last.is_none_or(|last| last == b'\n')
    }
}

/// What is to be written.
struct NewLines {
    /// The headings, for a log without any row.
    headings: Vec<u8>,
    /// The lines with their ends.
    lines: Vec<Vec<u8>>,
    /// The line end of the file.
    end: &'static [u8],
    /// What separates the values of a csv line.
    delimiter: u8,
}

impl Log<'_> {
    fn append(
        &self,
        file: &mut File,
        format: Option<Format>,
        written: &mut dyn FnMut(usize),
    ) -> Result<u32, AppendError> {
        let io = |cause| AppendError::Io { file: self.name.to_owned(), cause };
        let mut start = Vec::new();
        file.rewind().map_err(io)?;
        (&mut *file).take(512).read_to_end(&mut start).map_err(io)?;
        if start.starts_with(b"PK\x03\x04") {
            return Err(AppendError::Workbook { file: self.name.to_owned() });
        }
        file.rewind().map_err(io)?;
        let format = format.unwrap_or_else(|| Format::of_text(&start));
        let new = match format {
            Format::Jsonl => self.jsonl_lines(file)?,
            Format::Csv | Format::Xlsx => self.csv_lines(file)?,
        };
        let tail = read_tail(file).map_err(io)?;
        // Within csv, our own line ends thus before its end is written, or one of its values goes on.
        let broken = match format {
            Format::Jsonl => !tail.ended() && !self.ends_with_object(file)?,
            Format::Csv | Format::Xlsx => tail.last == Some(b'"') || tail.last == Some(new.delimiter),
        };
        if broken {
            return Err(AppendError::BreaksOff { file: self.name.to_owned(), line: narrow(tail.lines) });
        }
        let mut bytes = Vec::new();
        if !tail.ended() {
            bytes.extend_from_slice(new.end);
        }
        bytes.extend_from_slice(&new.headings);
        let (mut length, mut ready, mut done) = (tail.length, 0, 0);
        for line in &new.lines {
            if ready > 0 && bytes.len() + line.len() > PAGE {
                self.write(file, &bytes, length)?;
                length += bytes.len() as u64;
                done += ready;
                written(done);
                (ready, bytes) = (0, Vec::new());
            }
            bytes.extend_from_slice(line);
            ready += 1;
        }
        self.write(file, &bytes, length)?;
        written(done + ready);
        Ok(narrow(tail.lines + u64::from(!new.headings.is_empty()) + new.lines.len() as u64))
    }

    /// Writes all or nothing, as far as the system lets that be known.
    fn write(&self, file: &mut File, bytes: &[u8], length: u64) -> Result<(), AppendError> {
        let io = |cause| AppendError::Io { file: self.name.to_owned(), cause };
        let written = match file.write(bytes) {
            Ok(written) if written < bytes.len() => {
                Err(std::io::Error::new(std::io::ErrorKind::WriteZero, "there is no room for the whole line"))
            }
            Ok(_) => file.sync_all(),
            Err(cause) => return Err(io(cause)),
        };
        if written.is_err() {
            // Refused is refused: whoever records it again must not find it twice.
            file.set_len(length).map_err(io)?;
        }
        written.map_err(io)
    }

    /// The line under the headings of the file; a file without any gets them all.
    fn csv_lines(&self, file: &mut File) -> Result<NewLines, AppendError> {
        self.no_formulas()?;
        let limits = Limits::default();
        let mut records = CsvRecords::open(self.name, file, limits.record_bytes)?;
        let headings = Headings { file: self.name, kind: Kind::Log, columns: self.columns };
        let delimiter = records.delimiter();
        let Some(layout) = read_headings(&mut records, &headings, &limits)? else {
            let fields = Kind::Log.fields();
            let heads: Vec<&str> = fields.iter().map(|field| self.heading(*field)).collect();
            let row = |values: &Values| {
                let cells: Vec<&str> = fields.iter().map(|field| value_of(values, *field)).collect();
                self.entry_row(&cells, delimiter, b"\n")
            };
            return Ok(NewLines {
                headings: self.csv_row(&heads, delimiter, b"\n")?,
                lines: self.entries.iter().map(row).collect::<Result<_, _>>()?,
                end: b"\n",
                delimiter,
            });
        };
        let end: &[u8] = if records.crlf() { b"\r\n" } else { b"\n" };
        while let Some(record) = records.next()? {
            if record.unclosed {
                return Err(AppendError::UnclosedQuote { file: self.name.to_owned(), line: record.line() });
            }
            if !record.terminated && record.len() < layout.width {
                return Err(AppendError::BreaksOff { file: self.name.to_owned(), line: record.line() });
            }
        }
        let row = |values: &Values| self.entry_row(&self.cells(values, &layout)?, delimiter, end);
        let lines = self.entries.iter().map(row).collect::<Result<_, _>>()?;
        Ok(NewLines { headings: Vec::new(), lines, end, delimiter })
    }

    /// The values of an entry under the headings of the file.
    fn cells<'v>(&self, values: &'v Values, layout: &Layout) -> Result<Vec<&'v str>, AppendError> {
        let mut cells = vec![""; layout.width];
        for (field, value) in values {
            let cell = layout.position(*field).and_then(|column| cells.get_mut(column));
            let cell = cell.ok_or_else(|| AppendError::NoColumn {
                file: self.name.to_owned(),
                field: field.name(),
                heading: self.heading(*field).to_owned(),
            })?;
            *cell = value;
        }
        Ok(cells)
    }

    /// Refuses what a spreadsheet that opens the log would work out or run.
    fn no_formulas(&self) -> Result<(), AppendError> {
        let number = |value: &str| kitlore_syntax::Amount::parse_signed(value.trim()).is_ok();
        let formula = |value: &str| value.starts_with(['=', '+', '-', '@', '\t', '\r']) && !number(value);
        match self.entries.iter().flatten().find(|(_, value)| formula(value)) {
            Some((field, value)) => {
                Err(AppendError::Formula { field: field.name(), value: crate::error::short(value) })
            }
            None => Ok(()),
        }
    }

    /// A row whose last value stands in quotes, so that no beginning of it is a row of as many values.
    fn entry_row(&self, cells: &[&str], delimiter: u8, end: &[u8]) -> Result<Vec<u8>, AppendError> {
        let (last, others) = cells.split_last().unwrap_or((&"", &[]));
        let mut row = match others {
            [] => Vec::new(),
            others => self.csv_row(others, delimiter, &[delimiter])?,
        };
        if !last.is_empty() {
            row.extend_from_slice(format!("\"{}\"", last.replace('"', "\"\"")).as_bytes());
        }
        row.extend_from_slice(end);
        Ok(row)
    }

    fn csv_row(&self, cells: &[&str], delimiter: u8, end: &[u8]) -> Result<Vec<u8>, AppendError> {
        let failed = |cause: std::io::Error| AppendError::Io { file: self.name.to_owned(), cause };
        let terminator = csv::Terminator::Any(b'\n');
        let mut writer =
            csv::WriterBuilder::new().delimiter(delimiter).terminator(terminator).from_writer(Vec::new());
        writer.write_record(cells).map_err(|error| failed(error.into()))?;
        let mut row = writer.into_inner().map_err(|error| failed(error.into_error()))?;
        row.pop();
        row.extend_from_slice(end);
        Ok(row)
    }

    /// The line of an object, with the keys of the first object of the file, in their order.
    fn jsonl_lines(&self, file: &mut File) -> Result<NewLines, AppendError> {
        let headings = Headings { file: self.name, kind: Kind::Log, columns: self.columns };
        let mut first = String::new();
        let limit = Limits::default().record_bytes as u64;
        let mut reader = BufReader::new(file).take(limit);
        while first.trim_matches(['\u{feff}', ' ', '\r', '\n', '\t']).is_empty() {
            first.clear();
            let read = reader.read_line(&mut first).map_err(|error| ReadError::io(self.name, error))?;
            if read == 0 {
                break;
            }
        }
        let mut keys: Vec<(Field, String)> = Vec::new();
        if let Ok(object) =
            serde_json::from_str::<crate::jsonl::Object<'_>>(first.trim_start_matches('\u{feff}'))
        {
            for (key, _) in object.0 {
                if let Meaning::Is(field) = headings.meaning(&key)? {
                    keys.push((field, key.into_owned()));
                }
            }
        }
        for (field, _) in self.entries.iter().flatten() {
            if !keys.iter().any(|(known, _)| known == field) {
                keys.push((*field, self.heading(*field).to_owned()));
            }
        }
        let line = |values: &Values| {
            let pairs: Vec<String> = keys
                .iter()
                .filter(|(field, _)| !value_of(values, *field).is_empty())
                .map(|(field, key)| {
                    format!("{}: {}", json_text(key), json_value(*field, value_of(values, *field)))
                })
                .collect();
            format!("{{{}}}\n", pairs.join(", ")).into_bytes()
        };
        Ok(NewLines {
            headings: Vec::new(),
            lines: self.entries.iter().map(line).collect(),
            end: b"\n",
            delimiter: b',',
        })
    }

    /// Whether the last line, which has no end, is a whole object all the same.
    fn ends_with_object(&self, file: &mut File) -> Result<bool, AppendError> {
        let read = |file: &mut File| -> std::io::Result<Vec<u8>> {
            file.rewind()?;
            let mut last = Vec::new();
            for line in BufReader::new(file).split(b'\n') {
                last = line?;
            }
            Ok(last)
        };
        let last = read(file).map_err(|cause| AppendError::Io { file: self.name.to_owned(), cause })?;
        Ok(serde_json::from_slice::<crate::jsonl::Object<'_>>(&last).is_ok())
    }

    fn heading(&self, field: Field) -> &str {
        // The mapped `id` is the inventory's.
        self.columns.heading(field).filter(|_| field != Field::Id).unwrap_or(field.name())
    }
}

fn value_of(values: &Values, field: Field) -> &str {
    values.iter().find(|(known, _)| *known == field).map_or("", |(_, value)| value.as_str())
}

fn json_text(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

/// A list for conditions and findings, a number where one is written, else text.
fn json_value(field: Field, value: &str) -> String {
    match field {
        Field::In | Field::Found => {
            let names: Vec<&str> = value.split(';').map(str::trim).filter(|name| !name.is_empty()).collect();
            serde_json::Value::from(names).to_string()
        }
        Field::Amount | Field::Reading => kitlore_syntax::Amount::parse_signed(value.trim())
            .map_or_else(|_| json_text(value), |amount| amount.to_string()),
        _ => json_text(value),
    }
}

/// Counts the lines of a file, as the readers do.
fn read_tail(file: &mut File) -> std::io::Result<Tail> {
    file.seek(SeekFrom::Start(0))?;
    let mut reader = BufReader::with_capacity(64 * 1024, file);
    let (mut lines, mut length, mut last) = (0_u64, 0_u64, None);
    loop {
        let bytes = reader.fill_buf()?;
        let Some(end) = bytes.last() else {
            break;
        };
        last = Some(*end);
        lines += memchr::memchr_iter(b'\n', bytes).count() as u64;
        length += bytes.len() as u64;
        let used = bytes.len();
        reader.consume(used);
    }
    let mut tail = Tail { lines, last, length };
    tail.lines += u64::from(!tail.ended());
    Ok(tail)
}
