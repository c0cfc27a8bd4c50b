//! Columns out of Python lists.

use crate::errors::exception;
use crate::export::{Batches, add_list, batch};
use arrow_array::builder::{Float64Builder, ListBuilder, StringBuilder};
use arrow_array::{
    ArrayRef, BooleanArray, Date32Array, Float64Array, Int64Array, NullArray, StringArray,
    TimestampMicrosecondArray,
};
use pyo3::prelude::*;
use std::sync::Arc;

/// A column: its name, its type, its values. Without a type it is that of the values.
type Column<'py> = (String, Option<String>, Vec<Bound<'py, PyAny>>);

/// Columns for any library that takes them.
#[pyfunction]
pub(crate) fn columns(py: Python<'_>, columns: Vec<Column<'_>>) -> PyResult<Batches> {
    let arrays: Vec<(String, ArrayRef)> = columns
        .into_iter()
        .map(|(name, kind, values)| Ok((name, array(kind.as_deref(), &values)?)))
        .collect::<PyResult<_>>()?;
    let arrays: Vec<(&str, ArrayRef)> =
        arrays.iter().map(|(name, array)| (name.as_str(), Arc::clone(array))).collect();
    batch(&arrays)
        .map(Batches::new)
        .map_err(|error| exception(py, "InternalError", "internal", &error.to_string(), None))
}

fn array(kind: Option<&str>, values: &[Bound<'_, PyAny>]) -> PyResult<ArrayRef> {
    Ok(match kind {
        Some("text") => Arc::new(StringArray::from(all::<String>(values)?)),
        Some("number") => Arc::new(Float64Array::from(all::<f64>(values)?)),
        Some("truth") => Arc::new(BooleanArray::from(all::<bool>(values)?)),
        // Days and microseconds since 1970.
        Some("date") => Arc::new(Date32Array::from(all::<i32>(values)?)),
        Some("time") => Arc::new(TimestampMicrosecondArray::from(all::<i64>(values)?).with_timezone("UTC")),
        Some("texts") => {
            let mut lists = ListBuilder::new(StringBuilder::new());
            for texts in values {
                let texts: Vec<String> = texts.extract()?;
                add_list(&mut lists, &texts);
            }
            Arc::new(lists.finish())
        }
        Some(_) => {
            let mut lists = ListBuilder::new(Float64Builder::new());
            for numbers in values {
                let numbers: Vec<f64> = numbers.extract()?;
                lists.append_value(numbers.into_iter().map(Some));
            }
            Arc::new(lists.finish())
        }
        None => of_the_values(values)?,
    })
}

/// A column of the type that all values have which are there.
fn of_the_values(values: &[Bound<'_, PyAny>]) -> PyResult<ArrayRef> {
    if values.iter().all(|value| value.is_none()) {
        return Ok(Arc::new(NullArray::new(values.len())));
    }
    // A truth value is an integer to Python, and an integer a number.
    if let Ok(truths) = all::<bool>(values) {
        return Ok(Arc::new(BooleanArray::from(truths)));
    }
    if let Ok(integers) = all::<i64>(values) {
        return Ok(Arc::new(Int64Array::from(integers)));
    }
    if let Ok(numbers) = all::<f64>(values) {
        return Ok(Arc::new(Float64Array::from(numbers)));
    }
    Ok(Arc::new(StringArray::from(all::<String>(values)?)))
}

fn all<'py, T: for<'a> FromPyObject<'a, 'py>>(values: &[Bound<'py, PyAny>]) -> PyResult<Vec<Option<T>>> {
    values.iter().map(|value| value.extract::<Option<T>>().map_err(Into::into)).collect()
}
