//! From what the crates say to the exceptions of the package, which are plain Python classes.

use arrow_schema::ArrowError;
use kitlore::language::{Diagnostic, Fix, Severity, Sources, Span};
use kitlore::tables::{ColumnsError, ReadError, RulesFileError};
use kitlore::{Diagnostics, Problem};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::panic::{AssertUnwindSafe, catch_unwind};

/// How wide the text of a mistake is drawn.
const WIDTH: usize = 100;

/// Runs what needs no Python without the interpreter lock; a panic becomes an exception.
pub(crate) fn detached<T: Send>(py: Python<'_>, work: impl FnOnce() -> T + Send) -> PyResult<T> {
    py.detach(|| catch_unwind(AssertUnwindSafe(work))).map_err(|panic| {
        let said = panic
            .downcast_ref::<String>()
            .map(String::as_str)
            .or_else(|| panic.downcast_ref::<&str>().copied())
            .unwrap_or("no words");
        let message = format!("kitlore met a fault of its own: {said}; please report it with what you did");
        exception(py, "InternalError", "internal", &message, None)
    })
}

/// JSON that is written as by [`detached`].
pub(crate) fn json(
    py: Python<'_>,
    write: impl FnOnce() -> serde_json::Result<String> + Send,
) -> PyResult<String> {
    detached(py, write)?.map_err(|error| exception(py, "InternalError", "internal", &error.to_string(), None))
}

/// Panics, so that the guard against panics can be tested.
#[pyfunction]
pub(crate) fn fail_inside(py: Python<'_>) -> PyResult<()> {
    #[expect(clippy::panic, reason = "this is what is tested")]
    detached(py, || panic!("asked to"))
}

/// An exception of the package.
pub(crate) fn exception(py: Python<'_>, class: &str, code: &str, message: &str, help: Option<&str>) -> PyErr {
    let details = PyDict::new(py);
    let made = details
        .set_item("code", code)
        .and_then(|()| details.set_item("help", help))
        .and_then(|()| py.import("kitlore._errors")?.getattr(class)?.call((message,), Some(&details)));
    made.map_or_else(|error| error, PyErr::from_value)
}

/// A record that the book refuses.
pub(crate) fn refused(py: Python<'_>, problem: &Problem) -> PyErr {
    let help = problem.meant.as_ref().map(|meant| format!("did you mean `{meant}`?"));
    exception(py, "EntryError", &problem.code, &problem.message(), help.as_deref())
}

/// A mapping of columns that is none.
pub(crate) fn wrong_columns(py: Python<'_>, error: &ColumnsError) -> PyErr {
    exception(py, "TableError", error.code(), &format!("`columns`: {error}"), None)
}

/// A table that cannot be read as a whole, in words for who calls from Python.
pub(crate) fn unreadable(py: Python<'_>, error: ReadError, is_frame: bool) -> PyErr {
    let code = error.code();
    let quoted = |names: &[String]| {
        let names: Vec<String> = names.iter().take(30).map(|name| format!("`{name}`")).collect();
        if names.is_empty() { "none".to_owned() } else { names.join(", ") }
    };
    let meant = |meant: &Option<String>| meant.as_ref().map(|meant| format!("did you mean `{meant}`?"));
    let columns = if is_frame { "columns" } else { "headings" };
    let (message, help) = match error {
        ReadError::Batches { cause: ArrowError::ExternalError(inner), file } => {
            return match inner.downcast::<PyErr>() {
                Ok(error) => *error,
                Err(inner) => {
                    exception(py, "TableError", code, &format!("cannot read `{file}`: {inner}"), None)
                }
            };
        }
        ReadError::Io { .. } | ReadError::NotAFile { .. } => {
            return exception(py, "FileError", code, &error.to_string(), None);
        }
        ReadError::MissingColumn { file, field, meant: close, headings, .. } => (
            format!(
                "`{file}` has no column `{field}`; its {columns} are {}; name the column with `columns={{\"{field}\": \"...\"}}`",
                quoted(&headings)
            ),
            meant(&close),
        ),
        ReadError::UnknownHeading { file, field, heading, meant: close, headings, .. } => (
            format!(
                "`{file}` has no column `{heading}`, which `columns` gives for `{field}`; its {columns} are {}",
                quoted(&headings)
            ),
            meant(&close),
        ),
        ReadError::DuplicateHeading { file, name, first, second, .. } => {
            (format!("`{file}` has two columns for `{name}`, `{first}` and `{second}`; rename one"), None)
        }
        error => (error.to_string(), None),
    };
    exception(py, "TableError", code, &message, help.as_deref())
}

/// A rule file that cannot be had.
pub(crate) fn rules_file(py: Python<'_>, error: RulesFileError) -> PyErr {
    match error {
        RulesFileError::Mistakes(mistakes) => mistaken(py, &mistakes),
        error => exception(py, "FileError", error.code(), &error.to_string(), None),
    }
}

/// Rules with mistakes: the text as the command line draws it, and each mistake as a dict.
pub(crate) fn mistaken(py: Python<'_>, mistakes: &Diagnostics) -> PyErr {
    let text = kitlore_cli::draw_mistakes(&mistakes.list, &mistakes.sources, WIDTH, false);
    let made = || {
        let list = PyList::empty(py);
        for diagnostic in &mistakes.list {
            list.append(dict(py, diagnostic, &mistakes.sources)?)?;
        }
        py.import("kitlore._errors")?.getattr("RuleError")?.call1((text.trim_end(), list))
    };
    made().map_or_else(|error| error, PyErr::from_value)
}

/// A mistake or doubt as a dict; offsets, lines and columns count characters, lines and columns from 1.
pub(crate) fn dict<'py>(
    py: Python<'py>,
    diagnostic: &Diagnostic,
    sources: &Sources,
) -> PyResult<Bound<'py, PyDict>> {
    let entry = PyDict::new(py);
    entry.set_item("code", diagnostic.code.word())?;
    let severity = if diagnostic.severity == Severity::Error { "error" } else { "doubt" };
    entry.set_item("severity", severity)?;
    entry.set_item("message", &diagnostic.message)?;
    entry.set_item("help", &diagnostic.help)?;
    entry.set_item("fix", diagnostic.fix.as_ref().map(|fix| edits(py, fix, sources)).transpose()?)?;
    place(&entry, diagnostic.span, sources)?;
    entry.set_item(
        "second",
        match &diagnostic.second {
            None => None,
            Some((span, what)) => {
                let second = PyDict::new(py);
                second.set_item("message", what)?;
                place(&second, *span, sources)?;
                Some(second)
            }
        },
    )?;
    Ok(entry)
}

/// The edits of a correction, in order of place.
fn edits<'py>(py: Python<'py>, fix: &Fix, sources: &Sources) -> PyResult<Bound<'py, PyList>> {
    let list = PyList::empty(py);
    for edit in &fix.edits {
        let entry = PyDict::new(py);
        entry.set_item("file", sources.name(edit.span))?;
        entry.set_item("start", characters(sources, edit.span, edit.span.start))?;
        entry.set_item("end", characters(sources, edit.span, edit.span.end))?;
        entry.set_item("text", &edit.text)?;
        list.append(entry)?;
    }
    Ok(list)
}

/// How many characters stand before a byte of the source that a span is in.
fn characters(sources: &Sources, span: Span, to: u32) -> usize {
    let text = sources.get(span.source).map_or("", |source| &source.text);
    text.get(..to as usize).unwrap_or(text).chars().count()
}

fn place(entry: &Bound<'_, PyDict>, span: Span, sources: &Sources) -> PyResult<()> {
    let (line, column) = sources.line_column(span);
    let (end_line, end_column) = sources.line_column(Span { start: span.end, ..span });
    entry.set_item("file", sources.name(span))?;
    entry.set_item("text", sources.text(span))?;
    entry.set_item("line", line)?;
    entry.set_item("column", column)?;
    entry.set_item("end_line", end_line)?;
    entry.set_item("end_column", end_column)?;
    entry.set_item("start", characters(sources, span, span.start))?;
    entry.set_item("end", characters(sources, span, span.end))
}
