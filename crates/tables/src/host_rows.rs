//! Rows that a host brings: tables in its own memory, such as lists of objects.

use crate::batch::{Row, Sink, Value, unknown_heading};
use crate::error::ReadError;
use crate::limits::Limits;
use crate::mapping::{Columns, Field, Headings, Kind, Layout};
use kitlore_engine::Book;

/// An inventory or a log whose rows a host brings one by one.
///
/// Rows carry the numbers that the host gives, so that a problem leads back to its own data.
///
/// ```
/// use kitlore_engine::{Book, Program};
/// use kitlore_tables::{Columns, HostRows, Kind, Limits, Value};
///
/// let rules = Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
/// let mut book = Book::new(&rules);
/// let mut items = HostRows::new(&mut book, Kind::Items, "items", &["id", "kind"], &Columns::new(), &Limits::default())?;
/// items.row(0, &[Value::Text("C1"), Value::Text("camera")]);
/// items.finish();
/// assert_eq!(book.items().count(), 1);
/// # Ok::<(), kitlore_tables::ReadError>(())
/// ```
pub struct HostRows<'b> {
    sink: Sink<'b>,
    layout: Layout,
    kind: Kind,
}

impl std::fmt::Debug for HostRows<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("HostRows")
            .field("kind", &self.kind)
            .field("layout", &self.layout)
            .finish_non_exhaustive()
    }
}

impl<'b> HostRows<'b> {
    /// A table of this name with these headings.
    ///
    /// # Errors
    /// The headings lack a field that every row needs, name one twice, or lack one that is mapped.
    pub fn new(
        book: &'b mut Book,
        kind: Kind,
        name: &str,
        headings: &[&str],
        columns: &Columns,
        limits: &Limits,
    ) -> Result<Self, ReadError> {
        if headings.len() > limits.columns {
            return Err(ReadError::too_many_columns(name, headings.len(), limits));
        }
        let layout = Headings { file: name, kind, columns }.layout(headings, 0)?;
        let mut sink = Sink::new(book, name, limits.problems).of_rows();
        for doubt in &layout.doubts {
            sink.column_problem(unknown_heading(doubt, kind, Some(name)));
        }
        Ok(Self { sink, layout, kind })
    }

    /// Reads one row, its cells in the order of the headings.
    pub fn row(&mut self, number: u32, cells: &[Value<'_>]) {
        let row = HostRow { layout: &self.layout, cells };
        let number = u64::from(number);
        let empty = |cell: &Value<'_>| matches!(cell, Value::Absent | Value::Text(""));
        if cells.iter().all(empty) {
            return;
        }
        for column in &self.layout.nameless {
            if let Some(Value::Text(text) | Value::Number(text) | Value::Time(_, text)) = cells.get(*column)
                && self.kind == Kind::Items
            {
                self.sink.no_heading(number, *column, text);
            }
        }
        match self.kind {
            Kind::Items => self.sink.item(&row, number),
            Kind::Log => self.sink.entry(&row, number),
        }
    }

    /// Ends the table.
    pub fn finish(self) {
        self.sink.finish();
    }

    #[cfg(feature = "arrow")]
    pub(crate) fn layout(&self) -> &Layout {
        &self.layout
    }

    #[cfg(feature = "arrow")]
    pub(crate) fn sink(&mut self) -> &mut Sink<'b> {
        &mut self.sink
    }
}

/// Which columns of a frame are read: a host need not hand over the others. Columns whose headings are
/// close to a field's are among them, so that they are reported.
///
/// # Errors
/// As [`HostRows::new`].
pub fn wanted_columns(
    kind: Kind,
    name: &str,
    headings: &[&str],
    columns: &Columns,
) -> Result<Vec<bool>, ReadError> {
    let layout = Headings { file: name, kind, columns }.layout(headings, 0)?;
    let is_field = |column| kind.fields().iter().any(|field| layout.position(*field) == Some(column));
    let is_doubtful = |heading: &str| layout.doubts.iter().any(|doubt| doubt.heading == heading.trim());
    let wanted =
        |(column, heading): (usize, &&str)| kind == Kind::Items || is_field(column) || is_doubtful(heading);
    Ok(headings.iter().enumerate().map(wanted).collect())
}

pub(crate) struct HostRow<'a> {
    pub layout: &'a Layout,
    pub cells: &'a [Value<'a>],
}

impl Row for HostRow<'_> {
    fn get(&self, field: Field) -> Value<'_> {
        let value = self.layout.position(field).map_or(Value::Absent, |column| cell(self.cells, column));
        if matches!(field, Field::Amount | Field::Reading) { value } else { or_missing(value) }
    }

    fn attributes(&self, each: &mut dyn FnMut(&str, Value<'_>)) {
        for (column, heading) in &self.layout.others {
            each(heading, or_missing(cell(self.cells, *column)));
        }
    }
}

/// A cell with its text trimmed; an empty one is absent.
fn cell<'a>(cells: &[Value<'a>], column: usize) -> Value<'a> {
    match cells.get(column).copied().unwrap_or(Value::Absent) {
        Value::Text(text) => match text.trim() {
            "" => Value::Absent,
            text => Value::Text(text),
        },
        value => value,
    }
}

/// Frames have numbers that are none for what is missing; where a number is wanted that is reported instead.
fn or_missing(value: Value<'_>) -> Value<'_> {
    if value == Value::Number("NaN") { Value::Absent } else { value }
}
