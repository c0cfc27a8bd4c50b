//! Puts rows of one source into a book and reports what cannot be used.

use super::builder::Rows;
use super::time_help::time_help;
use super::value::{Row, Value};
use crate::codes::Code;
use crate::error::{narrow, short};
use crate::mapping::{Field, Kind, Layout};
use chrono::NaiveDate;
use kitlore_engine::batch::Batch;
use kitlore_engine::codes::Code as EngineCode;
use kitlore_engine::{Book, Item, Place, Problem, SourceKey};
use kitlore_syntax::When;
use std::borrow::Cow;
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
}

impl<'b> Sink<'b> {
    pub fn new(book: &'b mut Book, name: &str, problems: usize) -> Self {
        let source = book.source(name);
        let (name, waiting) = (name.into(), Rows::default());
        Self { book, source, name, left: problems, counted_in: "line", unlisted: None, waiting }
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
    pub fn problem(&mut self, line: u64, code: impl Into<Cow<'static, str>>, message: impl Into<String>) {
        let place = Place::new(Arc::clone(&self.name), narrow(line));
        self.report(narrow(line), Problem::new(code, message).at(Some(place)));
    }

    /// Reports a problem of a line that has no place yet.
    pub fn report_at(&mut self, line: u32, problem: Problem) {
        let place = Place::new(Arc::clone(&self.name), line);
        self.report(line, problem.at(Some(place)));
    }

    /// Reports a heading that is probably a mistyped field.
    pub fn doubtful_heading(&mut self, line: u64, heading: &str, meant: &'static str, kind: Kind) {
        let message = format!("the column `{}` is {}", short(heading), kind.use_of_others());
        let place = Place::new(Arc::clone(&self.name), narrow(line));
        let problem = Problem::new(Code::UnknownHeading, message).at(Some(place)).meant(Some(meant));
        self.report(narrow(line), problem);
    }

    /// Reports a column of a frame that is not read, or read as something else than was probably meant.
    pub fn doubtful_column(&mut self, message: String, code: Code, meant: Option<&'static str>) {
        self.book.report(Problem::new(code, message).meant(meant));
    }

    /// Reports the headings of a table that are probably mistyped fields.
    pub fn doubtful_headings(&mut self, layout: &Layout, kind: Kind, line: u64) {
        for (heading, meant) in &layout.doubts {
            self.doubtful_heading(line, heading, meant, kind);
        }
    }

    /// Reports a column of an inventory that has a value and no heading.
    pub fn no_heading(&mut self, line: u64, column: usize, value: &str) {
        let message = format!(
            "column {} has no heading, so that `{}` and what stands below it is not read; give the column a heading",
            column + 1,
            short(value)
        );
        self.problem(line, Code::NoHeading, message);
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
        if let Some((count, first, last)) = self.unlisted {
            let message = format!(
                "{count} more problems in {}s {first} to {last} are not listed; mend the ones above first",
                self.counted_in
            );
            let place = Place::new(self.name, first);
            self.book.report(Problem::new(Code::MoreProblems, message).at(Some(place)));
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
                    add_time_help(&mut problem, row);
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
                return self.problem(
                    line,
                    Code::BadValue,
                    format!("`{}` {what}; the item is left out", field.name()),
                );
            }
            if value.text().is_empty() {
                let message = format!("this row has no `{0}` and is left out; write its {0}", field.name());
                return self.problem(line, code, message);
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
                without.push((Code::BadValue.into(), format!("`{}` {what} and is left out", field.name())));
            }
        }
        row.attributes(&mut |heading, value| match value {
            Value::Absent => {}
            Value::Fault(what) => {
                without.push((Code::BadValue.into(), format!("`{}` {what} and is left out", short(heading))));
            }
            Value::Text(text) | Value::Number(text) | Value::Time(_, text) => {
                item.attributes.push((heading.to_owned(), text.to_owned()));
            }
        });
        match self.book.add_item(item) {
            Ok(()) => without.into_iter().for_each(|(code, message)| self.problem(line, code, message)),
            Err(problem) => self.report(narrow(line), problem),
        }
    }
}

/// A date of an item; for one that cannot be read a code and a message are added, and the item does without.
fn date(row: &impl Row, field: Field, without: &mut Vec<(Cow<'static, str>, String)>) -> Option<NaiveDate> {
    let value = row.get(field);
    let name = field.name();
    match read_date(&value) {
        Ok(date) => date,
        Err(what) => {
            let help = time_help(&value).map_or_else(String::new, |help| format!("; {help}"));
            let code = match value {
                Value::Fault(_) => Code::BadValue.into(),
                _ => EngineCode::BadTime.into(),
            };
            without.push((code, format!("`{name}` {what}{help}; the item is taken without it")));
            None
        }
    }
}

/// Adds to a time that cannot be read how it is written.
pub(crate) fn add_time_help(problem: &mut Problem, row: &impl Row) {
    if problem.code != EngineCode::BadTime.word() {
        return;
    }
    let [when, until] = [Field::When, Field::Until].map(|field| row.get(field));
    // The first that is wrong is the one that was reported.
    let wrong = if when == Value::Absent || read_date(&when).is_err() { when } else { until };
    if let Some(help) = time_help(&wrong) {
        problem.message.push_str("; ");
        problem.message.push_str(&help);
    }
}

/// The date of a value, or what is wrong with it. A clock time is left out.
fn read_date(value: &Value<'_>) -> Result<Option<NaiveDate>, String> {
    let (when, text) = match value {
        Value::Absent => return Ok(None),
        Value::Fault(what) => return Err((*what).to_owned()),
        Value::Time(when, text) => (Ok(*when), *text),
        Value::Text(text) | Value::Number(text) => (When::parse(text), *text),
    };
    match when {
        Ok(When::Date(date)) => Ok(Some(date)),
        Ok(When::Local(at)) => Ok(Some(at.date())),
        Ok(When::Instant(at)) => Ok(Some(at.naive_local().date())),
        Err(error) => Err(format!("`{}` {error}", short(text))),
    }
}
