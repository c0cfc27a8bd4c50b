//! The days ahead: as JSON, as a page.

use crate::errors::{detached, json};
use pyo3::prelude::*;

/// When each row of a book will be due, as far as can be said.
#[pyclass(frozen, module = "kitlore._native")]
pub(crate) struct Forecasts {
    pub(crate) inner: kitlore::planning::Forecasts,
}

#[pymethods]
impl Forecasts {
    /// The whole answer in the JSON of the command line.
    fn json(&self, py: Python<'_>) -> PyResult<String> {
        json(py, || serde_json::to_string(&kitlore::render::json::forecasts(&self.inner)))
    }

    /// As a page to print.
    fn page(&self, py: Python<'_>) -> PyResult<String> {
        detached(py, || kitlore::render::page::ahead(&self.inner))
    }

    fn __len__(&self) -> usize {
        self.inner.rows().len()
    }
}
