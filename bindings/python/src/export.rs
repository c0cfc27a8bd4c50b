//! Answers as columns.

use crate::capsule;
use crate::errors::exception;
use arrow_array::builder::{
    Date32Builder, Decimal128Builder, Float64Builder, ListBuilder, StringBuilder,
    TimestampMicrosecondBuilder, UInt32Builder,
};
use arrow_array::{ArrayRef, RecordBatch, RecordBatchIterator};
use arrow_schema::{ArrowError, DataType, Field, Schema};
use kitlore::{Instant, Place, Standings};
use pyo3::prelude::*;
use pyo3::types::PyCapsule;
use std::sync::Arc;

/// Columns that any library with the Arrow C stream interface can take, as often as it likes.
#[pyclass(frozen, module = "kitlore._native")]
pub(crate) struct Batches {
    batch: RecordBatch,
}

impl Batches {
    pub fn new(batch: RecordBatch) -> Self {
        Self { batch }
    }
}

#[pymethods]
impl Batches {
    /// The stream. A schema that is asked for is left to the consumer, as the interface allows.
    #[pyo3(signature = (requested_schema=None))]
    fn __arrow_c_stream__<'py>(
        &self,
        py: Python<'py>,
        requested_schema: Option<Bound<'py, PyAny>>,
    ) -> PyResult<Bound<'py, PyCapsule>> {
        drop(requested_schema);
        let batches = RecordBatchIterator::new([Ok(self.batch.clone())], self.batch.schema());
        capsule::stream(py, Box::new(batches))
    }

    /// The columns as Python lists, for who has no such library.
    fn names(&self) -> Vec<String> {
        self.batch.schema().fields().iter().map(|field| field.name().clone()).collect()
    }

    fn __len__(&self) -> usize {
        self.batch.num_rows()
    }

    fn __repr__(&self, py: Python<'_>) -> PyResult<String> {
        if self.batch.num_columns() == 0 {
            return Err(exception(py, "InternalError", "internal", "no columns", None));
        }
        Ok(format!("<{} rows of {}>", self.batch.num_rows(), self.names().join(", ")))
    }
}

/// Times of a column, in the house's zone; finer than a microsecond is cut off.
struct Times {
    builder: TimestampMicrosecondBuilder,
}

impl Times {
    fn new(standings: &Standings) -> Self {
        let zone: Arc<str> = standings.program().house().zone.name().into();
        Self { builder: TimestampMicrosecondBuilder::new().with_timezone(zone) }
    }

    fn add(&mut self, at: Option<Instant>) {
        let micros = |at: Instant| Some(at.seconds.checked_mul(1_000_000)? + i64::from(at.nanos / 1_000));
        self.builder.append_option(at.and_then(micros));
    }

    fn finish(mut self) -> ArrayRef {
        Arc::new(self.builder.finish())
    }
}

/// 1970-01-01.
const EPOCH: kitlore::NaiveDate = kitlore::date!(1970 - 01 - 01);

/// Lists of texts.
pub(crate) fn add_list(builder: &mut ListBuilder<StringBuilder>, texts: &[impl AsRef<str>]) {
    for text in texts {
        builder.values().append_value(text);
    }
    builder.append(true);
}

/// Names and arrays to a batch.
pub(crate) fn batch(columns: &[(&str, ArrayRef)]) -> Result<RecordBatch, ArrowError> {
    let field = |(name, array): &(&str, ArrayRef)| Field::new(*name, array.data_type().clone(), true);
    let schema = Schema::new(columns.iter().map(field).collect::<Vec<_>>());
    RecordBatch::try_new(Arc::new(schema), columns.iter().map(|(_, array)| Arc::clone(array)).collect())
}

/// One row per item and task.
pub(crate) fn rows(standings: &Standings) -> Result<RecordBatch, ArrowError> {
    let (mut item, mut kind, mut task, mut standing) =
        (StringBuilder::new(), StringBuilder::new(), StringBuilder::new(), StringBuilder::new());
    let (mut due, mut limit, mut done) =
        (Times::new(standings), Times::new(standings), Times::new(standings));
    let (mut needs, mut cautions) =
        (ListBuilder::new(StringBuilder::new()), ListBuilder::new(StringBuilder::new()));
    let mut takes = Float64Builder::new();
    let (mut by, mut because) = (StringBuilder::new(), StringBuilder::new());
    for row in standings.rows() {
        item.append_value(row.item);
        kind.append_value(row.kind);
        task.append_value(row.task);
        standing.append_value(row.standing.word());
        due.add(row.due_at);
        limit.add(row.limit_at);
        done.add(row.last_done);
        add_list(&mut needs, &row.needs());
        takes.append_option(row.takes_minutes().and_then(|minutes| minutes.to_string().parse().ok()));
        by.append_option(row.by());
        because.append_option(row.because());
        add_list(&mut cautions, &row.cautions());
    }
    batch(&[
        ("item", Arc::new(item.finish())),
        ("kind", Arc::new(kind.finish())),
        ("task", Arc::new(task.finish())),
        ("standing", Arc::new(standing.finish())),
        ("due_at", due.finish()),
        ("limit_at", limit.finish()),
        ("last_done", done.finish()),
        ("needs", Arc::new(needs.finish())),
        ("takes_minutes", Arc::new(takes.finish())),
        ("by", Arc::new(by.finish())),
        ("because", Arc::new(because.finish())),
        ("cautions", Arc::new(cautions.finish())),
    ])
}

/// One row per item, task, rule and part of the rule's trigger or limit.
pub(crate) fn parts(standings: &Standings) -> Result<RecordBatch, ArrowError> {
    const DIGITS: u8 = 38;
    let decimal = |scale| Decimal128Builder::new().with_data_type(DataType::Decimal128(DIGITS, scale));
    let (mut item, mut task, mut file, mut line) =
        (StringBuilder::new(), StringBuilder::new(), StringBuilder::new(), UInt32Builder::new());
    let (mut standing, mut side, mut text, mut kind) =
        (StringBuilder::new(), StringBuilder::new(), StringBuilder::new(), StringBuilder::new());
    let (mut count, mut of) = (decimal(9), decimal(6));
    let (mut due, mut late, mut limit, mut reached) =
        (Times::new(standings), Times::new(standings), Times::new(standings), Times::new(standings));
    let mut from = Date32Builder::new();
    let (mut source, mut at) = (StringBuilder::new(), UInt32Builder::new());
    for row in standings.rows() {
        for account in row.rules() {
            let trigger = account.parts().into_iter().map(|part| ("trigger", part));
            let limits = account.limit_parts().into_iter().map(|part| ("limit", part));
            for (of_side, part) in trigger.chain(limits) {
                item.append_value(row.item);
                task.append_value(row.task);
                file.append_value(account.rule.file);
                line.append_value(account.rule.line);
                standing.append_value(account.standing.word());
                due.add(account.due_at);
                late.add(account.late_at);
                limit.add(account.limit_at);
                side.append_value(of_side);
                text.append_value(part.text);
                kind.append_value(part.kind);
                count.append_option(part.count.map(|count| count.billionths()));
                of.append_option(part.of.map(|of| i128::from(of.micros())));
                reached.add(part.reached_at);
                from.append_option(part.from.map(|date| date.signed_duration_since(EPOCH).num_days() as i32));
                add_place(&mut source, &mut at, part.tipped_by.as_ref());
            }
        }
    }
    batch(&[
        ("item", Arc::new(item.finish())),
        ("task", Arc::new(task.finish())),
        ("file", Arc::new(file.finish())),
        ("line", Arc::new(line.finish())),
        ("standing", Arc::new(standing.finish())),
        ("due_at", due.finish()),
        ("late_at", late.finish()),
        ("limit_at", limit.finish()),
        ("side", Arc::new(side.finish())),
        ("text", Arc::new(text.finish())),
        ("kind", Arc::new(kind.finish())),
        ("count", Arc::new(count.finish())),
        ("of", Arc::new(of.finish())),
        ("reached_at", reached.finish()),
        ("counts_from", Arc::new(from.finish())),
        ("tipped_by_source", Arc::new(source.finish())),
        ("tipped_by_line", Arc::new(at.finish())),
    ])
}

fn add_place(source: &mut StringBuilder, line: &mut UInt32Builder, place: Option<&Place>) {
    source.append_option(place.map(|place| place.source.as_ref()));
    line.append_option(place.map(|place| place.line));
}

/// What could not be used, and doubts.
pub(crate) fn problems(standings: &Standings) -> Result<RecordBatch, ArrowError> {
    let (mut code, mut message, mut source, mut line, mut meant) = (
        StringBuilder::new(),
        StringBuilder::new(),
        StringBuilder::new(),
        UInt32Builder::new(),
        StringBuilder::new(),
    );
    for problem in standings.problems() {
        code.append_value(&*problem.code);
        message.append_value(problem.message());
        add_place(&mut source, &mut line, problem.place.as_ref());
        meant.append_option(problem.meant.as_deref());
    }
    batch(&[
        ("code", Arc::new(code.finish())),
        ("message", Arc::new(message.finish())),
        ("source", Arc::new(source.finish())),
        ("line", Arc::new(line.finish())),
        ("meant", Arc::new(meant.finish())),
    ])
}
