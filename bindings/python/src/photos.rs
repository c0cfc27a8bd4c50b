//! Pictures as a log.

use crate::book::Book;
use crate::errors::{detached, exception};
use crate::export::Batches;
use arrow_array::builder::{Int64Builder, StringBuilder};
use arrow_array::{ArrayRef, RecordBatch};
use arrow_schema::{ArrowError, DataType, Field, Schema};
use kitlore::fields::{Number, Time};
use kitlore::photos::{
    Folders, Imported, MeasuredCondition, PhotoReport, Pictures, Settings, SpillError, parse_shift,
};
use kitlore::{Entry, Item};
use pyo3::prelude::*;
use std::num::NonZeroUsize;
use std::sync::Arc;

/// What pictures say, frozen.
#[pyclass(frozen, module = "kitlore._native")]
pub(crate) struct Photos {
    report: PhotoReport,
}

/// A body or lens without an item: whether it is a lens; make, model, serial number; how many pictures, first
/// and last date; why; the line that would add it.
type Unmatched = (bool, [String; 3], usize, [String; 2], String, Option<String>);

#[pymethods]
impl Photos {
    /// The entries as columns.
    fn batches(&self, py: Python<'_>) -> PyResult<Batches> {
        let failed = |error: ArrowError| exception(py, "InternalError", "internal", &error.to_string(), None);
        columns(&self.report.entries).map(Batches::new).map_err(failed)
    }

    /// The entries as texts, in the order of the columns.
    fn rows(&self) -> Vec<[String; 8]> {
        self.report.entries.iter().map(|entry| texts(entry).map(str::to_owned)).collect()
    }

    /// Code and message of each.
    fn problems(&self) -> Vec<(String, String)> {
        let problems = self.report.problems.iter();
        problems.map(|problem| (problem.code.to_string(), problem.message())).collect()
    }

    fn unmatched(&self) -> Vec<Unmatched> {
        let rows = self.report.unmatched.iter().map(|one| {
            let gear = [&one.gear.make, &one.gear.model, &one.gear.serial].map(Clone::clone);
            let (first, last) = one.dates;
            let dates = [first.to_string(), last.to_string()];
            (one.is_lens, gear, one.pictures, dates, one.why.clone(), one.line.clone())
        });
        rows.collect()
    }

    #[getter]
    fn frames(&self) -> usize {
        self.report.frames
    }

    #[getter]
    fn copies(&self) -> usize {
        self.report.copies
    }
}

const COLUMNS: [&str; 8] = ["when", "until", "item", "event", "amount", "in", "id", "note"];

fn texts(entry: &Entry) -> [&str; 8] {
    let fields = entry.fields();
    let time = |time| if let Time::Text(text) = time { text } else { "" };
    let amount = match fields.amount {
        Number::Text(text) if !text.is_empty() => text,
        _ => "1",
    };
    let (when, until) = (time(fields.when), time(fields.until));
    [when, until, fields.item, fields.event, amount, fields.conditions, fields.id, fields.note]
}

fn columns(entries: &[Entry]) -> Result<RecordBatch, ArrowError> {
    let mut builders: Vec<StringBuilder> = COLUMNS.iter().map(|_| StringBuilder::new()).collect();
    let mut amounts = Int64Builder::new();
    for entry in entries {
        let texts = texts(entry);
        for (builder, text) in builders.iter_mut().zip(texts) {
            builder.append_option(Some(text).filter(|text| !text.is_empty()));
        }
        amounts.append_option(texts.get(4).and_then(|amount| amount.parse().ok()));
    }
    let amounts: ArrayRef = Arc::new(amounts.finish());
    let arrays = COLUMNS.iter().zip(&mut builders).map(|(name, builder)| match *name {
        "amount" => Arc::clone(&amounts),
        _ => Arc::new(builder.finish()) as ArrayRef,
    });
    let arrays: Vec<ArrayRef> = arrays.collect();
    let kind = |name: &str| if name == "amount" { DataType::Int64 } else { DataType::Utf8 };
    let fields: Vec<Field> = COLUMNS.iter().map(|name| Field::new(*name, kind(name), true)).collect();
    RecordBatch::try_new(Arc::new(Schema::new(fields)), arrays)
}

/// Reads pictures; items, and the entries that are known already, are those of a book.
#[pyfunction]
#[allow(clippy::too_many_arguments, reason = "the arguments of the Python function")]
pub(crate) fn read_photos(
    py: Python<'_>,
    book: Bound<'_, Book>,
    paths: Vec<std::path::PathBuf>,
    zone: Option<String>,
    shifts: Vec<(String, String)>,
    marks: Vec<String>,
    follow_links: bool,
) -> PyResult<Photos> {
    let wrong = |message: String| exception(py, "EntryError", "bad-argument", &message, None);
    let mut settings = Settings::default();
    if let Some(zone) = &zone {
        settings.zone = Some(kitlore::photos::zone(zone).map_err(|error| wrong(format!("`zone`: {error}")))?);
    }
    let book = book.get();
    let (items, imported): (Vec<Item>, Imported) = detached(py, || {
        let book = book.lock();
        (book.items().cloned().collect(), Imported::from_ids(book.ids()))
    })?;
    settings.imported = imported;
    for (item, span) in shifts {
        if !items.iter().any(|known| known.id == item) {
            return Err(wrong(format!("`shift`: the inventory has no item `{item}`")));
        }
        let span = parse_shift(&span).map_err(|error| wrong(format!("`shift`: {error}")))?;
        settings.shifts.insert(item, span);
    }
    for mark in marks {
        let condition = mark.parse::<MeasuredCondition>();
        settings.conditions.push(condition.map_err(|error| wrong(format!("`mark`: {error}")))?);
    }
    let mut stopped = None;
    let threads = std::thread::available_parallelism().unwrap_or(NonZeroUsize::MIN);
    let report = detached(py, || {
        let mut pictures = Pictures::default();
        pictures.read(Folders::new(&paths, follow_links), threads, |_| {
            stopped = stopped.take().or_else(|| Python::attach(|py| py.check_signals()).err());
            stopped.is_none()
        })?;
        pictures.report(&items, &settings)
    })?;
    match stopped {
        Some(error) => Err(error),
        None => report.map(|report| Photos { report }).map_err(|error: SpillError| {
            exception(py, "FileError", "cannot-write", &error.to_string(), None)
        }),
    }
}
