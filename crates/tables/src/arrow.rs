//! Record batches of the Arrow format: frames of other libraries, without a copy.

use crate::arrow_cells::{
    self, Integer, Owned, all_midnights, cell, integer, is_local, is_read, suits, text, time, timestamp,
};
use crate::columns::Columns;
use crate::error::{ReadError, short};
use crate::field::{Field, Kind};
use crate::host_rows::HostRows;
use crate::limits::Limits;
use crate::row::Value;
use arrow_array::cast::AsArray;
use arrow_array::types::{Float64Type, Int64Type};
use arrow_array::{Array, ArrayRef, RecordBatch, RecordBatchReader};
use arrow_schema::DataType;
use kitlore_engine::{Amount, Book, ConditionsKey, EventKey, ItemKey, Keyed, Program};
use kitlore_syntax::When;

/// Rows that are read at once: what is worked out for them stays in a processor's cache.
const RUN: usize = 1 << 13;

/// Reads the batches of a frame as an inventory or a log. Rows are numbered from 0 over all batches.
///
/// Times with a zone are instants, times without one are the house's clock times. Where every such time of a
/// column is a midnight it is a column of dates, as spreadsheets and frames without a type for dates write
/// them; batches are kept until a clock time shows that it is none.
///
/// # Errors
/// A column is missing, doubled or of a type that its field cannot be read from, or the batches stop with
/// an error. What was read before stays in the book.
pub fn read_batches(
    book: &mut Book,
    kind: Kind,
    name: &str,
    batches: &mut dyn RecordBatchReader,
    columns: &Columns,
    limits: &Limits,
) -> Result<(), ReadError> {
    let schema = batches.schema();
    if schema.fields().is_empty() {
        // Without columns there is nothing in it, and nothing to mend.
        return Ok(());
    }
    let headings: Vec<&str> = schema.fields().iter().map(|field| field.name().as_str()).collect();
    let types: Vec<&DataType> = schema.fields().iter().map(|field| field.data_type()).collect();
    let rules = book.program().clone();
    let mut rows = HostRows::new(book, kind, name, &headings, columns, limits)?;
    check_types(&mut rows, kind, name, &headings, &types)?;
    let mut frame = Frame {
        fields: [Field::When, Field::Event, Field::Item, Field::Amount, Field::In]
            .map(|field| rows.layout().position(field)),
        others: Kind::Log
            .fields()
            .iter()
            .filter(|field| {
                !matches!(field, Field::When | Field::Event | Field::Item | Field::Amount | Field::In)
            })
            // Who did it and what was remarked matter only beside an id, which is among the others.
            .filter(|field| !matches!(field, Field::By | Field::Note))
            .filter_map(|field| rows.layout().position(*field))
            .collect(),
        dates: types.iter().map(|data_type| is_local(data_type)).collect(),
        events: Lookup::default(),
        items: Lookup::default(),
        conditions: Lookup::default(),
        next: 0,
        kind,
        rules,
        rows,
    };
    let mut held: Vec<RecordBatch> = Vec::new();
    for batch in batches {
        let batch = batch.map_err(|cause| ReadError::Batches { file: name.to_owned(), cause })?;
        for (dates, column) in frame.dates.iter_mut().zip(batch.columns()) {
            *dates = *dates && all_midnights(column);
        }
        held.push(batch);
        if !frame.dates.contains(&true) {
            held.drain(..).for_each(|batch| frame.batch(&batch));
        }
    }
    held.drain(..).for_each(|batch| frame.batch(&batch));
    frame.rows.finish();
    Ok(())
}

/// Refuses fields of a wrong type, and reports other columns that are not read.
fn check_types(
    rows: &mut HostRows<'_>,
    kind: Kind,
    name: &str,
    headings: &[&str],
    types: &[&DataType],
) -> Result<(), ReadError> {
    for field in kind.fields() {
        let Some(column) = rows.layout().position(*field) else { continue };
        let (Some(heading), Some(found)) = (headings.get(column), types.get(column)) else { continue };
        if !suits(*field, found) {
            return Err(ReadError::ColumnType {
                file: name.to_owned(),
                heading: short(heading),
                field: field.name(),
                found: short(&found.to_string()),
                remedy: "turn it into texts, numbers, dates or times",
            });
        }
    }
    if kind == Kind::Items {
        let others = rows.layout().others.clone();
        for (column, heading) in others {
            let Some(found) = types.get(column).filter(|found| !is_read(found)) else { continue };
            let (heading, found) = (short(&heading), short(&found.to_string()));
            let message = format!(
                "the column `{heading}` of `{name}` holds {found} and is not read; turn it into texts, numbers, dates or times if a rule asks about it"
            );
            rows.sink().doubtful_column(message, "bad-value", None);
        }
    }
    Ok(())
}

/// A frame on its way into a book.
struct Frame<'b> {
    rows: HostRows<'b>,
    rules: Program,
    kind: Kind,
    /// The columns of `when`, `event`, `item`, `amount` and `in`.
    fields: [Option<usize>; 5],
    /// The columns of the other fields: a row that has any of them is read cell by cell.
    others: Vec<usize>,
    /// By column: all its local times so far were midnights.
    dates: Vec<bool>,
    events: Lookup<EventKey>,
    items: Lookup<ItemKey>,
    conditions: Lookup<ConditionsKey>,
    /// The number of the next row.
    next: u32,
}

impl Frame<'_> {
    fn batch(&mut self, batch: &RecordBatch) {
        let mut start = 0;
        while start < batch.num_rows() {
            let length = RUN.min(batch.num_rows() - start);
            let run = batch.slice(start, length);
            match self.kind {
                Kind::Items => (0..length).for_each(|row| self.cells(&run, row)),
                Kind::Log => self.entries(&run),
            }
            self.next = self.next.saturating_add(u32::try_from(length).unwrap_or(u32::MAX));
            start += length;
        }
    }

    /// Reads a row cell by cell, the way of all tables.
    fn cells(&mut self, run: &RecordBatch, row: usize) {
        let read = |(column, array): (usize, &ArrayRef)| {
            cell(array, row, self.dates.get(column).copied().unwrap_or(false), &self.rules)
        };
        let used = |column: usize, array: &ArrayRef| {
            let wanted = self.kind == Kind::Items || self.rows.layout().is_field(column);
            wanted && is_read(array.data_type())
        };
        let cells: Vec<Owned> = run
            .columns()
            .iter()
            .enumerate()
            .map(|(column, array)| if used(column, array) { read((column, array)) } else { Owned::Absent })
            .collect();
        let values: Vec<Value<'_>> = cells.iter().map(Owned::value).collect();
        self.rows.row(self.number(row), &values);
    }

    fn number(&self, row: usize) -> u32 {
        self.next.saturating_add(u32::try_from(row).unwrap_or(u32::MAX))
    }

    /// Reads rows of a log: column by column what most entries have, cell by cell any other row.
    fn entries(&mut self, run: &RecordBatch) {
        let [when, event, item, amount, conditions] = self.fields;
        let column = |at: Option<usize>| at.and_then(|at| run.columns().get(at));
        let dates = when.and_then(|at| self.dates.get(at)).copied().unwrap_or(false);
        let whens = times(column(when), dates, run.num_rows());
        let amounts = amounts(column(amount), run.num_rows());
        let (book, source) = self.rows.sink().book();
        let events = self.events.keys(column(event), run.num_rows(), |text| match text.trim() {
            "" => None,
            text => Some(book.event_key(text)),
        });
        let items = self.items.keys(column(item), run.num_rows(), |text| Some(book.item_key(text)));
        let conditions =
            self.conditions.keys(column(conditions), run.num_rows(), |text| Some(book.conditions_key(text)));
        let others: Vec<&ArrayRef> = self
            .others
            .iter()
            .filter_map(|at| run.columns().get(*at))
            .filter(|array| array.logical_null_count() < array.len())
            .collect();
        let each = whens.into_iter().zip(amounts).zip(events).zip(items).zip(conditions).enumerate();
        for (row, ((((when, amount), event), item), conditions)) in each {
            let whole = (when, amount, event, item, conditions);
            let plain = !others.iter().any(|array| array.is_valid(row));
            if let ((Some(when), Some(amount), Some(event), Some(item), Some(conditions)), true) =
                (whole, plain)
            {
                let entry = Keyed { when, event, item, amount, conditions };
                let place = Some((source, self.next.saturating_add(u32::try_from(row).unwrap_or(u32::MAX))));
                let (book, _) = self.rows.sink().book();
                // One that the book refuses is told with its words by the way of all tables.
                if book.record_keyed(&entry, place).is_ok() {
                    continue;
                }
            }
            self.cells(run, row);
        }
    }
}

/// The times of a column, `None` for what only the way of all tables can tell.
fn times(column: Option<&ArrayRef>, dates: bool, rows: usize) -> Vec<Option<When>> {
    let Some(array) = column else {
        return vec![None; rows];
    };
    match array.data_type() {
        DataType::Timestamp(unit, zone) => {
            let nulls = array.nulls();
            let read = |(row, ticks): (usize, &i64)| {
                let is_null = nulls.is_some_and(|nulls| nulls.is_null(row));
                if is_null { None } else { timestamp(*ticks, *unit, zone.is_some(), dates) }
            };
            arrow_cells::ticks(array).unwrap_or(&[]).iter().enumerate().map(read).collect()
        }
        DataType::Date32 | DataType::Date64 => {
            (0..rows).map(|row| time(array, row, dates).and_then(Result::ok)).collect()
        }
        _ => (0..rows).map(|row| When::parse(text(array, row)?.trim()).ok()).collect(),
    }
}

/// The amounts of a column: `Some(None)` where there is none, `None` for what only the way of all tables
/// can tell.
fn amounts(column: Option<&ArrayRef>, rows: usize) -> Vec<Option<Option<Amount>>> {
    let Some(array) = column else {
        return vec![Some(None); rows];
    };
    let amount = |number: i64| {
        let in_range = number.unsigned_abs() < 1_000_000_000_000;
        in_range.then(|| Some(Amount::from_micros(number * 1_000_000)))
    };
    if let Some(numbers) = array.as_primitive_opt::<Int64Type>() {
        // The commonest type, without asking for each number what it is.
        return numbers.iter().map(|number| number.map_or(Some(None), amount)).collect();
    }
    let read = |row| {
        if array.is_null(row) {
            return Some(None);
        }
        let whole = match array.data_type() {
            DataType::Float64 => whole(array.as_primitive::<Float64Type>().value(row)),
            DataType::Null => return Some(None),
            _ => match integer(array, row)? {
                Integer::Signed(number) => Some(number),
                Integer::Unsigned(number) => i64::try_from(number).ok(),
            },
        };
        amount(whole?)
    };
    (0..rows).map(read).collect()
}

/// A binary fraction that is a whole number.
fn whole(number: f64) -> Option<i64> {
    const LIMIT: f64 = 1e12;
    #[expect(clippy::cast_possible_truncation, reason = "whole and within the range of the type")]
    (number.fract() == 0.0 && number.abs() < LIMIT).then_some(number as i64)
}

/// Keys of the names of a column: a name is looked up once for each entry of a dictionary, and not again
/// for a text that follows itself.
struct Lookup<K> {
    dictionary: Option<ArrayRef>,
    known: Vec<Option<Option<K>>>,
}

impl<K> Default for Lookup<K> {
    fn default() -> Self {
        Self { dictionary: None, known: Vec::new() }
    }
}

impl<K: Copy> Lookup<K> {
    /// The keys of a column; a null is an empty text, and so is a column that is not there. `None` for what
    /// only the way of all tables can tell.
    fn keys(
        &mut self,
        column: Option<&ArrayRef>,
        rows: usize,
        mut key: impl FnMut(&str) -> Option<K>,
    ) -> Vec<Option<K>> {
        let Some(array) = column else {
            return vec![key(""); rows];
        };
        if let Some(dictionary) = array.as_any_dictionary_opt() {
            let values = dictionary.values();
            if !arrow_cells::is_text(values.data_type()) {
                return vec![None; rows];
            }
            let empty = key("");
            if values.is_empty() {
                return vec![empty; rows];
            }
            if !self.dictionary.as_ref().is_some_and(|known| known.to_data().ptr_eq(&values.to_data())) {
                self.dictionary = Some(values.clone());
                self.known = vec![None; values.len()];
            }
            let numbers = dictionary.normalized_keys();
            let mut of = |(row, number): (usize, &usize)| {
                if array.is_null(row) {
                    return empty;
                }
                let known = self.known.get_mut(*number)?;
                *known.get_or_insert_with(|| key(text(values, *number).unwrap_or("")))
            };
            return numbers.iter().enumerate().map(&mut of).collect();
        }
        if array.data_type() == &DataType::Null {
            return vec![key(""); rows];
        }
        if !arrow_cells::is_text(array.data_type()) {
            return vec![None; rows];
        }
        let mut last: Option<(&str, Option<K>)> = None;
        let mut of = |row| {
            let text = text(array, row).unwrap_or("");
            match last {
                Some((same, known)) if same == text => known,
                _ => {
                    let known = key(text);
                    last = Some((text, known));
                    known
                }
            }
        };
        (0..rows).map(&mut of).collect()
    }
}
