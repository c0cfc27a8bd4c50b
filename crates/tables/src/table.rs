//! A table to read: where its bytes are, what format they have, what people call it.

use crate::batch::Sink;
use crate::error::ReadError;
use crate::limits::{Limits, size};
use crate::mapping::{Columns, Headings, Kind};
use crate::path::{Format, open_file, split_sheet};
use kitlore_engine::Book;
use std::io::{Cursor, Read, Seek};
use std::num::NonZeroUsize;
use std::path::Path;

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

    /// Lets so many threads read it, by default one; what is read is the same. Large logs in csv and jsonl gain by
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
                let extent = crate::blocks::Extent::of_file(bytes, threads);
                crate::csv::read(&mut sink, input, &headings, limits, extent)
            }
            #[cfg(feature = "jsonl")]
            Format::Jsonl => {
                let extent = crate::blocks::Extent::of_file(bytes, threads);
                crate::jsonl::read(&mut sink, input, &headings, limits, extent)
            }
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
