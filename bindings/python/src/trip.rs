//! What a trip needs: the answer as JSON and as a page.

use crate::errors::{detached, exception, json};
use kitlore::planning::{Journey, TripAsk};
use kitlore::{NaiveDate, When};
use pyo3::prelude::*;

/// What a trip needs.
#[pyclass(frozen, module = "kitlore._native")]
pub(crate) struct Trip {
    pub(crate) inner: kitlore::planning::Trip,
}

#[pymethods]
impl Trip {
    /// The whole answer in the JSON of the command line.
    fn json(&self, py: Python<'_>) -> PyResult<String> {
        json(py, || serde_json::to_string(&kitlore::render::json::trip(&self.inner)))
    }

    /// The page to print.
    fn page(&self, py: Python<'_>) -> PyResult<String> {
        detached(py, || kitlore::render::page::trip(&self.inner))
    }
}

/// A trip that is not in the log: event, first day, last day, item, conditions.
pub(crate) type Described = (String, String, String, String, Vec<String>);

/// The question that Python asks.
pub(crate) fn ask(
    py: Python<'_>,
    logged: Option<String>,
    described: Option<Described>,
    expect: Option<&str>,
    chance: f64,
    seed: u64,
) -> PyResult<TripAsk> {
    let wrong = |code: &str, message: &str| exception(py, "EntryError", code, message, None);
    let date = |field: &str, text: &str| -> PyResult<NaiveDate> {
        match When::parse(text.trim()) {
            Ok(When::Date(date)) => Ok(date),
            Ok(When::Local(at)) => Ok(at.date()),
            Ok(When::Instant(at)) => Ok(at.date_naive()),
            Err(error) => Err(wrong("bad-time", &format!("`{field}` `{text}` {error}"))),
        }
    };
    let journey = match (logged, described) {
        (_, Some((event, from, to, item, conditions))) => {
            Journey::Described { event, from: date("from_", &from)?, to: date("to", &to)?, item, conditions }
        }
        (trip, None) => Journey::Logged(trip.unwrap_or_default()),
    };
    let mut ask = TripAsk::new(journey);
    if let Some(expect) = expect {
        ask = ask.expecting(expect).map_err(|error| {
            exception(py, "EntryError", "bad-expect", &format!("`expect`: {error}"), None)
        })?;
    }
    ask.mention = chance;
    ask.seed = seed;
    Ok(ask)
}
