//! An answer: as JSON, as columns, as an account in words.

use crate::errors::{detached, exception, json};
use crate::export::{Batches, parts, problems, rows};
use kitlore::Row;
use kitlore::language::key;
use pyo3::prelude::*;

/// How the items of a book stood at an instant.
#[pyclass(frozen, module = "kitlore._native")]
pub(crate) struct Standings {
    pub(crate) inner: kitlore::Standings,
    pub(crate) tables: Vec<String>,
}

#[pymethods]
impl Standings {
    /// The whole answer in the JSON of the command line.
    fn json(&self, py: Python<'_>) -> PyResult<String> {
        json(py, || serde_json::to_string(&self.inner))
    }

    /// The problems alone.
    fn problems_json(&self, py: Python<'_>) -> PyResult<String> {
        json(py, || serde_json::to_string(self.inner.problems()))
    }

    /// As an iCalendar file.
    fn ical(&self, py: Python<'_>, events: bool, days: Option<u32>) -> PyResult<String> {
        let file =
            || kitlore::render::CalendarFile::of(&self.inner).events(events).within_days(days).to_string();
        detached(py, file)
    }

    /// As a page to print.
    fn page(&self, py: Python<'_>, all: bool) -> PyResult<String> {
        detached(py, || kitlore::render::page::due(&self.inner, all))
    }

    #[getter]
    fn at(&self) -> String {
        self.inner.program().local(self.inner.at()).to_rfc3339()
    }

    #[getter]
    fn house(&self) -> Option<&str> {
        self.inner.program().house().name.as_deref()
    }

    /// How many rows there are.
    fn __len__(&self) -> usize {
        self.inner.rows().count()
    }

    /// Columns of `rows`, `parts` or `problems`.
    fn batches(&self, py: Python<'_>, table: &str) -> PyResult<Batches> {
        let made = detached(py, || match table {
            "rows" => rows(&self.inner),
            "parts" => parts(&self.inner),
            _ => problems(&self.inner),
        })?;
        made.map(Batches::new)
            .map_err(|error| exception(py, "InternalError", "internal", &error.to_string(), None))
    }

    /// The account of an item, or of one task, as the command line prints it, and the numbers of its rows;
    /// `None` if there is no such row.
    fn why(
        &self,
        py: Python<'_>,
        item: &str,
        task: Option<&str>,
        width: usize,
    ) -> PyResult<Option<(String, Vec<usize>)>> {
        let task = task.map(key);
        let work = || {
            let wanted = |row: &Row<'_>| {
                row.item == item.trim() && task.as_ref().is_none_or(|task| key(row.task) == *task)
            };
            let (numbers, found): (Vec<usize>, Vec<Row<'_>>) =
                self.inner.rows().enumerate().filter(|(_, row)| wanted(row)).unzip();
            if found.is_empty() {
                return None;
            }
            let text = kitlore_cli::account(&self.inner, found, task.is_some(), &self.tables, width);
            Some((text, numbers))
        };
        detached(py, work)
    }
}
