//! Rows of any log into the columns of a batch: the way of csv, jsonl, workbooks and rows of a host.

use super::column::{AmountColumn, LineColumn, Moment, NameColumn, TextColumn, WhenColumn, texts};
use super::points::Points;
use super::problems::bad_value;
use super::value::{OwnedRow, Row, Value, fields};
use crate::codes::Code;
use crate::error::narrow;
use crate::mapping::{Field, Kind};
use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Ends, Lines};
use kitlore_engine::{
    Amount, Book, ConditionsKey, EventKey, ExpectKey, Fields, FindingsKey, ItemKey, Problem, ReferenceKey,
    SourceKey, UnitKey, When,
};
use kitlore_syntax::key;

/// Rows of a log on their way into a book.
///
/// A row with a cell that its column cannot carry is odd: it keeps its place, and is kept as it is.
#[derive(Debug, Default)]
pub(crate) struct Rows {
    clock: Clock,
    when: WhenColumn,
    until: Vec<Option<When>>,
    event: NameColumn<EventKey>,
    item: NameColumn<ItemKey>,
    amount: AmountColumn,
    reading: AmountColumn,
    unit: NameColumn<UnitKey>,
    conditions: NameColumn<ConditionsKey>,
    found: NameColumn<FindingsKey>,
    reference: NameColumn<ReferenceKey>,
    expect: NameColumn<ExpectKey>,
    id: TextColumn,
    by: TextColumn,
    note: TextColumn,
    odd: Vec<(u32, OwnedRow)>,
    lines: LineColumn,
    points: Points,
    /// Problems of lines, also of those that are no entry.
    pub problems: Vec<(u32, Problem)>,
}

impl Rows {
    /// Takes the numbers whose point may group digits.
    pub fn take_points(&mut self) -> Points {
        std::mem::take(&mut self.points)
    }

    /// How many rows there are.
    pub fn len(&self) -> usize {
        self.when.len()
    }

    /// Whether there is nothing to record or report.
    pub fn is_empty(&self) -> bool {
        self.len() == 0 && self.problems.is_empty()
    }

    /// Reports a problem of a line.
    pub fn problem(&mut self, line: u64, problem: Problem) {
        self.problems.push((narrow(line), problem));
    }

    /// Adds a row, or reports why it is left out.
    pub fn push(&mut self, row: &impl Row, line: u64, book: &Book) {
        if !self.spoils(row, line) {
            self.doubt_percent(row, line);
            self.points.look(row, Kind::Log, line);
            self.add(row, line, book);
        }
    }

    fn add(&mut self, row: &impl Row, line: u64, book: &Book) {
        let rows = self.len();
        let text = |field| row.get(field).text();
        let (when, until) = (self.clock.read(row.get(Field::When)), read_until(row.get(Field::Until)));
        let (amount, reading) = (read_number(row.get(Field::Amount)), read_number(row.get(Field::Reading)));
        let event = text(Field::Event);
        let is_odd = when.is_none()
            || until.is_none()
            || amount.is_none()
            || reading.is_none()
            || event.trim().is_empty();
        if is_odd {
            self.odd.push((narrow(rows as u64), OwnedRow::of(row)));
        }
        match when {
            Some(when) => self.when.push(when),
            None => self.when.push_unread(),
        }
        let until = until.flatten();
        if until.is_some() || !self.until.is_empty() {
            self.until.resize(rows, None);
            self.until.push(until);
        }
        self.event.push(event, rows, |event| book.find_event(event));
        self.item.push(text(Field::Item), rows, |item| book.find_item(item));
        self.amount.push(amount.flatten(), rows);
        self.reading.push(reading.flatten(), rows);
        self.unit.push(text(Field::Unit), rows, |unit| book.find_unit(unit));
        self.conditions.push(text(Field::In), rows, |list| book.find_conditions(list));
        self.found.push(text(Field::Found), rows, |list| book.find_findings(list));
        self.reference.push(text(Field::Ref), rows, |text| book.find_reference(text));
        self.expect.push(text(Field::Expect), rows, |text| book.find_expect(text));
        let id = text(Field::Id);
        self.id.push(id, rows);
        // Who did it and what was remarked matter only where entries are compared whole: beside an id, or where
        // the same once more is hardly meant.
        let is_compared =
            !id.is_empty() || until.is_some() || amount.flatten().is_some_and(|amount| amount > Amount::ONE);
        let remark = |field| if is_compared { text(field) } else { "" };
        self.by.push(remark(Field::By), rows);
        self.note.push(remark(Field::Note), rows);
        self.lines.push(narrow(line));
    }

    /// Reports the cells of a row that cannot be used; whether the row as a whole cannot, as with any
    /// but `by` and `note`.
    fn spoils(&mut self, row: &impl Row, line: u64) -> bool {
        if !row.may_have_faults() {
            return false;
        }
        let mut spoiled = false;
        for field in Kind::Log.fields() {
            if let Value::Fault(what) = row.get(*field) {
                let remark = matches!(field, Field::By | Field::Note);
                let sentence = match remark {
                    true => "`{field}` {what}; the entry is taken without it",
                    false => "`{field}` {what}; the entry is left out",
                };
                spoiled |= !remark;
                self.problem(line, bad_value(sentence, field.name(), what));
            }
        }
        spoiled
    }

    /// A cell that a spreadsheet shows as 80 % holds 0.8, and a reading of 0.8 percent is hardly meant.
    fn doubt_percent(&mut self, row: &impl Row, line: u64) {
        let Value::Number(reading) = row.get(Field::Reading) else { return };
        let in_percent = matches!(key(row.get(Field::Unit).text()).as_str(), "percent" | "%");
        if in_percent
            && reading.parse().is_ok_and(|share: Amount| share > Amount::ZERO && share <= Amount::ONE)
        {
            self.problems.push((narrow(line), share_of_percent(reading)));
        }
    }

    /// Moves rows and problems so many lines down.
    pub fn move_down(&mut self, lines: u64) {
        self.lines.move_down(narrow(lines));
        for (line, _) in &mut self.problems {
            *line = line.saturating_add(narrow(lines));
        }
        self.points.move_down(narrow(lines));
    }

    /// Adds the names that the book has not met.
    pub fn settle(&mut self, book: &mut Book) {
        self.event.settle(|event| book.event_key(event));
        self.item.settle(|item| book.item_key(item));
        self.unit.settle(|unit| book.unit_key(unit));
        self.conditions.settle(|list| book.conditions_key(list));
        self.found.settle(|list| book.findings_key(list));
        self.reference.settle(|text| book.reference_key(text));
        self.expect.settle(|text| book.expect_key(text));
    }

    /// What a batch borrows.
    pub fn view(&self) -> View<'_> {
        View {
            id: self.id.list(),
            by: self.by.list(),
            note: self.note.list(),
            odd: self.odd.iter().map(|(row, odd)| (*row, fields(odd))).collect(),
        }
    }

    /// The batch.
    pub fn batch<'a>(&'a self, view: &'a View<'a>, source: SourceKey) -> Batch<'a> {
        Batch {
            until: if self.until.is_empty() { Ends::Absent } else { Ends::Each(&self.until) },
            item: self.item.keys(),
            amount: self.amount.amounts(),
            reading: self.reading.amounts(),
            unit: self.unit.keys(),
            conditions: self.conditions.keys(),
            found: self.found.keys(),
            reference: self.reference.keys(),
            expect: self.expect.keys(),
            id: texts(&view.id),
            by: texts(&view.by),
            note: texts(&view.note),
            odd: &view.odd,
            place: Some((
                source,
                match &self.lines {
                    LineColumn::None => Lines::From(0),
                    LineColumn::From { first, .. } => Lines::From(*first),
                    LineColumn::Each(list) => Lines::Each(list),
                },
            )),
            ..Batch::new(self.when.times(), self.event.keys())
        }
    }

    /// The line of a row.
    pub fn line(&self, row: usize) -> u32 {
        self.lines.get(row)
    }

    /// A row that is kept as it is.
    pub fn odd(&self, row: usize) -> Option<&OwnedRow> {
        let row = u32::try_from(row).ok()?;
        let at = self.odd.binary_search_by_key(&row, |(at, _)| *at).ok()?;
        self.odd.get(at).map(|(_, odd)| odd)
    }
}

/// A reading of a share of one percent, where percents were probably meant.
pub(crate) fn share_of_percent(reading: &str) -> Problem {
    let sentence = "this reading is {reading} percent; where the sheet shows a share such as 80 %, write the plain number 80";
    Problem::new(Code::PercentCell, sentence).with("reading", reading)
}

/// What a batch borrows of its rows.
pub(crate) struct View<'a> {
    id: Vec<&'a str>,
    by: Vec<&'a str>,
    note: Vec<&'a str>,
    odd: Vec<(u32, Fields<'a>)>,
}

/// Reads times; remembers the last date, which in most logs is also the next.
#[derive(Debug)]
struct Clock {
    date: [u8; 10],
    /// The second in which it begins in UTC.
    midnight: i64,
}

impl Default for Clock {
    fn default() -> Self {
        // No text has this byte.
        Self { date: [0xFF; 10], midnight: 0 }
    }
}

impl Clock {
    /// The time of a cell, if it is one.
    #[inline]
    fn read(&mut self, value: Value<'_>) -> Option<Moment> {
        let text = match value {
            Value::Text(text) | Value::Number(text) => text,
            Value::Time(when, _) => return Some(Moment::of(when)),
            Value::Absent | Value::Fault(_) => return None,
        };
        if let Some((date, clock)) = text.as_bytes().split_first_chunk::<10>()
            && *date == self.date
            && let Some((seconds, zone)) = seconds(clock)
        {
            let at = self.midnight + seconds;
            return match zone {
                b"Z" => Some(Moment::Second(at)),
                b"" => Some(Moment::Local(at)),
                _ => self.read_any(text),
            };
        }
        self.read_any(text)
    }

    fn read_any(&mut self, text: &str) -> Option<Moment> {
        let moment = Moment::of(When::parse(text.trim()).ok()?);
        if let Some((date, clock)) = text.as_bytes().split_first_chunk()
            && let (Moment::Second(at), Some((seconds, b"Z"))) | (Moment::Local(at), Some((seconds, b""))) =
                (moment, seconds(clock))
        {
            self.date = *date;
            self.midnight = at - seconds;
        }
        Some(moment)
    }
}

/// The seconds of `THH:MM:SS` or ` HH:MM:SS`, and what follows.
#[inline]
fn seconds(clock: &[u8]) -> Option<(i64, &[u8])> {
    let [b'T' | b' ', h1, h2, b':', m1, m2, b':', s1, s2, rest @ ..] = clock else { return None };
    match (two(*h1, *h2)?, two(*m1, *m2)?, two(*s1, *s2)?) {
        (hour @ 0..24, minute @ 0..60, second @ 0..60) => Some((hour * 3600 + minute * 60 + second, rest)),
        _ => None,
    }
}

/// Two digits as a number.
#[inline]
fn two(tens: u8, ones: u8) -> Option<i64> {
    let (tens, ones) = (tens.wrapping_sub(b'0'), ones.wrapping_sub(b'0'));
    (tens < 10 && ones < 10).then(|| i64::from(tens) * 10 + i64::from(ones))
}

/// An end, if there is one; the outer `None` for what is no time.
fn read_until(value: Value<'_>) -> Option<Option<When>> {
    match value {
        Value::Absent | Value::Fault(_) => Some(None),
        Value::Time(when, _) => Some(Some(when)),
        Value::Text(text) | Value::Number(text) => match text.trim() {
            "" => Some(None),
            text => When::parse(text).ok().map(Some),
        },
    }
}

/// A number, if there is one; the outer `None` for what is no number.
pub(crate) fn read_number(value: Value<'_>) -> Option<Option<Amount>> {
    match value.text().trim() {
        "" => Some(None),
        text => Amount::parse_signed(text).ok().map(Some),
    }
}
