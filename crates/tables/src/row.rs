//! From one row of any table to an item or an entry of the book.

use crate::error::{narrow, short};
use crate::field::{Field, Kind};
use crate::layout::Layout;
use crate::time_help::time_help;
use chrono::NaiveDate;
use kitlore_engine::{Book, Fields, Item, Number, Place, Problem, SourceKey, Time};
use kitlore_syntax::{Amount, When, key};
use std::sync::Arc;

/// The value of one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Value<'a> {
    /// Nothing.
    Absent,
    /// Text, trimmed.
    Text(&'a str),
    /// A number that the table stores as one, as text.
    Number(&'a str),
    /// A time that the table stores as one, and its text.
    Time(When, &'a str),
    /// Something that cannot be used; says what it is, as in "is an error".
    Fault(&'a str),
}

/// One row of any table.
pub(crate) trait Row {
    /// The value of a field; absent where the table has no such column.
    fn get(&self, field: Field) -> Value<'_>;
    /// Calls `each` with the heading and the value of every column that is no field.
    fn attributes(&self, each: &mut dyn FnMut(&str, Value<'_>));
}

impl Value<'_> {
    /// Its text; empty for an absent one.
    fn text(&self) -> &str {
        match self {
            Value::Text(text) | Value::Number(text) | Value::Time(_, text) => text,
            Value::Absent | Value::Fault(_) => "",
        }
    }
}

/// Puts rows of one source into a book and reports what cannot be used, within bounds.
pub(crate) struct Sink<'b> {
    book: &'b mut Book,
    source: SourceKey,
    name: Arc<str>,
    room: usize,
    /// `line`, or `row` of a frame.
    counted_in: &'static str,
    /// How many problems found no room, and the first and last of their lines.
    unsaid: Option<(u64, u32, u32)>,
}

impl<'b> Sink<'b> {
    pub fn new(book: &'b mut Book, name: &str, room: usize) -> Self {
        let source = book.source(name);
        Self { book, source, name: name.into(), room, counted_in: "line", unsaid: None }
    }

    /// The same for a frame, which has rows and no lines.
    pub fn of_rows(self) -> Self {
        Self { counted_in: "row", ..self }
    }

    /// The book that is filled, and the source its entries are from.
    #[cfg(any(feature = "arrow", feature = "csv"))]
    pub fn book(&mut self) -> (&mut Book, SourceKey) {
        (self.book, self.source)
    }

    /// Reports a problem of a line.
    pub fn problem(&mut self, line: u64, code: &'static str, message: impl Into<String>) {
        let place = Place::new(Arc::clone(&self.name), narrow(line));
        self.report(narrow(line), Problem::new(code, message).at(Some(place)));
    }

    /// Reports a heading that is probably a mistyped field.
    pub fn doubtful_heading(&mut self, line: u64, heading: &str, meant: &'static str, kind: Kind) {
        let message = format!("the column `{}` is {}", short(heading), kind.use_of_others());
        let place = Place::new(Arc::clone(&self.name), narrow(line));
        let problem = Problem::new("unknown-heading", message).at(Some(place)).meant(Some(meant));
        self.report(narrow(line), problem);
    }

    /// Reports a column of a frame that is not read, or read as something else than was probably meant.
    pub fn doubtful_column(&mut self, message: String, code: &'static str, meant: Option<&'static str>) {
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
        self.problem(line, "no-heading", message);
    }

    /// Reports a problem of a line as it is, while there is room.
    pub fn report(&mut self, line: u32, problem: Problem) {
        if let Some(room) = self.room.checked_sub(1) {
            self.room = room;
            self.book.report(problem);
            return;
        }
        self.unsaid = Some(match self.unsaid {
            None => (1, line, line),
            Some((count, first, _)) => (count + 1, first, line),
        });
    }

    /// Says how many problems were not said one by one.
    pub fn finish(self) {
        if let Some((count, first, last)) = self.unsaid {
            let message = format!(
                "{count} more problems in {}s {first} to {last} are not listed; mend the ones above first",
                self.counted_in
            );
            let place = Place::new(self.name, first);
            self.book.report(Problem::new("more-problems", message).at(Some(place)));
        }
    }

    /// Records a row of a log.
    pub fn entry(&mut self, row: &impl Row, line: u64) {
        let text = |field| match row.get(field) {
            Value::Text(text) | Value::Number(text) | Value::Time(_, text) => text,
            Value::Absent | Value::Fault(_) => "",
        };
        let fields = Fields {
            when: time(row.get(Field::When)),
            until: time(row.get(Field::Until)),
            event: text(Field::Event),
            item: text(Field::Item),
            amount: number(row.get(Field::Amount)),
            reading: number(row.get(Field::Reading)),
            unit: text(Field::Unit),
            conditions: text(Field::In),
            found: text(Field::Found),
            reference: text(Field::Ref),
            id: text(Field::Id),
            by: text(Field::By),
            note: text(Field::Note),
            expect: text(Field::Expect),
        };
        self.doubt_percent(row, line);
        let place = Some((self.source, narrow(line)));
        if let Err(mut problem) = self.book.record_fields(&fields, place) {
            if problem.code == "bad-time" {
                let [when, until] = [Field::When, Field::Until].map(|field| row.get(field));
                // The first that is wrong is the one that was told.
                let told = if when == Value::Absent || read_date(&when).is_err() { when } else { until };
                if let Some(help) = time_help(&told) {
                    problem.message.push_str("; ");
                    problem.message.push_str(&help);
                }
            }
            self.report(narrow(line), problem);
        }
    }

    /// A cell that a spreadsheet shows as 80 % holds 0.8, and a reading of 0.8 percent is hardly meant.
    fn doubt_percent(&mut self, row: &impl Row, line: u64) {
        let Value::Number(reading) = row.get(Field::Reading) else { return };
        let in_percent = matches!(key(row.get(Field::Unit).text()).as_str(), "percent" | "%");
        if in_percent
            && reading.parse().is_ok_and(|share: Amount| share > Amount::ZERO && share <= Amount::ONE)
        {
            let message = format!(
                "this reading is {reading} percent; where the sheet shows a share such as 80 %, write the plain number 80"
            );
            self.problem(line, "percent-cell", message);
        }
    }

    /// Reports the cells of a log row that cannot be used; whether the row as a whole cannot, as with any
    /// but `by` and `note`.
    pub fn fault(&mut self, row: &impl Row, line: u64) -> bool {
        let mut spoiled = false;
        for field in Kind::Log.fields() {
            if let Value::Fault(what) = row.get(*field) {
                let remark = matches!(field, Field::By | Field::Note);
                let then = if remark { "the entry is taken without it" } else { "the entry is left out" };
                spoiled |= !remark;
                self.problem(line, "bad-value", format!("`{}` {what}; {then}", field.name()));
            }
        }
        spoiled
    }

    /// Adds a row of an inventory.
    pub fn item(&mut self, row: &impl Row, line: u64) {
        for (field, code) in [(Field::Id, "missing-id"), (Field::Kind, "missing-kind")] {
            let value = row.get(field);
            if let Value::Fault(what) = value {
                return self.problem(
                    line,
                    "bad-value",
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
        // What an item has to do without is told only of one that is taken at all.
        let mut without = Vec::new();
        item.received = date(row, Field::Received, &mut without);
        item.in_service = date(row, Field::InService, &mut without);
        item.retired = date(row, Field::Retired, &mut without);
        item.kits = row
            .get(Field::Kit)
            .text()
            .split(';')
            .map(str::trim)
            .filter(|kit| !kit.is_empty())
            .map(str::to_owned)
            .collect();
        item.model = Some(row.get(Field::Model).text().to_owned()).filter(|model| !model.is_empty());
        for field in [Field::Kit, Field::Model] {
            if let Value::Fault(what) = row.get(field) {
                without.push(("bad-value", format!("`{}` {what} and is left out", field.name())));
            }
        }
        row.attributes(&mut |heading, value| match value {
            Value::Absent => {}
            Value::Fault(what) => {
                without.push(("bad-value", format!("`{}` {what} and is left out", short(heading))));
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
fn date(row: &impl Row, field: Field, without: &mut Vec<(&'static str, String)>) -> Option<NaiveDate> {
    let value = row.get(field);
    let name = field.name();
    match read_date(&value) {
        Ok(date) => date,
        Err(what) => {
            let help = time_help(&value).map_or_else(String::new, |help| format!("; {help}"));
            let code = if matches!(value, Value::Fault(_)) { "bad-value" } else { "bad-time" };
            without.push((code, format!("`{name}` {what}{help}; the item is taken without it")));
            None
        }
    }
}

fn time<'a>(value: Value<'a>) -> Time<'a> {
    match value {
        Value::Absent | Value::Fault(_) => Time::Absent,
        Value::Text(text) | Value::Number(text) => Time::Text(text),
        Value::Time(when, _) => Time::Read(when),
    }
}

fn number<'a>(value: Value<'a>) -> Number<'a> {
    match value {
        Value::Absent | Value::Fault(_) => Number::Absent,
        Value::Text(text) | Value::Number(text) | Value::Time(_, text) => Number::Text(text),
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
