//! A table to read: where its bytes are, what format they have, what people call it.

use crate::columns::Columns;
use crate::error::ReadError;
use crate::field::Kind;
use crate::layout::Headings;
use crate::limits::{Limits, size};
use crate::row::Sink;
use kitlore_engine::Book;
use std::fs::File;
use std::io::{Cursor, Read, Seek};
use std::num::NonZeroUsize;
use std::path::Path;

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

trait Input: Read + Seek {}
impl<T: Read + Seek> Input for T {}

/// A table that can be read into a book.
///
/// ```
/// use kitlore_engine::{Book, Program};
/// use kitlore_tables::{Columns, Limits, Table, read_items, read_log};
///
/// let rules = Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
/// let mut book = Book::new(&rules);
/// let items = Table::from_bytes("items.csv", b"Asset no,kind\nC1,camera\n")?;
/// read_items(&mut book, items, &Columns::parse("id=\"Asset no\"").unwrap(), &Limits::default())?;
/// let log = Table::from_bytes("log.jsonl", br#"{"when": "2026-02-07", "event": "lens change", "amount": 12}"#)?;
/// read_log(&mut book, log, &Columns::new(), &Limits::default())?;
/// assert_eq!(book.len(), 1);
/// # Ok::<(), kitlore_tables::ReadError>(())
/// ```
pub struct Table<'a> {
    name: String,
    format: Format,
    bytes: u64,
    threads: NonZeroUsize,
    input: Box<dyn Input + 'a>,
}

impl std::fmt::Debug for Table<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let Self { name, format, bytes, threads, input: _ } = self;
        f.debug_struct("Table")
            .field("name", name)
            .field("format", format)
            .field("bytes", bytes)
            .field("threads", threads)
            .finish_non_exhaustive()
    }
}

impl Table<'static> {
    /// Opens a file as named on the command line: a path, for a workbook optionally with `#Sheet`.
    /// Its format is that of its ending, else of its content. People see its file name, and the sheet
    /// where one is named: two sheets of a workbook are two tables.
    ///
    /// # Errors
    /// It cannot be opened, is no file, or has a format that is not read.
    pub fn open(path: &str) -> Result<Self, ReadError> {
        let (path, sheet) = split_sheet(path);
        let shown = Path::new(path)
            .file_name()
            .map_or_else(|| path.to_owned(), |name| name.to_string_lossy().into_owned());
        Self::new(shown, sheet, Box::new(open_file(path)?))
    }
}

impl<'a> Table<'a> {
    /// A table in memory; its name as [`Table::open`] takes it.
    ///
    /// # Errors
    /// It has a format that is not read.
    pub fn from_bytes(name: &str, bytes: &'a [u8]) -> Result<Self, ReadError> {
        let (name, sheet) = split_sheet(name);
        Self::new(name.to_owned(), sheet, Box::new(Cursor::new(bytes)))
    }

    fn new(file: String, sheet: Option<&str>, mut input: Box<dyn Input + 'a>) -> Result<Self, ReadError> {
        let io = |error| ReadError::io(&file, error);
        let mut start = Vec::new();
        (&mut input).take(512).read_to_end(&mut start).map_err(io)?;
        let bytes = input.seek(std::io::SeekFrom::End(0)).map_err(io)?;
        input.rewind().map_err(io)?;
        let format = Format::find(&file, &start)?;
        let threads = NonZeroUsize::MIN;
        let name = sheet.map_or(file.clone(), |sheet| format!("{file}#{sheet}"));
        Ok(Self { name, format, bytes, threads, input })
    }

    /// Lets so many threads read it, one unless told; what is read is the same. Large logs in csv gain by
    /// it, other tables are read by one.
    ///
    /// ```
    /// use kitlore_engine::{Book, Program};
    /// use kitlore_tables::{Columns, Limits, Table, read_log};
    ///
    /// let rules = Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// let threads = std::thread::available_parallelism().unwrap();
    /// let log = Table::from_bytes("log.csv", b"when,event\n2026-02-07,lens change\n")?.on_threads(threads);
    /// read_log(&mut book, log, &Columns::new(), &Limits::default())?;
    /// assert_eq!(book.len(), 1);
    /// # Ok::<(), kitlore_tables::ReadError>(())
    /// ```
    pub fn on_threads(self, threads: NonZeroUsize) -> Self {
        Self { threads, ..self }
    }

    /// What people call it: the source of its rows.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// How it is stored.
    pub fn format(&self) -> Format {
        self.format
    }

    fn read(self, book: &mut Book, kind: Kind, columns: &Columns, limits: &Limits) -> Result<(), ReadError> {
        let Self { name, format, bytes, threads, input } = self;
        let headings = Headings { file: &name, kind, columns };
        if format != Format::Xlsx && bytes > limits.text_file_bytes {
            return Err(ReadError::TooLarge {
                file: name.clone(),
                line: None,
                what: format!("is {} in size", size(bytes)),
                limit: size(limits.text_file_bytes),
                remedy: "split it into several",
            });
        }
        let mut sink = Sink::new(book, &name, limits.problems);
        let read = match format {
            #[cfg(feature = "csv")]
            Format::Csv => {
                let extent = crate::csv_log::Extent::of_file(bytes, threads);
                crate::csv_table::read(&mut sink, input, &headings, limits, extent)
            }
            #[cfg(feature = "jsonl")]
            Format::Jsonl => crate::jsonl::read(&mut sink, input, &headings, limits),
            #[cfg(feature = "xlsx")]
            Format::Xlsx => crate::xlsx::read(&mut sink, input, &headings, limits),
            #[allow(unreachable_patterns, reason = "reached where a format is left out")]
            left_out => {
                drop((input, headings, threads));
                Err(ReadError::FormatLeftOut { file: name.clone(), format: left_out.name() })
            }
        };
        sink.finish();
        read
    }
}

/// Adds the items of an inventory to a book. A row that cannot be used is reported to the book, a date
/// that cannot be read too, and the item is taken without it.
///
/// # Errors
/// The table as a whole cannot be read. What was read before stays in the book.
pub fn read_items(
    book: &mut Book,
    table: Table<'_>,
    columns: &Columns,
    limits: &Limits,
) -> Result<(), ReadError> {
    table.read(book, Kind::Items, columns, limits)
}

/// Records the entries of a log in a book. A row that cannot be used is reported to the book.
///
/// # Errors
/// As [`read_items`].
pub fn read_log(
    book: &mut Book,
    table: Table<'_>,
    columns: &Columns,
    limits: &Limits,
) -> Result<(), ReadError> {
    table.read(book, Kind::Log, columns, limits)
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
    fn find(file: &str, start: &[u8]) -> Result<Self, ReadError> {
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
