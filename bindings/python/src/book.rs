//! The book: items and entries go in, standings come out.

use crate::ahead::Forecasts;
use crate::capsule;
use crate::cells::Cell;
use crate::errors::{detached, exception, refused, unreadable, wrong_columns};
use crate::standings::Standings;
use crate::trip::{self, Described, Trip};
use kitlore::fields::Fields;
use kitlore::planning::{Options, forecast};
use kitlore::tables::{
    Columns, HostRows, Kind, Limits, ReadError, Table, Value, read_batches, read_items, read_log,
};
use kitlore::{Instant, Item, When};
use pyo3::prelude::*;
use pyo3::types::{PyBytes, PyDict};
use std::collections::HashMap;
use std::num::NonZeroUsize;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// Inventory and log under one set of rules. The lock is only ever waited for without the interpreter's.
#[pyclass(frozen, module = "kitlore._native")]
pub(crate) struct Book {
    book: Mutex<kitlore::Book>,
    /// Paths of the text tables read, to quote entries from.
    tables: Mutex<Vec<String>>,
    /// How many frames were read as inventory and as log.
    frames: [AtomicUsize; 2],
}

/// Other people's headings: field and heading.
type Mapping = Vec<(String, String)>;

impl Book {
    pub fn new(rules: &kitlore::Rules) -> Self {
        Self {
            book: Mutex::new(kitlore::Book::new(rules)),
            tables: Mutex::default(),
            frames: Default::default(),
        }
    }

    /// A saved book. Frames that are added to it are named after those it has.
    pub fn load(rules: &kitlore::Rules, from: impl std::io::Read) -> Result<Self, kitlore::LoadError> {
        let book = kitlore::Book::load(rules, from)?;
        let count = |name: &str, known: &str| match known.strip_prefix(name) {
            Some("") => 1,
            Some(number) => number.trim_start().parse().unwrap_or(0),
            None => 0,
        };
        let of_items = book.items().filter_map(|item| item.place.as_ref());
        let items = of_items.map(|place| count("items", &place.source)).max().unwrap_or(0);
        let logs = book.sources().map(|source| count("log", source)).max().unwrap_or(0);
        Ok(Self {
            book: Mutex::new(book),
            tables: Mutex::default(),
            frames: [AtomicUsize::new(items), AtomicUsize::new(logs)],
        })
    }

    /// What people call the next frame: `log`, then `log 2`, so that the rows of each stay apart.
    fn next_frame(&self, log: bool) -> (Kind, String) {
        let [items, logs] = &self.frames;
        let (kind, name, count) = if log { (Kind::Log, "log", logs) } else { (Kind::Items, "items", items) };
        match count.fetch_add(1, Ordering::Relaxed) {
            0 => (kind, name.to_owned()),
            before => (kind, format!("{name} {}", before + 1)),
        }
    }

    /// A panic never leaves the book half changed in a way that later answers could hide: it would be met again.
    pub(crate) fn lock(&self) -> MutexGuard<'_, kitlore::Book> {
        self.book.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

fn mapping(py: Python<'_>, columns: &Mapping) -> PyResult<Columns> {
    let mut mapping = Columns::new();
    for (field, heading) in columns {
        mapping.set(field, heading).map_err(|error| wrong_columns(py, &error))?;
    }
    Ok(mapping)
}

fn threads() -> NonZeroUsize {
    std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN)
}

/// A frame in memory is as large as it is; only the problems reported one by one stay bounded.
fn limits() -> Limits {
    Limits { columns: 100_000, ..Limits::default() }
}

#[pymethods]
impl Book {
    /// Reads a file.
    fn read_path(&self, py: Python<'_>, log: bool, path: String, columns: Mapping) -> PyResult<()> {
        let columns = mapping(py, &columns)?;
        let read = || -> Result<(), ReadError> {
            let table = Table::open(&path)?.on_threads(threads());
            self.tables.lock().unwrap_or_else(PoisonError::into_inner).push(path.clone());
            let read = if log { read_log } else { read_items };
            read(&mut self.lock(), table, &columns, &Limits::default())
        };
        detached(py, read)?.map_err(|error| unreadable(py, error, false))
    }

    /// Reads an object with `__arrow_c_stream__`.
    fn read_batches(
        &self,
        py: Python<'_>,
        log: bool,
        frame: Bound<'_, PyAny>,
        columns: Mapping,
    ) -> PyResult<()> {
        let columns = mapping(py, &columns)?;
        let mut batches = capsule::batches(&frame)?;
        let (kind, name) = self.next_frame(log);
        let read =
            || read_batches(&mut self.lock(), kind, &name, &mut batches, &columns, &limits(), threads());
        detached(py, read)?.map_err(|error| unreadable(py, error, true))
    }

    /// Reads rows of objects; a row has one for each heading.
    fn read_rows(
        &self,
        py: Python<'_>,
        log: bool,
        headings: Vec<String>,
        rows: Vec<Vec<Bound<'_, PyAny>>>,
        columns: Mapping,
    ) -> PyResult<()> {
        let columns = mapping(py, &columns)?;
        let cells: Vec<Vec<Cell>> =
            rows.iter().map(|row| row.iter().map(Cell::of).collect()).collect::<PyResult<_>>()?;
        drop(rows);
        let (kind, name) = self.next_frame(log);
        let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
        let read = || -> Result<(), ReadError> {
            let mut book = self.lock();
            let mut table = HostRows::new(&mut book, kind, &name, &headings, &columns, &limits())?;
            for (number, row) in (0..).zip(&cells) {
                let values: Vec<Value<'_>> = row.iter().map(Cell::value).collect();
                table.row(number, &values);
            }
            table.finish();
            Ok(())
        };
        detached(py, read)?.map_err(|error| unreadable(py, error, true))
    }

    /// Adds one item, or raises.
    #[allow(clippy::too_many_arguments, reason = "the columns of an inventory")]
    fn add_item(
        &self,
        py: Python<'_>,
        id: Bound<'_, PyAny>,
        kind: String,
        dates: Vec<(String, Bound<'_, PyAny>)>,
        kits: Vec<String>,
        model: Option<String>,
        attributes: Vec<(String, Bound<'_, PyAny>)>,
    ) -> PyResult<()> {
        let mut item = Item::new(Cell::of(&id)?.text(), kind);
        for (field, date) in dates {
            let date = match Cell::of(&date)? {
                Cell::Absent => continue,
                Cell::Time(when, _) => date_of(when),
                cell => date_of(When::parse(cell.text().trim()).map_err(|error| {
                    let message = format!("`{field}` `{}` {error}", cell.text());
                    exception(py, "EntryError", "bad-time", &message, None)
                })?),
            };
            match field.as_str() {
                "received" => item.received = Some(date),
                "in_service" => item.in_service = Some(date),
                _ => item.retired = Some(date),
            }
        }
        item.kits = kits;
        item.model = model;
        for (heading, value) in attributes {
            item.attributes.push((heading, Cell::of(&value)?.text().to_owned()));
        }
        detached(py, || self.lock().add_item(item))?.map_err(|problem| refused(py, &problem))
    }

    /// Records one entry, or raises.
    fn record(&self, py: Python<'_>, entry: Bound<'_, PyDict>) -> PyResult<()> {
        let mut cells: HashMap<String, Cell> = HashMap::new();
        for (field, value) in entry {
            let field: String = field.extract()?;
            let cell = Cell::of(&value)?;
            if let Cell::Fault(what) = &cell {
                return Err(exception(py, "EntryError", "bad-value", &format!("`{field}` {what}"), None));
            }
            cells.insert(field, cell);
        }
        let get = |field: &str| cells.get(field).unwrap_or(&Cell::Absent);
        let fields = Fields {
            when: get("when").time(),
            until: get("until").time(),
            event: get("event").text(),
            item: get("item").text(),
            amount: get("amount").number(),
            reading: get("reading").number(),
            unit: get("unit").text(),
            conditions: get("in").text(),
            found: get("found").text(),
            reference: get("ref").text(),
            id: get("id").text(),
            by: get("by").text(),
            note: get("note").text(),
            expect: get("expect").text(),
        };
        detached(py, || self.lock().record_fields(&fields, None))?.map_err(|problem| refused(py, &problem))
    }

    /// What will be due, by when and with which chance; from now if no time is given.
    fn ahead(&self, py: Python<'_>, at: Option<String>, days: u32, seed: u64) -> PyResult<Forecasts> {
        let when = when_of(py, at.as_deref())?;
        let options = Options { days, seed, threads: threads(), ..Options::default() };
        let inner = detached(py, || {
            let mut book = self.lock();
            let at = instant_of(when, &book);
            forecast(&mut book, at, &options)
        })?;
        Ok(Forecasts { inner })
    }

    /// How the items, or one of them, stand; now if no time is given.
    fn standings(&self, py: Python<'_>, at: Option<String>, item: Option<String>) -> PyResult<Standings> {
        let (when, is_now) = (when_of(py, at.as_deref())?, at.is_none());
        let ask = || {
            let mut book = self.lock();
            let at = instant_of(when, &book);
            match item {
                Some(item) => book.standing(&item, at),
                None if is_now => book.standings_now(at, threads()),
                None => book.standings_on(at, threads()),
            }
        };
        let inner = detached(py, ask)?;
        let tables = self.tables.lock().unwrap_or_else(PoisonError::into_inner).clone();
        Ok(Standings { inner, tables })
    }

    /// What a trip needs: one of the log, or one described.
    #[expect(clippy::too_many_arguments, reason = "they are what Python asks by name")]
    fn trip(
        &self,
        py: Python<'_>,
        at: Option<String>,
        logged: Option<String>,
        described: Option<Described>,
        expect: Option<String>,
        chance: f64,
        seed: u64,
    ) -> PyResult<Trip> {
        let at = match &at {
            None => None,
            Some(text) => Some(When::parse(text.trim()).map_err(|error| {
                exception(py, "EntryError", "bad-time", &format!("`at` `{text}` {error}"), None)
            })?),
        };
        let ask = trip::ask(py, logged, described, expect.as_deref(), chance, seed)?;
        let work = || {
            let mut book = self.lock();
            let at = at
                .map_or_else(|| Instant::from(chrono::Utc::now()), |when| book.program().when_is_over(when));
            kitlore::planning::trip(&mut book, at, &ask)
        };
        let inner = detached(py, work)?
            .map_err(|error| exception(py, "TripError", "no-trip", &error.to_string(), None))?;
        Ok(Trip { inner })
    }

    /// The items: id and kind, in the order they came.
    fn items(&self, py: Python<'_>) -> PyResult<Vec<(String, String)>> {
        detached(py, || self.lock().items().map(|item| (item.id.clone(), item.kind.clone())).collect())
    }

    /// Writes the book to a file, in the place of an older one only when it is whole.
    fn save(&self, py: Python<'_>, path: String) -> PyResult<()> {
        let part = format!("{path}.part");
        let write = || {
            let mut file = std::io::BufWriter::new(std::fs::File::create(&part)?);
            self.lock().save(&mut file)?;
            file.into_inner().map_err(std::io::IntoInnerError::into_error)?.sync_all()?;
            std::fs::rename(&part, &path)?;
            Ok::<(), kitlore::SaveError>(())
        };
        detached(py, write)?.map_err(|error| {
            // What was written is no book; that it cannot be removed either is not the news.
            let _ = std::fs::remove_file(&part);
            exception(py, "FileError", error.code(), &format!("`{path}`: {error}"), None)
        })
    }

    /// The book as the bytes of a file.
    fn saved<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyBytes>> {
        let write = || {
            let mut file = Vec::new();
            self.lock().save(&mut file).map(|()| file)
        };
        let file = detached(py, write)?
            .map_err(|error| exception(py, "FileError", error.code(), &error.to_string(), None))?;
        Ok(PyBytes::new(py, &file))
    }

    fn __len__(&self, py: Python<'_>) -> PyResult<usize> {
        detached(py, || self.lock().len())
    }
}

/// The time asked for, if any.
fn when_of(py: Python<'_>, at: Option<&str>) -> PyResult<Option<When>> {
    let Some(text) = at else { return Ok(None) };
    let wrong = |error| exception(py, "EntryError", "bad-time", &format!("`at` `{text}` {error}"), None);
    When::parse(text.trim()).map(Some).map_err(wrong)
}

/// Its instant in a house; now if no time is asked for.
fn instant_of(when: Option<When>, book: &kitlore::Book) -> Instant {
    match when {
        Some(when) => book.program().when_is_over(when),
        None => Instant::from(chrono::Utc::now()),
    }
}

fn date_of(when: When) -> kitlore::NaiveDate {
    match when {
        When::Date(date) => date,
        When::Local(at) => at.date(),
        When::Instant(at) => at.naive_local().date(),
    }
}

/// Which columns of a frame are read.
#[pyfunction]
pub(crate) fn wanted_columns(
    py: Python<'_>,
    log: bool,
    headings: Vec<String>,
    columns: Mapping,
) -> PyResult<Vec<bool>> {
    let (kind, name) = if log { (Kind::Log, "log") } else { (Kind::Items, "items") };
    let headings: Vec<&str> = headings.iter().map(String::as_str).collect();
    kitlore::tables::wanted_columns(kind, name, &headings, &mapping(py, &columns)?)
        .map_err(|error| unreadable(py, error, true))
}
