//! Record batches of the Arrow format: frames of other libraries, without a copy.

use crate::arrow_cells::{cell, is_local, is_read, midnights, suits};
use crate::arrow_columns::{AmountColumn, NameColumn, NameKeys, WhenColumn, amounts, whens};
use crate::columns::Columns;
use crate::error::{ReadError, short};
use crate::field::{Field, Kind};
use crate::host_rows::HostRows;
use crate::limits::Limits;
use crate::row::Value;
use arrow_array::{Array, RecordBatch, RecordBatchReader};
use arrow_schema::DataType;
use kitlore_engine::columns::{EntryColumns, Lines};
use kitlore_engine::{Book, ConditionsKey, EventKey, ItemKey, Program, SourceKey};
use std::num::NonZeroUsize;

/// Rows that are held until they are recorded together.
const GROUP: usize = 1 << 21;

/// Reads the batches of a frame as an inventory or a log. Rows are numbered from 0 over all batches.
///
/// Times with a zone are instants, times without one are the house's clock times. Where every such time of a
/// column is a midnight it is a column of dates, as spreadsheets and frames without a type for dates write
/// them; batches are kept until a clock time shows that it is none.
///
/// Work is shared by `threads`; the answers are the same whatever their number.
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
    threads: NonZeroUsize,
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
    let is_used = |(column, data_type): (usize, &&DataType)| {
        is_read(data_type) && (kind == Kind::Items || rows.layout().is_field(column))
    };
    let mut frame = Frame {
        rooms: types.iter().enumerate().map(|column| is_used(column).then(String::new)).collect(),
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
        midnights: (0, 0),
        threads,
        next: 0,
        kind,
        rules,
        rows,
        keys: LogKeys::default(),
    };
    let mut held: Vec<RecordBatch> = Vec::new();
    for batch in batches {
        let batch = match batch {
            Ok(batch) => batch,
            Err(cause) => {
                frame.group(&held);
                return Err(ReadError::Batches { file: name.to_owned(), cause });
            }
        };
        for (number, column) in batch.columns().iter().enumerate() {
            frame.look_for_midnights(number, column);
        }
        held.push(batch);
        let count: usize = held.iter().map(RecordBatch::num_rows).sum();
        if count >= GROUP && !frame.dates.contains(&true) {
            frame.group(&held);
            held.clear();
        }
    }
    frame.group(&held);
    frame.tell_midnights(name);
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
    threads: NonZeroUsize,
    /// The columns of `when`, `event`, `item`, `amount` and `in`.
    fields: [Option<usize>; 5],
    /// The columns of the other fields: a row that has any of them is read cell by cell.
    others: Vec<usize>,
    /// By column: all its local times so far were midnights.
    dates: Vec<bool>,
    /// Of the times of the entries: how many are midnights, and how many are not.
    midnights: (usize, usize),
    /// By column that is read: where what its cells say is written.
    rooms: Vec<Option<String>>,
    /// The number of the next row.
    next: u32,
    keys: LogKeys,
}

/// The columns of some rows of a log.
struct LogColumns<'a> {
    when: WhenColumn<'a>,
    amount: AmountColumn<'a>,
    event: NameColumn<'a>,
    item: NameColumn<'a>,
    conditions: NameColumn<'a>,
    /// Rows that are read cell by cell, in order.
    odd: Vec<usize>,
}

/// The keys of their names.
#[derive(Default)]
struct LogKeys {
    event: NameKeys<EventKey>,
    item: NameKeys<ItemKey>,
    conditions: NameKeys<ConditionsKey>,
}

impl Frame<'_> {
    fn look_for_midnights(&mut self, number: usize, column: &dyn Array) {
        let is_when = self.kind == Kind::Log && self.fields.first() == Some(&Some(number));
        let Some(dates) = self.dates.get_mut(number).filter(|dates| **dates || is_when) else { return };
        let (midnight, clock) = midnights(column);
        *dates = *dates && clock == 0;
        if is_when {
            self.midnights = (self.midnights.0 + midnight, self.midnights.1 + clock);
        }
    }

    /// Reports midnights among clock times, which were probably meant as dates: a use on such a date is over when
    /// it begins.
    fn tell_midnights(&mut self, name: &str) {
        const MANY: usize = 10;
        let (midnight, clock) = self.midnights;
        if clock > 0 && midnight > 1 && midnight * MANY >= midnight + clock {
            let message = format!(
                "{midnight} of the {} times of `{name}` are at 00:00, and are read as clock times because the others have one; give what is a date as a date, in a column of texts or objects",
                midnight + clock
            );
            self.rows.sink().doubtful_column(message, "midnights", None);
        }
    }

    fn group(&mut self, batches: &[RecordBatch]) {
        match self.kind {
            Kind::Items => {
                for batch in batches {
                    (0..batch.num_rows()).for_each(|row| self.cells(batch, self.number(row), row));
                    self.pass(batch);
                }
            }
            Kind::Log => self.entries(batches),
        }
    }

    fn pass(&mut self, batch: &RecordBatch) {
        self.next = self.number(batch.num_rows());
    }

    fn number(&self, row: usize) -> u32 {
        self.next.saturating_add(u32::try_from(row).unwrap_or(u32::MAX))
    }

    /// Reads a row cell by cell, the way of all tables.
    fn cells(&mut self, batch: &RecordBatch, number: u32, row: usize) {
        let cells: Vec<Value<'_>> = batch
            .columns()
            .iter()
            .zip(&mut self.rooms)
            .zip(&self.dates)
            .map(|((array, room), dates)| match room {
                Some(room) => cell(array, row, *dates, &self.rules, room),
                None => Value::Absent,
            })
            .collect();
        self.rows.row(number, &cells);
    }

    /// Reads rows of a log: column by column what most entries have, cell by cell any other row.
    fn entries(&mut self, batches: &[RecordBatch]) {
        // Large batches are cut so that every thread has its share.
        let count: usize = batches.iter().map(RecordBatch::num_rows).sum();
        let share = count.div_ceil(self.threads.get()).max(SHARE);
        let mut parts: Vec<(RecordBatch, u32)> = Vec::new();
        for batch in batches {
            for start in (0..batch.num_rows()).step_by(share) {
                let length = share.min(batch.num_rows() - start);
                parts.push((batch.slice(start, length), self.number(start)));
            }
            self.pass(batch);
        }
        let columns = self.columns(&parts);
        let (_, source) = self.rows.sink().book();
        let mut keys = std::mem::take(&mut self.keys);
        let (book, _) = self.rows.sink().book();
        let found: Vec<[usize; 3]> = columns.iter().map(|columns| keys.look_up(columns, book)).collect();
        let mut run = Run { pieces: Vec::new(), starts: Vec::new() };
        for (number, ((columns, found), (part, first))) in columns.iter().zip(found).zip(&parts).enumerate() {
            let whole = columns.with_keys(&keys, found, (source, *first));
            let mut from = 0;
            for &row in &columns.odd {
                run.add(&whole, number, from..row);
                self.record(&mut run, &parts);
                self.cells(part, first.saturating_add(u32::try_from(row).unwrap_or(u32::MAX)), row);
                from = row + 1;
            }
            run.add(&whole, number, from..part.num_rows());
        }
        self.record(&mut run, &parts);
        keys.forget_all_but_last();
        self.keys = keys;
    }

    /// Records a run of plain rows; one that the book refuses is told with its words by the way of all tables.
    fn record(&mut self, run: &mut Run<'_>, parts: &[(RecordBatch, u32)]) {
        let (book, _) = self.rows.sink().book();
        let refused = book.record_columns(&run.pieces, self.threads);
        for refused in refused {
            let Some((number, start)) = run.starts.get(refused.piece) else { continue };
            let Some((part, first)) = parts.get(*number) else { continue };
            let row = start + refused.row;
            self.cells(part, first.saturating_add(u32::try_from(row).unwrap_or(u32::MAX)), row);
        }
        run.pieces.clear();
        run.starts.clear();
    }

    /// Reads the columns of all parts.
    fn columns<'a>(&self, parts: &'a [(RecordBatch, u32)]) -> Vec<LogColumns<'a>> {
        let when = self.fields.first().copied().flatten();
        let dates = when.and_then(|at| self.dates.get(at)).copied().unwrap_or(false);
        let (fields, others, keys) = (&self.fields, &self.others, &self.keys);
        let read = |(part, _): &'a (RecordBatch, u32)| LogColumns::read(part, fields, others, dates, keys);
        if self.threads == NonZeroUsize::MIN || parts.len() < 2 {
            return parts.iter().map(read).collect();
        }
        let share = parts.len().div_ceil(self.threads.get());
        std::thread::scope(|scope| {
            let running: Vec<_> = parts
                .chunks(share)
                .map(|parts| scope.spawn(move || parts.iter().map(read).collect::<Vec<_>>()))
                .collect();
            let join = |thread: std::thread::ScopedJoinHandle<'_, Vec<LogColumns<'a>>>| match thread.join() {
                Ok(columns) => columns,
                Err(panic) => std::panic::resume_unwind(panic),
            };
            running.into_iter().flat_map(join).collect()
        })
    }
}

impl LogKeys {
    /// Looks up the names of some columns, in the order they occur; gives where the keys of each are.
    fn look_up(&mut self, columns: &LogColumns<'_>, book: &mut Book) -> [usize; 3] {
        [
            self.event.look_up(&columns.event, |text| match text.trim() {
                "" => None,
                text => Some(book.event_key(text)),
            }),
            self.item.look_up(&columns.item, |text| Some(book.item_key(text))),
            self.conditions.look_up(&columns.conditions, |text| Some(book.conditions_key(text))),
        ]
    }

    fn forget_all_but_last(&mut self) {
        self.event.forget_all_but_last();
        self.item.forget_all_but_last();
        self.conditions.forget_all_but_last();
    }
}

/// Fewer rows are not worth a part of their own.
const SHARE: usize = 1 << 14;

/// Pieces that are recorded together, and of each the part it is of and its first row there.
struct Run<'a> {
    pieces: Vec<EntryColumns<'a>>,
    starts: Vec<(usize, usize)>,
}

impl<'a> Run<'a> {
    fn add(&mut self, whole: &EntryColumns<'a>, part: usize, rows: std::ops::Range<usize>) {
        if !rows.is_empty() {
            self.starts.push((part, rows.start));
            self.pieces.push(whole.rows(rows));
        }
    }
}

impl<'a> LogColumns<'a> {
    fn read(
        part: &'a RecordBatch,
        fields: &[Option<usize>; 5],
        others: &[usize],
        dates: bool,
        keys: &LogKeys,
    ) -> Self {
        let [when, event, item, amount, conditions] =
            fields.map(|at| at.and_then(|at| part.columns().get(at)));
        let rows = part.num_rows();
        let mut odd = Vec::new();
        for array in others.iter().filter_map(|at| part.columns().get(*at)) {
            if array.logical_null_count() < array.len() {
                odd.extend((0..rows).filter(|row| array.is_valid(*row)));
            }
        }
        let columns = Self {
            when: whens(when, dates, rows, &mut odd),
            amount: amounts(amount, rows, &mut odd),
            event: NameColumn::of(event, &keys.event, rows, &mut odd),
            item: NameColumn::of(item, &keys.item, rows, &mut odd),
            conditions: NameColumn::of(conditions, &keys.conditions, rows, &mut odd),
            odd: Vec::new(),
        };
        odd.sort_unstable();
        odd.dedup();
        Self { odd, ..columns }
    }

    fn with_keys<'k>(
        &'k self,
        keys: &'k LogKeys,
        [event, item, conditions]: [usize; 3],
        (source, first): (SourceKey, u32),
    ) -> EntryColumns<'k> {
        EntryColumns {
            when: self.when.times(),
            event: self.event.keys(keys.event.get(event)),
            item: self.item.keys(keys.item.get(item)),
            amount: self.amount.amounts(),
            conditions: self.conditions.keys(keys.conditions.get(conditions)),
            place: Some((source, Lines::From(first))),
        }
    }
}
