//! From the blocks of a log in csv into the book, in the order of the file.

use crate::csv_block::{Columns, NAMES, Parsed, Parser, Run, Whens};
use crate::csv_names::{Keys, Learnt};
use crate::csv_records::CsvRecords;
use crate::csv_table::rows;
use crate::error::{ReadError, narrow};
use crate::field::Kind;
use crate::layout::Layout;
use crate::row::Sink;
use kitlore_engine::columns::{Amounts, Codes, EntryColumns, Keys as KeyColumn, Lines, Ticks, Times};
use kitlore_engine::{ConditionsKey, EventKey, ItemKey};
use smol_str::SmolStr;
use std::io::Empty;
use std::num::NonZeroUsize;
use std::ops::Range;

/// So many plain rows are held back to be filed at once, which is quicker than one by one.
const HELD: usize = 1 << 22;

/// Puts blocks into the book.
pub(crate) struct Filing<'a, 'b> {
    sink: &'a mut Sink<'b>,
    layout: &'a Layout,
    /// Reads what is not plain.
    odd: CsvRecords<'a, Empty>,
    /// The line on which the next record starts.
    line: u64,
    /// The start of a record that did not end in its block.
    left: Vec<u8>,
    events: Keys<EventKey>,
    items: Keys<ItemKey>,
    conditions: Keys<ConditionsKey>,
    learnt: &'a [Learnt; NAMES],
    threads: NonZeroUsize,
    held: Vec<Held>,
    held_rows: usize,
}

/// Plain rows of a block that are not in the book yet.
struct Held {
    columns: Columns,
    runs: Vec<(Range<usize>, HeldLines)>,
}

/// The lines of a run.
enum HeldLines {
    /// One after the other from this one.
    From(u32),
    Each(Vec<u32>),
}

impl<'a, 'b> Filing<'a, 'b> {
    /// Files records the first of which starts on this line.
    pub fn new(
        sink: &'a mut Sink<'b>,
        layout: &'a Layout,
        odd: CsvRecords<'a, Empty>,
        line: u64,
        learnt: &'a [Learnt; NAMES],
        threads: NonZeroUsize,
    ) -> Self {
        Self {
            sink,
            layout,
            odd,
            line,
            left: Vec::new(),
            events: Keys::new(),
            items: Keys::new(),
            conditions: Keys::new(),
            learnt,
            threads,
            held: Vec::new(),
            held_rows: 0,
        }
    }

    /// Files the next block; says how many bytes of it wait for the end of their record.
    pub fn file(&mut self, mut parsed: Parsed, parser: &mut Parser<'_>) -> Result<usize, ReadError> {
        if !self.left.is_empty() {
            let mut block = std::mem::take(&mut parsed.block);
            self.left.append(&mut block.bytes);
            block.bytes = std::mem::take(&mut self.left);
            parsed = parser.parse(block);
        }
        let Parsed { block, runs, columns, fresh, complete } = parsed;
        self.held.push(Held { columns, runs: Vec::new() });
        for run in runs {
            match run {
                Run::Plain { rows, lines, dense, fresh: upto } => {
                    self.resolve(&fresh, upto);
                    self.hold(rows, dense);
                    self.line += u64::from(lines);
                }
                Run::Odd { start, end } => {
                    self.record_held();
                    self.read_odd(block.bytes.get(start..end).unwrap_or_default())?;
                }
            }
        }
        self.end_block();
        if self.held_rows >= HELD {
            self.record_held();
        }
        self.left = block.bytes;
        self.left.drain(..complete);
        Ok(self.left.len())
    }

    /// Reads what waits for the end of its record as if there were no more.
    pub fn read_left(&mut self) -> Result<(), ReadError> {
        let left = std::mem::take(&mut self.left);
        self.record_held();
        self.read_odd(&left)
    }

    fn read_odd(&mut self, bytes: &[u8]) -> Result<(), ReadError> {
        self.odd.refill(bytes, self.line);
        rows(self.sink, &mut self.odd, self.layout, Kind::Log)?;
        self.line = self.odd.line();
        Ok(())
    }

    /// Looks up the fresh names of a block, as many as its rows so far may have.
    fn resolve(&mut self, names: &[Vec<SmolStr>; NAMES], upto: [usize; NAMES]) {
        let [events, items, conditions] = names;
        let (book, _) = self.sink.book();
        let [to_event, to_item, to_conditions] = upto;
        self.events.resolve(events, to_event, |name| book.event_key(name));
        self.items.resolve(items, to_item, |name| book.item_key(name));
        self.conditions.resolve(conditions, to_conditions, |name| book.conditions_key(name));
    }

    /// Holds back a run of the block at hand.
    fn hold(&mut self, rows: Range<usize>, dense: bool) {
        let Some(Held { columns, runs }) = self.held.last_mut() else { return };
        let [events, items, conditions] = &mut columns.names;
        self.events.renumber(events, rows.clone());
        self.items.renumber(items, rows.clone());
        self.conditions.renumber(conditions, rows.clone());
        let lines = if dense {
            HeldLines::From(narrow(self.line))
        } else {
            let lines = columns.lines.get(rows.clone()).unwrap_or_default();
            HeldLines::Each(lines.iter().map(|line| narrow(self.line + u64::from(*line))).collect())
        };
        self.held_rows += rows.len();
        runs.push((rows, lines));
    }

    /// Records the plain rows held back. Those of the block at hand that follow are still to come.
    pub fn record_held(&mut self) {
        let (book, source) = self.sink.book();
        let mut pieces = Vec::new();
        for Held { columns, runs } in &self.held {
            let [events, items, conditions] = &columns.names;
            pieces.extend(runs.iter().map(|(rows, lines)| EntryColumns {
                when: match &columns.when {
                    Whens::Instants(seconds) => Times::Instants(Ticks::Seconds(part(seconds, rows))),
                    Whens::Each(whens) => Times::Each(part(whens, rows)),
                },
                event: KeyColumn::Coded(Codes::U32(part(events, rows)), self.events.list()),
                item: KeyColumn::Coded(Codes::U32(part(items, rows)), self.items.list()),
                amount: Amounts::Micros(part(&columns.amount, rows)),
                conditions: KeyColumn::Coded(Codes::U32(part(conditions, rows)), self.conditions.list()),
                place: Some((source, lines.lent())),
            }));
        }
        for refused in book.record_columns(&pieces, self.threads) {
            let line = refused.problem.place.as_ref().map_or(0, |place| place.line);
            self.sink.report(line, refused.problem);
        }
        self.held_rows = 0;
        if let Some(mut last) = self.held.pop() {
            self.held.clear();
            last.runs.clear();
            self.held.push(last);
        }
    }

    fn end_block(&mut self) {
        let [events, items, conditions] = self.learnt;
        self.events.end_block(events);
        self.items.end_block(items);
        self.conditions.end_block(conditions);
    }
}

fn part<'c, T>(column: &'c [T], rows: &Range<usize>) -> &'c [T] {
    column.get(rows.clone()).unwrap_or_default()
}

impl HeldLines {
    fn lent(&self) -> Lines<'_> {
        match self {
            Self::From(first) => Lines::From(*first),
            Self::Each(lines) => Lines::Each(lines),
        }
    }
}
