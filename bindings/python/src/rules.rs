//! Compiled rules, with the texts they came from so that they can be sent elsewhere.

use crate::book::Book;
use crate::errors::{detached, dict, exception, mistaken, rules_file};
use kitlore::language::{Loaded, tidy};
use kitlore::tables::{FolderLoader, RulesFileError};
use kitlore::{Diagnostics, Loader};
use pyo3::prelude::*;
use pyo3::types::{PyDict, PyList};
use std::cell::RefCell;
use std::collections::HashMap;

/// An included text: the path as written, the file it is written in, its name, its text.
type Included = (String, String, String, String);

/// Compiled rules.
#[pyclass(frozen, module = "kitlore._native")]
pub(crate) struct Rules {
    pub(crate) inner: kitlore::Rules,
    name: String,
    text: String,
    included: Vec<Included>,
}

/// Remembers what a loader brought.
struct Remembering<'a> {
    loader: &'a dyn Loader,
    included: RefCell<Vec<Included>>,
}

impl Loader for Remembering<'_> {
    fn load(&self, path: &str, from: &str) -> Result<Loaded, String> {
        let loaded = self.loader.load(path, from)?;
        let entry = (path.to_owned(), from.to_owned(), loaded.name.clone(), loaded.text.clone());
        self.included.borrow_mut().push(entry);
        Ok(loaded)
    }
}

/// Texts given by the path that an `include` writes.
struct Given(HashMap<String, String>);

impl Loader for Given {
    fn load(&self, path: &str, _from: &str) -> Result<Loaded, String> {
        match self.0.get(path) {
            Some(text) => Ok(Loaded { name: path.to_owned(), text: text.clone() }),
            None => {
                Err("is not among the `includes` given; pass its text there, or use `Rules.load`".to_owned())
            }
        }
    }
}

/// Texts remembered from an earlier reading.
struct Again(Vec<Included>);

impl Loader for Again {
    fn load(&self, path: &str, from: &str) -> Result<Loaded, String> {
        let known = self.0.iter().find(|(written, by, ..)| written == path && by == from);
        known
            .map(|(_, _, name, text)| Loaded { name: name.clone(), text: text.clone() })
            .ok_or_else(|| "was not kept with the rules".to_owned())
    }
}

fn compile(name: String, text: String, loader: &dyn Loader) -> Result<Rules, Diagnostics> {
    let loader = Remembering { loader, included: RefCell::default() };
    let inner = kitlore::Rules::parse_with(&name, &text, &loader)?;
    Ok(Rules { inner, name, text, included: loader.included.into_inner() })
}

#[pymethods]
impl Rules {
    #[new]
    fn new(py: Python<'_>, text: String, name: String, includes: HashMap<String, String>) -> PyResult<Self> {
        detached(py, || compile(name, text, &Given(includes)))?.map_err(|error| mistaken(py, &error))
    }

    #[staticmethod]
    fn load(py: Python<'_>, path: String) -> PyResult<Self> {
        let read = || {
            let (loader, first) = FolderLoader::open(&path)?;
            compile(first.name, first.text, &loader)
                .map_err(|mistakes| RulesFileError::Mistakes(Box::new(mistakes)))
        };
        detached(py, read)?.map_err(|error| rules_file(py, error))
    }

    /// From what `state` gave.
    #[staticmethod]
    fn restore(py: Python<'_>, name: String, text: String, included: Vec<Included>) -> PyResult<Self> {
        detached(py, || compile(name, text, &Again(included)))?.map_err(|error| mistaken(py, &error))
    }

    fn state(&self) -> (String, String, Vec<Included>) {
        (self.name.clone(), self.text.clone(), self.included.clone())
    }

    #[getter]
    fn name(&self) -> &str {
        &self.name
    }

    #[getter]
    fn text(&self) -> &str {
        &self.text
    }

    #[getter]
    fn house(&self) -> Option<&str> {
        self.inner.house().name.as_deref()
    }

    #[getter]
    fn time_zone(&self) -> String {
        self.inner.house().zone.to_string()
    }

    /// Each rule: file, line, task, text.
    fn rules(&self) -> Vec<(String, u32, String, String)> {
        let house = self.inner.house();
        let sources = &house.sources;
        let row = |rule: &kitlore::language::tree::Rule| {
            let (line, _) = sources.line_column(rule.span);
            let text = sources.text(rule.span).to_owned();
            (sources.name(rule.span).to_owned(), line, rule.task.text.clone(), text)
        };
        house.rules.iter().map(row).collect()
    }

    /// What is allowed and probably not meant.
    fn doubts<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let house = self.inner.house();
        let doubts = house.doubts.iter().map(|doubt| dict(py, doubt, &house.sources));
        PyList::new(py, doubts.collect::<PyResult<Vec<_>>>()?)
    }

    /// The lines of `example` blocks that do not hold.
    fn failed_examples<'py>(&self, py: Python<'py>) -> PyResult<Bound<'py, PyList>> {
        let failures = detached(py, || self.inner.run_examples())?;
        let sources = &self.inner.house().sources;
        let list = PyList::empty(py);
        for failure in failures {
            let entry = PyDict::new(py);
            entry.set_item("example", failure.example)?;
            entry.set_item("message", failure.message)?;
            entry.set_item("file", sources.name(failure.span))?;
            entry.set_item("line", sources.line_column(failure.span).0)?;
            list.append(entry)?;
        }
        Ok(list)
    }

    fn tidy(&self, py: Python<'_>) -> PyResult<String> {
        tidy(&self.name, &self.text).map_err(|error| mistaken(py, &error))
    }

    /// A saved book under these rules.
    fn load_book(&self, py: Python<'_>, path: String) -> PyResult<Book> {
        let read = || {
            let file = std::fs::File::open(&path)?;
            Book::load(&self.inner, std::io::BufReader::new(file))
        };
        detached(py, read)?
            .map_err(|error| exception(py, "FileError", error.code(), &format!("`{path}`: {error}"), None))
    }

    /// A saved book under these rules, from the bytes of its file.
    fn book_of(&self, py: Python<'_>, saved: &[u8]) -> PyResult<Book> {
        Book::load(&self.inner, saved)
            .map_err(|error| exception(py, "FileError", error.code(), &error.to_string(), None))
    }

    fn book(&self) -> Book {
        Book::new(&self.inner)
    }
}
