//! Puts rows of one source into a book and reports what cannot be used.

use super::builder::Rows;
use super::points::Points;
use super::problems::{bad_value, unknown_heading};
use super::time_help::{TimeHelp, time_help};
use super::value::{Row, Value};
use crate::codes::Code;
use crate::error::{narrow, short};
use crate::mapping::{Field, Kind, Layout};
use chrono::NaiveDate;
use kitlore_engine::batch::Batch;
use kitlore_engine::codes::Code as EngineCode;
use kitlore_engine::{Argument, Book, Item, Place, Problem, SourceKey};
use kitlore_syntax::When;
use std::num::NonZeroUsize;
use std::sync::Arc;

/// Puts rows of one source into a book and reports what cannot be used, within bounds.
pub(crate) struct Sink<'b> {
    book: &'b mut Book,
    source: SourceKey,
    name: Arc<str>,
    /// How many more problems are reported one by one.
    left: usize,
    /// `line`, or `row` of a frame.
    counted_in: &'static str,
    /// How many more there were, and the first and last of their lines.
    unlisted: Option<(u64, u32, u32)>,
    /// Rows of a log that wait to be recorded together.
    waiting: Rows,
    points: Points,
}

impl<'b> Sink<'b> {
    pub fn new(book: &'b mut Book, name: &str, problems: usize) -> Self {
        let source = book.source(name);
        let (name, waiting) = (name.into(), Rows::default());
        Self {
            book,
            source,
            name,
            left: problems,
            counted_in: "line",
            unlisted: None,
            waiting,
            points: Points::default(),
        }
    }

    /// The same for a frame, which has rows and no lines.
    pub fn of_rows(self) -> Self {
        Self { counted_in: "row", ..self }
    }

    /// The book that is filled.
    pub fn book(&self) -> &Book {
        self.book
    }

    /// The book that is filled, and the source its entries are from.
    #[cfg(feature = "arrow")]
    pub fn book_mut(&mut self) -> (&mut Book, SourceKey) {
        (self.book, self.source)
    }

    /// Reports a problem of a line.
    pub fn problem(&mut self, line: u64, problem: Problem) {
        let place = Place::new(Arc::clone(&self.name), narrow(line));
        self.report(narrow(line), problem.at(Some(place)));
    }

    /// Reports a problem of a column of a frame.
    pub fn column_problem(&mut self, problem: Problem) {
        self.book.report(problem);
    }

    /// Reports the headings of a table that are probably mistyped fields.
    pub fn doubtful_headings(&mut self, layout: &Layout, kind: Kind, line: u64) {
        for doubt in &layout.doubts {
            self.problem(line, unknown_heading(doubt, kind, None));
        }
    }

    /// Reports a column of an inventory that has a value and no heading.
    pub fn no_heading(&mut self, line: u64, column: usize, value: &str) {
        let sentence = "column {column} has no heading, so that `{value}` and what stands below it is not read; give the column a heading";
        let problem = Problem::new(Code::NoHeading, sentence).with("column", column + 1);
        self.problem(line, problem.with("value", short(value)));
    }

    /// Reports a problem of a line as it is, while few were.
    pub fn report(&mut self, line: u32, problem: Problem) {
        if !self.waiting.is_empty() {
            self.waiting.problems.push((line, problem));
        } else if let Some(left) = self.left.checked_sub(1) {
            self.left = left;
            self.book.report(problem);
        } else {
            self.unlisted = Some(match self.unlisted {
                None => (1, line, line),
                Some((count, first, _)) => (count + 1, first, line),
            });
        }
    }

    /// Records what waits, and says how many problems are not listed.
    pub fn finish(mut self) {
        self.record_waiting();
        for (line, problem) in std::mem::take(&mut self.points).problems() {
            self.problem(line.into(), problem);
        }
        if let Some((count, first, last)) = self.unlisted {
            let sentence = "{count} more problems in {unit}s {first} to {last} are not listed; mend the ones above first";
            let problem = Problem::new(Code::MoreProblems, sentence).with("count", count);
            let problem = problem.with("unit", Argument::Words(self.counted_in.into()));
            let problem = problem.with("first", u64::from(first)).with("last", u64::from(last));
            self.book.report(problem.at(Some(Place::new(self.name, first))));
        }
    }

    /// Takes a row of a log; it is recorded with others, in order.
    pub fn entry(&mut self, row: &impl Row, line: u64) {
        /// So many rows are recorded together.
        const TOGETHER: usize = 1 << 13;
        self.waiting.push(row, line, self.book);
        if self.waiting.len() >= TOGETHER {
            self.record_waiting();
        }
    }

    fn record_waiting(&mut self) {
        let rows = std::mem::take(&mut self.waiting);
        if !rows.is_empty() {
            self.record(vec![rows], NonZeroUsize::MIN);
        }
    }

    /// Adds the names of rows that the book has not met.
    pub fn settle(&mut self, rows: &mut Rows) {
        rows.settle(self.book);
    }

    /// Records rows, one block after the other, and reports their problems in order.
    pub fn record(&mut self, mut blocks: Vec<Rows>, threads: NonZeroUsize) {
        for rows in &mut blocks {
            rows.settle(self.book);
            self.points.append(rows.take_points());
        }
        let views: Vec<_> = blocks.iter().map(Rows::view).collect();
        let each = blocks.iter().zip(&views);
        let batches: Vec<Batch<'_>> = each.map(|(rows, view)| rows.batch(view, self.source)).collect();
        let mut refused = self.book.record_batches(&batches, threads).into_iter().peekable();
        drop(batches);
        drop(views);
        for (number, rows) in blocks.into_iter().enumerate() {
            let place = |line| Some(Place::new(Arc::clone(&self.name), line));
            let mut problems: Vec<(u32, Problem)> = Vec::new();
            while let Some(refused) = refused.next_if(|refused| refused.batch == number) {
                let mut problem = refused.problem;
                if let Some(row) = rows.odd(refused.row) {
                    problem = with_time_help(problem, row);
                }
                problems.push((rows.line(refused.row), problem));
            }
            // What a row is doubted for stands before why it is refused.
            let doubts = rows.problems.into_iter();
            let doubts = doubts.map(|(line, problem)| match problem.place {
                Some(_) => (line, problem),
                None => (line, problem.at(place(line))),
            });
            let mut all: Vec<(u32, Problem)> = doubts.chain(problems).collect();
            all.sort_by_key(|(line, _)| *line);
            all.into_iter().for_each(|(line, problem)| self.report(line, problem));
        }
    }

    /// Adds a row of an inventory.
    pub fn item(&mut self, row: &impl Row, line: u64) {
        for (field, code) in [(Field::Id, EngineCode::MissingId), (Field::Kind, EngineCode::MissingKind)] {
            let value = row.get(field);
            if let Value::Fault(what) = value {
                let problem = bad_value("`{field}` {what}; the item is left out", field.name(), what);
                return self.problem(line, problem);
            }
            if value.text().is_empty() {
                let sentence = "this row has no `{field}` and is left out; write its {field}";
                let name = Argument::Words(field.name().into());
                return self.problem(line, Problem::new(code, sentence).with("field", name));
            }
        }
        let mut item = Item::new(row.get(Field::Id).text(), row.get(Field::Kind).text())
            .at(Place::new(Arc::clone(&self.name), narrow(line)));
        // What an item has to do without is reported only of one that is taken at all.
        let mut without = Vec::new();
        item.received = date(row, Field::Received, &mut without);
        item.in_service = date(row, Field::InService, &mut without);
        item.retired = date(row, Field::Retired, &mut without);
        item.kits =
            Some(row.get(Field::Kit).text().to_owned()).into_iter().filter(|kits| !kits.is_empty()).collect();
        item.model = Some(row.get(Field::Model).text().to_owned()).filter(|model| !model.is_empty());
        for field in [Field::Kit, Field::Model] {
            if let Value::Fault(what) = row.get(field) {
                without.push(bad_value(LEFT_OUT, field.name(), what));
            }
        }
        row.attributes(&mut |heading, value| match value {
            Value::Absent => {}
            Value::Fault(what) => {
                without.push(bad_value(LEFT_OUT, &short(heading), what));
            }
            Value::Text(text) | Value::Number(text) | Value::Time(_, text) => {
                item.attributes.push((heading.to_owned(), text.to_owned()));
            }
        });
        match self.book.add_item(item) {
            Ok(()) => {
                self.points.look(row, Kind::Items, line);
                without.into_iter().for_each(|problem| self.problem(line, problem));
            }
            Err(problem) => self.report(narrow(line), problem),
        }
    }
}

/// What is said of a cell of an item that is used without it.
const LEFT_OUT: &str = "`{field}` {what} and is left out";

/// A date of an item; for one that cannot be read a problem is added, and the item does without.
fn date(row: &impl Row, field: Field, without: &mut Vec<Problem>) -> Option<NaiveDate> {
    let value = row.get(field);
    read_date(&value, field).unwrap_or_else(|problem| {
        without.push(add_help(problem, &value).then("the item is taken without it"));
        None
    })
}

/// Adds to a time that cannot be read how it is written.
pub(crate) fn with_time_help(problem: Problem, row: &impl Row) -> Problem {
    if !problem.is(EngineCode::BadTime) {
        return problem;
    }
    let when = row.get(Field::When);
    // The first that is wrong is the one that was reported.
    let is_when = when == Value::Absent || read_date(&when, Field::When).is_err();
    add_help(problem, &if is_when { when } else { row.get(Field::Until) })
}

fn add_help(problem: Problem, value: &Value<'_>) -> Problem {
    match time_help(value) {
        None => problem,
        Some(TimeHelp { sentence, day: None }) => problem.then(sentence),
        Some(TimeHelp { sentence, day: Some(day) }) => problem.then(sentence).with("day", day.to_string()),
    }
}

/// The date of a value, or what is wrong with it. A clock time is left out.
fn read_date(value: &Value<'_>, field: Field) -> Result<Option<NaiveDate>, Problem> {
    let (when, text) = match value {
        Value::Absent => return Ok(None),
        Value::Fault(what) => return Err(bad_value("`{field}` {what}", field.name(), what)),
        Value::Time(when, text) => (Ok(*when), *text),
        Value::Text(text) | Value::Number(text) => (When::parse(text), *text),
    };
    match when {
        Ok(When::Date(date)) => Ok(Some(date)),
        Ok(When::Local(at)) => Ok(Some(at.date())),
        Ok(When::Instant(at)) => Ok(Some(at.naive_local().date())),
        Err(error) => Err(Problem::unreadable(EngineCode::BadTime, field.name(), &short(text), error)),
    }
}
