//! A log in record batches: its columns into batches of the book.

use super::cells::{Cells, midnights};
use super::columns::{
    AmountColumn, NameColumn, NameKeys, Remarks, UntilColumn, WhenColumn, amounts, ends, remarks, whens,
};
use crate::batch::{OwnedRow, fields};
use crate::blocks::by_threads;
use crate::codes::Code;
use crate::host_rows::{HostRow, HostRows};
use crate::mapping::{Field, Layout};
use arrow_array::{ArrayRef, RecordBatch};
use kitlore_engine::batch::Batch;
use kitlore_engine::columns::{Lines, Texts};
use kitlore_engine::{
    Amount, Book, ConditionsKey, EventKey, ExpectKey, Fields, FindingsKey, ItemKey, Problem, ReferenceKey,
    SourceKey, UnitKey,
};
use kitlore_syntax::key;
use std::borrow::Cow;
use std::num::NonZeroUsize;

/// Fewer rows are not worth a part of their own.
const SHARE: usize = 1 << 14;

/// A log on its way into a book.
pub(super) struct LogFrame<'b> {
    rows: HostRows<'b>,
    cells: Cells,
    threads: NonZeroUsize,
    /// Of the times of the entries: how many are midnights, and how many are not.
    midnights: (usize, usize),
    /// The number of the next row.
    next: u32,
    keys: LogKeys,
}

/// Some rows of a batch.
struct Part {
    batch: RecordBatch,
    /// The number of its first row.
    first: u32,
}

/// The columns of a part.
struct LogColumns<'a> {
    when: WhenColumn<'a>,
    until: UntilColumn<'a>,
    event: NameColumn<'a>,
    item: NameColumn<'a>,
    amount: AmountColumn<'a>,
    reading: AmountColumn<'a>,
    unit: NameColumn<'a>,
    conditions: NameColumn<'a>,
    found: NameColumn<'a>,
    reference: NameColumn<'a>,
    expect: NameColumn<'a>,
    id: Remarks<'a>,
    by: Remarks<'a>,
    note: Remarks<'a>,
    /// Rows that the columns cannot carry, as they are; nothing of one that is blank.
    odd: Vec<(u32, Option<OwnedRow>)>,
    /// Doubts about rows.
    doubts: Vec<(u32, Problem)>,
}

/// The keys of the names of columns.
#[derive(Default)]
struct LogKeys {
    event: NameKeys<EventKey>,
    item: NameKeys<ItemKey>,
    unit: NameKeys<UnitKey>,
    conditions: NameKeys<ConditionsKey>,
    found: NameKeys<FindingsKey>,
    reference: NameKeys<ReferenceKey>,
    expect: NameKeys<ExpectKey>,
}

/// Where the keys of the columns of a part are.
struct Places {
    event: usize,
    item: usize,
    unit: usize,
    conditions: usize,
    found: usize,
    reference: usize,
    expect: usize,
}

/// What a batch borrows of its columns.
struct View<'a> {
    id: Cow<'a, [&'a str]>,
    by: Cow<'a, [&'a str]>,
    note: Cow<'a, [&'a str]>,
    odd: Vec<(u32, Fields<'a>)>,
}

impl<'b> LogFrame<'b> {
    pub fn new(rows: HostRows<'b>, cells: Cells, threads: NonZeroUsize) -> Self {
        Self { rows, cells, threads, midnights: (0, 0), next: 0, keys: LogKeys::default() }
    }

    pub fn look_for_midnights(&mut self, batch: &RecordBatch) {
        if let Some(when) = column(batch, self.rows.layout(), Field::When) {
            let (midnight, clock) = midnights(when);
            self.midnights = (self.midnights.0 + midnight, self.midnights.1 + clock);
        }
        self.cells.look_for_midnights(batch);
    }

    /// Whether some column has had no local time but midnights so far.
    pub fn has_dates(&self) -> bool {
        self.cells.dates.contains(&true)
    }

    /// Records some batches together.
    pub fn record(&mut self, batches: &[RecordBatch]) {
        let parts = self.parts(batches);
        let (layout, cells, keys) = (self.rows.layout(), &self.cells, &self.keys);
        let share = parts.len().div_ceil(self.threads.get()).max(1);
        let columns = by_threads(parts.chunks(share).collect(), self.threads, |parts: &[Part]| {
            parts.iter().map(|part| LogColumns::read(part, layout, cells, keys)).collect::<Vec<_>>()
        });
        let columns: Vec<LogColumns<'_>> = columns.into_iter().flatten().collect();
        let mut keys = std::mem::take(&mut self.keys);
        let (book, source) = self.rows.sink().book_mut();
        let places: Vec<Places> = columns.iter().map(|columns| keys.look_up(columns, book)).collect();
        let views: Vec<View<'_>> = columns.iter().map(LogColumns::view).collect();
        let each = columns.iter().zip(&views).zip(&places).zip(&parts);
        let batches: Vec<Batch<'_>> = each
            .map(|(((columns, view), places), part)| columns.batch(view, &keys, places, (source, part.first)))
            .collect();
        let refused = book.record_batches(&batches, self.threads);
        let mut problems: Vec<(u32, Problem)> = Vec::new();
        for refused in refused {
            let (Some(columns), Some(part)) = (columns.get(refused.batch), parts.get(refused.batch)) else {
                continue;
            };
            let number = part.number(refused.row);
            let row = u32::try_from(refused.row).unwrap_or(u32::MAX);
            match columns.odd.binary_search_by_key(&row, |(row, _)| *row) {
                Err(_) => problems.push((number, refused.problem)),
                // A blank row is no entry.
                Ok(at) => {
                    if let Some((_, Some(odd))) = columns.odd.get(at) {
                        problems.push((number, crate::batch::with_time_help(refused.problem, odd)));
                    }
                }
            }
        }
        drop(batches);
        drop(views);
        let doubts = columns.into_iter().flat_map(|columns| columns.doubts);
        let doubts: Vec<(u32, Problem)> = doubts.collect();
        for (number, doubt) in doubts {
            problems.push((number, doubt));
        }
        problems.sort_by_key(|(number, problem)| (*number, !problem.is(Code::PercentCell)));
        keys.forget_all_but_last();
        self.keys = keys;
        let sink = self.rows.sink();
        for (number, problem) in problems {
            match problem.place {
                Some(_) => sink.report(number, problem),
                None => sink.problem(number.into(), problem),
            }
        }
    }

    /// Cuts large batches so that every thread has its share.
    fn parts(&mut self, batches: &[RecordBatch]) -> Vec<Part> {
        let count: usize = batches.iter().map(RecordBatch::num_rows).sum();
        let share = count.div_ceil(self.threads.get()).max(SHARE);
        let mut parts = Vec::new();
        for batch in batches {
            for start in (0..batch.num_rows()).step_by(share) {
                let length = share.min(batch.num_rows() - start);
                parts.push(Part { batch: batch.slice(start, length), first: self.next });
                self.next = self.next.saturating_add(u32::try_from(length).unwrap_or(u32::MAX));
            }
        }
        parts
    }

    /// Ends the log. Midnights among clock times are reported, which were probably meant as dates: a use on such a
    /// date is over when it begins.
    pub fn finish(mut self, name: &str) {
        const MANY: usize = 10;
        let (midnight, clock) = self.midnights;
        if clock > 0 && midnight > 1 && midnight * MANY >= midnight + clock {
            let sentence = "{midnights} of the {times} times of `{table}` are at 00:00, and are read as clock times because the others have one; give what is a date as a date, in a column of texts or objects";
            let problem = Problem::new(Code::Midnights, sentence).with("midnights", midnight);
            let problem = problem.with("times", midnight + clock).with("table", name);
            self.rows.sink().column_problem(problem);
        }
        self.rows.finish();
    }
}

fn column<'a>(batch: &'a RecordBatch, layout: &Layout, field: Field) -> Option<&'a ArrayRef> {
    layout.position(field).and_then(|at| batch.columns().get(at))
}

impl Part {
    fn number(&self, row: usize) -> u32 {
        self.first.saturating_add(u32::try_from(row).unwrap_or(u32::MAX))
    }
}

impl<'a> LogColumns<'a> {
    fn read(part: &'a Part, layout: &Layout, cells: &Cells, keys: &LogKeys) -> Self {
        let (batch, rules) = (&part.batch, &cells.rules);
        let column = |field| column(batch, layout, field);
        let dates =
            |field| layout.position(field).and_then(|at| cells.dates.get(at)).copied().unwrap_or(false);
        let rows = batch.num_rows();
        let mut odd = Vec::new();
        let when = match column(Field::When) {
            Some(array) => whens(array, dates(Field::When), &mut odd),
            None => WhenColumn::Each(Vec::new()),
        };
        let until = ends(column(Field::Until), dates(Field::Until), &mut odd);
        let event = NameColumn::of(column(Field::Event), &keys.event, rules);
        odd.extend(event.rows_of(rows, |event| event.trim().is_empty()));
        let amount = amounts(column(Field::Amount), rules, &mut odd);
        let reading = amounts(column(Field::Reading), rules, &mut odd);
        odd.sort_unstable();
        odd.dedup();
        let mut columns = Self {
            when,
            until,
            event,
            item: NameColumn::of(column(Field::Item), &keys.item, rules),
            amount,
            reading,
            unit: NameColumn::of(column(Field::Unit), &keys.unit, rules),
            conditions: NameColumn::of(column(Field::In), &keys.conditions, rules),
            found: NameColumn::of(column(Field::Found), &keys.found, rules),
            reference: NameColumn::of(column(Field::Ref), &keys.reference, rules),
            expect: NameColumn::of(column(Field::Expect), &keys.expect, rules),
            id: remarks(column(Field::Id), rules),
            by: remarks(column(Field::By), rules),
            note: remarks(column(Field::Note), rules),
            odd: Vec::new(),
            doubts: Vec::new(),
        };
        let mut buffers = cells.buffers();
        for row in odd {
            let values = cells.row(batch, row, &mut buffers);
            let blank = values.iter().all(|value| value.text().is_empty());
            let kept = (!blank).then(|| OwnedRow::of(&HostRow { layout, cells: &values }));
            columns.odd.push((u32::try_from(row).unwrap_or(u32::MAX), kept));
        }
        columns.doubt_shares(part, column(Field::Reading));
        columns
    }

    /// A share of 1 among readings in percent is hardly meant, where the frame holds numbers.
    fn doubt_shares(&mut self, part: &Part, reading: Option<&ArrayRef>) {
        let has_numbers = reading.is_some_and(|array| array.data_type().is_numeric());
        if !has_numbers || matches!(self.reading, AmountColumn::Absent) || self.unit.is_absent() {
            return;
        }
        let in_percent = |unit: &str| matches!(key(unit).as_str(), "percent" | "%");
        for row in self.unit.rows_of(part.batch.num_rows(), in_percent) {
            let share = self.reading.get(row).filter(|share| *share > Amount::ZERO && *share <= Amount::ONE);
            if let Some(share) = share {
                self.doubts.push((part.number(row), crate::batch::share_of_percent(&share.to_string())));
            }
        }
    }

    fn view(&self) -> View<'_> {
        let odd = self.odd.iter();
        View {
            id: self.id.list(),
            by: self.by.list(),
            note: self.note.list(),
            odd: odd
                .map(|(row, odd)| (*row, odd.as_ref().map_or_else(Fields::default, |odd| fields(odd))))
                .collect(),
        }
    }

    fn batch<'k>(
        &'k self,
        view: &'k View<'_>,
        keys: &'k LogKeys,
        places: &Places,
        (source, first): (SourceKey, u32),
    ) -> Batch<'k> {
        fn texts<'k>(list: &'k [&'k str]) -> Texts<'k> {
            if list.is_empty() { Texts::Absent } else { Texts::Each(list) }
        }
        let event = self.event.keys(keys.event.get(places.event));
        Batch {
            until: self.until.ends(),
            item: self.item.keys(keys.item.get(places.item)),
            amount: self.amount.amounts(),
            reading: self.reading.amounts(),
            unit: self.unit.keys(keys.unit.get(places.unit)),
            conditions: self.conditions.keys(keys.conditions.get(places.conditions)),
            found: self.found.keys(keys.found.get(places.found)),
            reference: self.reference.keys(keys.reference.get(places.reference)),
            expect: self.expect.keys(keys.expect.get(places.expect)),
            id: texts(&view.id),
            by: texts(&view.by),
            note: texts(&view.note),
            odd: &view.odd,
            place: Some((source, Lines::From(first))),
            ..Batch::new(self.when.times(), event)
        }
    }
}

impl LogKeys {
    /// Looks up the names of some columns, in the order they occur; gives where the keys of each are.
    fn look_up(&mut self, columns: &LogColumns<'_>, book: &mut Book) -> Places {
        Places {
            event: self.event.look_up(&columns.event, |text| match text.trim() {
                "" => None,
                text => Some(book.event_key(text)),
            }),
            item: self.item.look_up(&columns.item, |text| Some(book.item_key(text))),
            unit: self.unit.look_up(&columns.unit, |text| Some(book.unit_key(text))),
            conditions: self.conditions.look_up(&columns.conditions, |text| Some(book.conditions_key(text))),
            found: self.found.look_up(&columns.found, |text| Some(book.findings_key(text))),
            reference: self.reference.look_up(&columns.reference, |text| Some(book.reference_key(text))),
            expect: self.expect.look_up(&columns.expect, |text| Some(book.expect_key(text))),
        }
    }

    fn forget_all_but_last(&mut self) {
        self.event.forget_all_but_last();
        self.item.forget_all_but_last();
        self.unit.forget_all_but_last();
        self.conditions.forget_all_but_last();
        self.found.forget_all_but_last();
        self.reference.forget_all_but_last();
        self.expect.forget_all_but_last();
    }
}
