//! The Arrow C interface: record batches from any producer, and to any consumer.
//!
//! The only module with unsafe code: the interface hands over pointers. The crates that would take it over lag
//! behind those used here: arrow-pyarrow 60.1 asks for pyo3 0.29, pyo3-arrow 0.20 for arrow 59, with numpy and
//! ndarray besides.

use arrow_array::ffi_stream::{FFI_ArrowArrayStream, RecordBatchStreamReader};
use arrow_array::{RecordBatch, RecordBatchReader};
use arrow_schema::{ArrowError, SchemaRef};
use pyo3::exceptions::PyTypeError;
use pyo3::prelude::*;
use pyo3::types::PyCapsule;

const STREAM: &std::ffi::CStr = c"arrow_array_stream";

/// The batches of an object with `__arrow_c_stream__`.
pub(crate) fn batches(object: &Bound<'_, PyAny>) -> PyResult<Interruptible> {
    let capsule = object.call_method0("__arrow_c_stream__")?;
    let capsule = capsule
        .cast::<PyCapsule>()
        .map_err(|_| PyTypeError::new_err("`__arrow_c_stream__` did not give a capsule"))?;
    let pointer = capsule.pointer_checked(Some(STREAM))?.cast::<FFI_ArrowArrayStream>();
    #[expect(unsafe_code, reason = "the Arrow C interface is one of pointers")]
    // SAFETY: a capsule of this name holds a valid stream by the interface's contract; it is moved out and
    // its release callback cleared, so that the capsule does not release it again.
    let stream = unsafe { FFI_ArrowArrayStream::from_raw(pointer.as_ptr()) };
    let reader = RecordBatchStreamReader::try_new(stream)
        .map_err(|error| PyTypeError::new_err(format!("the columns cannot be read: {error}")))?;
    Ok(Interruptible { reader, rest: None })
}

/// A capsule from which a consumer takes batches; one that is never read releases them.
pub(crate) fn stream(
    py: Python<'_>,
    reader: Box<dyn RecordBatchReader + Send>,
) -> PyResult<Bound<'_, PyCapsule>> {
    PyCapsule::new_with_value(py, FFI_ArrowArrayStream::new(reader), STREAM)
}

/// Rows between two looks at whether the user wants to stop.
const RUN: usize = 1 << 20;

/// Batches, cut so that Ctrl-C is noticed within large ones. Needs no interpreter lock.
pub(crate) struct Interruptible {
    reader: RecordBatchStreamReader,
    rest: Option<RecordBatch>,
}

impl Iterator for Interruptible {
    type Item = Result<RecordBatch, ArrowError>;

    fn next(&mut self) -> Option<Self::Item> {
        if let Err(stopped) = Python::attach(|py| py.check_signals()) {
            return Some(Err(ArrowError::ExternalError(Box::new(stopped))));
        }
        let batch = match self.rest.take() {
            Some(batch) => batch,
            None => match self.reader.next()? {
                Ok(batch) => batch,
                Err(error) => return Some(Err(error)),
            },
        };
        if batch.num_rows() > RUN {
            self.rest = Some(batch.slice(RUN, batch.num_rows() - RUN));
            return Some(Ok(batch.slice(0, RUN)));
        }
        Some(Ok(batch))
    }
}

impl RecordBatchReader for Interruptible {
    fn schema(&self) -> SchemaRef {
        self.reader.schema()
    }
}
