//! Cells of tables that are Python objects.

use kitlore::When;
use kitlore::fields::{Number, Time};
use kitlore::tables::Value;
use pyo3::prelude::*;
use pyo3::types::{PyBool, PyFloat, PyInt, PyList, PySet, PyString, PyTuple};

/// A cell that owns its text.
pub(crate) enum Cell {
    Absent,
    Text(String),
    Number(String),
    Time(When, String),
    Fault(String),
}

impl Cell {
    /// What a Python object says.
    pub fn of(object: &Bound<'_, PyAny>) -> PyResult<Self> {
        if object.is_none() {
            return Ok(Cell::Absent);
        }
        if let Ok(text) = object.cast::<PyString>() {
            return Ok(Cell::Text(text.to_str()?.to_owned()));
        }
        if let Ok(truth) = object.cast::<PyBool>() {
            return Ok(Cell::Text(truth.is_true().to_string()));
        }
        if object.cast::<PyInt>().is_ok() {
            return Ok(Cell::Number(object.str()?.to_string()));
        }
        if let Ok(number) = object.cast::<PyFloat>() {
            return Ok(Cell::Number(number.value().to_string()));
        }
        Self::of_class(object)
    }

    /// Objects of classes that are met by name or by what they can do, so that no library is imported.
    fn of_class(object: &Bound<'_, PyAny>) -> PyResult<Self> {
        let class = object.get_type().name()?.to_string();
        match class.as_str() {
            "NaTType" | "NAType" => return Ok(Cell::Absent),
            "Decimal" => return decimal(object),
            "datetime64" => {
                let text = object.str()?.to_string();
                return Ok(if text == "NaT" { Cell::Absent } else { written(text) });
            }
            "bool" | "bool_" => return Ok(Cell::Text(object.is_truthy()?.to_string())),
            _ => {}
        }
        if object.hasattr("isoformat")? {
            return Ok(written(object.call_method0("isoformat")?.str()?.to_string()));
        }
        if object.hasattr("__index__")? {
            return Ok(Cell::Number(object.call_method0("__index__")?.str()?.to_string()));
        }
        // numpy's smaller floats show their own shortest decimal.
        if object.hasattr("__float__")? {
            let text = object.str()?.to_string();
            let text = if text == "nan" { "NaN" } else { text.trim_end_matches(".0") };
            return Ok(Cell::Number(text.to_owned()));
        }
        let is_list = object.cast::<PyList>().is_ok() || object.cast::<PyTuple>().is_ok();
        if is_list || object.cast::<PySet>().is_ok() {
            let mut texts = Vec::new();
            for part in object.try_iter()? {
                match Cell::of(&part?)? {
                    Cell::Text(text) | Cell::Number(text) | Cell::Time(_, text) => texts.push(text),
                    Cell::Absent => {}
                    Cell::Fault(what) => return Ok(Cell::Fault(what)),
                }
            }
            if object.cast::<PySet>().is_ok() {
                texts.sort();
            }
            return Ok(Cell::Text(texts.join(";")));
        }
        Ok(Cell::Fault(format!("is a `{class}`, which is not read")))
    }

    pub fn value(&self) -> Value<'_> {
        match self {
            Cell::Absent => Value::Absent,
            Cell::Text(text) => Value::Text(text),
            Cell::Number(text) => Value::Number(text),
            Cell::Time(when, text) => Value::Time(*when, text),
            Cell::Fault(what) => Value::Fault(what),
        }
    }

    pub fn text(&self) -> &str {
        match self {
            Cell::Text(text) | Cell::Number(text) | Cell::Time(_, text) => text,
            Cell::Absent | Cell::Fault(_) => "",
        }
    }

    pub fn time(&self) -> Time<'_> {
        match self {
            Cell::Time(when, _) => Time::Read(*when),
            cell => Time::Text(cell.text()),
        }
    }

    pub fn number(&self) -> Number<'_> {
        Number::Text(self.text())
    }
}

/// A date or time in ISO form; what the language does not take as one stays text, to be reported.
fn written(text: String) -> Cell {
    match When::parse(&text) {
        Ok(when) => Cell::Time(when, text),
        Err(_) => Cell::Text(text),
    }
}

fn decimal(object: &Bound<'_, PyAny>) -> PyResult<Cell> {
    let text = object.call_method1("__format__", ("f",))?.str()?.to_string();
    Ok(Cell::Number(match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }))
}
