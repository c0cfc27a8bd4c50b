//! Batches into the ledger: block by block, by as many threads as given.
//!
//! Most rows need nothing but their columns. Those that do (corrections, dates of an item's life, ids that come
//! twice, cells that a column cannot carry, what the rules refuse) are taken one by one afterwards, in order of
//! record. As the log is a set in time order, it makes no difference that they come later.

use super::batch::Batch;
use super::block::{Block, Entry, are_plain, is_simple};
use super::clock::{Clock, Stand};
use super::columns::{Lines, MISSING, Refused, Texts, Times, UNSTATED};
use super::corrections::Filed;
use super::entries::{Fact, Line, Own};
use super::facts::Facts;
use super::input::Fields;
use super::ledger::Ledger;
use super::read::one_by_one;
use super::row::Print;
use super::store::{SEGMENT, Segment, WIDTH, bucket};
use super::written::{is_plain, may_stand_twice};
use crate::names::{Set, index};
use crate::problem::Problem;
use crate::time::Zone;
use kitlore_syntax::When;
use std::num::NonZeroUsize;
use std::ops::Range;

/// Rows that are worked on together: they stay in a processor's nearest cache.
const BLOCK: usize = 1 << 10;

/// Fewer rows are taken one by one.
const FEW: usize = 1 << 9;

/// So many rows are worth a thread.
const SHARE: usize = 1 << 16;

/// What threads know of the batches.
struct Job<'a> {
    batches: &'a [Batch<'a>],
    zone: Zone,
    /// By event: its entries are taken one by one.
    one_by_one: Vec<bool>,
    /// Names known.
    streams: usize,
    /// Order of record of the first row.
    first: u32,
    /// For each batch the numbers of its ids, if it has any.
    ids: Vec<Vec<u32>>,
    /// By name: its entries are not kept. Empty if all are.
    left_out: Vec<bool>,
}

/// No id.
const NO_ID: u32 = u32::MAX;
/// An id that another entry has too: its entries are taken one by one.
const SHARED_ID: u32 = u32::MAX - 1;

/// What a thread makes.
#[derive(Default)]
struct Output {
    facts: Facts,
    /// By bucket what is not full.
    open: Vec<Segment>,
    full: Vec<(usize, Segment)>,
    /// Rows that are taken one by one: batch, row, order of record.
    odd: Vec<(usize, usize, u32)>,
    /// Names of which an entry with a span has conditions.
    spanned: Vec<u32>,
    /// Times that instants do not give back.
    times: Vec<(u32, When, Option<When>)>,
    /// Entries with an id: its number, the fingerprint of the entry, where it is filed.
    ids: Vec<(u32, u64, Filed)>,
    /// Those that say who did it or remark something: order of record, batch and row.
    remarks: Vec<(u32, usize, usize)>,
}

impl Ledger {
    /// Takes batches, one after the other; gives what could not be taken.
    pub fn take(&mut self, batches: &[Batch<'_>], threads: NonZeroUsize) -> Vec<Refused> {
        let count: usize = batches.iter().map(|batch| batch.when.len()).sum();
        let mut refused = Vec::new();
        if count < FEW {
            for (number, batch) in batches.iter().enumerate() {
                let mut odd = batch.odd.iter().peekable();
                for row in 0..batch.when.len() {
                    let fields = odd.next_if(|(at, _)| *at as usize == row).map(|(_, fields)| fields);
                    if let Err(problem) = self.take_row(batch, row, fields, None) {
                        refused.push(Refused { batch: number, row, problem });
                    }
                }
            }
            return refused;
        }
        let first = index(self.places.len());
        batches.iter().for_each(|batch| self.add_places(batch));
        let rules = self.program.inner();
        let job = Job {
            batches,
            zone: rules.zone,
            one_by_one: rules.event_info.iter().map(|info| one_by_one(*info)).collect(),
            streams: self.store.streams.len(),
            first,
            ids: self.enter_ids(batches),
            left_out: self.left_out(),
        };
        let mut odd = Vec::new();
        for output in job.run(count, threads) {
            odd.extend(self.take_output(output, batches));
        }
        odd.sort_unstable_by_key(|(_, _, seq)| *seq);
        for (number, row, seq) in odd {
            let Some(batch) = batches.get(number) else { continue };
            if let Some(id @ 0..SHARED_ID) = job.ids.get(number).and_then(|ids| ids.get(row)).copied() {
                self.corrections.withdraw(id);
            }
            let at = batch.odd.binary_search_by_key(&row, |(row, _)| *row as usize).ok();
            let fields = at.and_then(|at| batch.odd.get(at)).map(|(_, fields)| fields);
            if let Err(problem) = self.take_row(batch, row, fields, Some(seq)) {
                refused.push(Refused { batch: number, row, problem });
            }
        }
        let mut seq = first;
        for batch in batches {
            self.add_remarks(batch, seq);
            seq = seq.saturating_add(index(batch.when.len()));
        }
        self.written.sort();
        self.store.facts.sort();
        refused
    }

    /// Remembers who did what of entries without id that may stand twice, and what was remarked.
    fn add_remarks(&mut self, batch: &Batch<'_>, first: u32) {
        if [&batch.by, &batch.note].iter().all(|texts| matches!(texts, Texts::Absent)) {
            return;
        }
        for (row, seq) in (0..batch.when.len()).zip(first..) {
            let (by, note) = (batch.by.get(row), batch.note.get(row));
            let has_remarks = !by.is_empty() || !note.is_empty();
            if has_remarks
                && batch.id.get(row).is_empty()
                && may_stand_twice(batch.amount.get(row).flatten(), batch.until.get(row))
            {
                self.written.add_remarks(seq, by, note);
            }
        }
    }

    /// Takes one row on its own, with its order of record if it has one.
    fn take_row(
        &mut self,
        batch: &Batch<'_>,
        row: usize,
        fields: Option<&Fields<'_>>,
        seq: Option<u32>,
    ) -> Result<(), Problem> {
        let place = batch.place(row);
        let read = match fields {
            Some(fields) => self.read(fields),
            None => batch.row(row),
        };
        let taken = match read {
            Ok(read) => self.admit(&read, place, seq),
            Err(problem) => Err(problem.at(self.place_of(place))),
        };
        self.unused += usize::from(taken.is_err() && seq.is_some());
        taken
    }

    /// By name, whether its entries are not kept; empty if all are.
    fn left_out(&self) -> Vec<bool> {
        match self.only {
            None => Vec::new(),
            Some(_) => (0..index(self.store.streams.len())).map(|stream| !self.keeps(stream)).collect(),
        }
    }

    /// Remembers where the entries of a batch stand and how their clock times are written.
    fn add_places(&mut self, batch: &Batch<'_>) {
        let (first, count) = (index(self.places.len()), batch.when.len());
        match batch.when {
            Times::Dates(_) => {}
            when if when.is_empty() => {}
            Times::Instants(_) => self.written.add_clock(false, first),
            Times::Local(_) => self.written.add_clock(true, first),
            Times::Each(whens) => {
                for (when, seq) in whens.iter().zip(first..) {
                    self.written.add_clock_of(*when, seq);
                }
            }
        }
        match batch.place {
            None => drop(self.places.add_run(None, count)),
            Some((source, Lines::From(line))) => drop(self.places.add_run(Some((source, line)), count)),
            Some((source, lines)) => (0..count).for_each(|row| {
                self.places.add(Some((source, lines.get(row))));
            }),
        }
    }

    /// Enters the ids of some batches. Entries whose id another one has too are marked.
    fn enter_ids(&mut self, batches: &[Batch<'_>]) -> Vec<Vec<u32>> {
        let has_ids = |batch: &Batch<'_>| matches!(batch.id, Texts::Each(_));
        if !batches.iter().any(has_ids) {
            return vec![Vec::new(); batches.len()];
        }
        self.corrections.reserve(batches.iter().map(|batch| batch.id.size()));
        // What is odd may turn out to be no entry, which has no id then.
        let of_odd: Set<&str> =
            batches.iter().flat_map(|batch| batch.odd).map(|(_, fields)| fields.id.trim()).collect();
        let before = self.corrections.len();
        let mut shared: Set<u32> = Set::default();
        let mut numbers: Vec<Vec<u32>> = Vec::with_capacity(batches.len());
        for batch in batches {
            if !has_ids(batch) {
                numbers.push(Vec::new());
                continue;
            }
            let mut odd = batch.odd.iter().peekable();
            let number = |row: usize| {
                let is_odd = odd.next_if(|(at, _)| *at as usize == row).is_some();
                let id = batch.id.get(row);
                if id.is_empty() || is_odd {
                    return NO_ID;
                }
                if !of_odd.is_empty() && of_odd.contains(id) {
                    return SHARED_ID;
                }
                match self.corrections.enter(id) {
                    (number, true) => number,
                    (number, false) => {
                        if number >= before {
                            shared.insert(number);
                        }
                        SHARED_ID
                    }
                }
            };
            numbers.push((0..batch.when.len()).map(number).collect());
        }
        if !shared.is_empty() {
            for number in numbers.iter_mut().flatten().filter(|number| shared.contains(number)) {
                *number = SHARED_ID;
            }
            shared.into_iter().for_each(|number| self.corrections.withdraw(number));
        }
        numbers
    }

    /// Puts what a thread made with the rest; gives the rows it left.
    fn take_output(&mut self, output: Output, batches: &[Batch<'_>]) -> Vec<(usize, usize, u32)> {
        let first = self.store.facts.append(output.facts);
        for (bucket, segment) in output.full.into_iter().chain(output.open.into_iter().enumerate()) {
            self.store.push_segment(bucket, segment, first);
        }
        for stream in output.spanned {
            self.store.add_spanned(stream);
        }
        for (seq, when, until) in output.times {
            self.written.add_time(seq, when, until);
        }
        for (number, fingerprint, filed) in output.ids {
            self.corrections.set(number, fingerprint, filed);
        }
        for (seq, batch, row) in output.remarks {
            if let Some(batch) = batches.get(batch) {
                self.written.add_remarks(seq, batch.by.get(row), batch.note.get(row));
            }
        }
        output.odd
    }
}

impl Job<'_> {
    fn run(&self, count: usize, threads: NonZeroUsize) -> Vec<Output> {
        let threads = threads.get().min(count / SHARE).max(1);
        let share = count.div_ceil(threads).next_multiple_of(BLOCK);
        let range = |thread: usize| (thread * share).min(count)..((thread + 1) * share).min(count);
        if threads == 1 {
            return vec![self.output(range(0))];
        }
        std::thread::scope(|scope| {
            let running: Vec<_> =
                (0..threads).map(|thread| scope.spawn(move || self.output(range(thread)))).collect();
            let join = |thread: std::thread::ScopedJoinHandle<'_, Output>| match thread.join() {
                Ok(output) => output,
                Err(panic) => std::panic::resume_unwind(panic),
            };
            running.into_iter().map(join).collect()
        })
    }

    /// The lines of some rows, counted over all batches.
    fn output(&self, rows: Range<usize>) -> Output {
        let buckets = self.streams.div_ceil(WIDTH);
        // Place for what is likely, so that little is moved.
        let likely = (rows.len() / buckets.max(1)).min(SEGMENT);
        let open = (0..buckets).map(|_| Segment::with_capacity(likely)).collect();
        let mut output = Output { open, ..Output::default() };
        let mut clock = Clock::new(self.zone);
        let mut block = Block::default();
        let mut before = 0;
        for (number, batch) in self.batches.iter().enumerate() {
            let end = before + batch.when.len();
            let mut row = rows.start.max(before);
            while row < rows.end.min(end) {
                let next = (row + BLOCK).min(rows.end).min(end);
                let own = row - before..next - before;
                block.read(batch, own.clone(), &mut clock);
                self.mark_odd(&mut block, number, own.clone());
                let seq = self.first.saturating_add(index(row));
                if is_simple(batch) {
                    self.simple_block(&block, number, own, seq, &mut output);
                } else {
                    block.read_more(batch, own.clone(), &mut clock);
                    self.any_block(&block, number, own, seq, &mut clock, &mut output);
                }
                row = next;
            }
            before = end;
        }
        output
    }

    /// Marks rows that are taken one by one because of cells that the columns cannot carry, or of their ids.
    fn mark_odd(&self, block: &mut Block, number: usize, rows: Range<usize>) {
        let mut mark = |row: usize| {
            if let Some(event) = row.checked_sub(rows.start).and_then(|at| block.event.get_mut(at)) {
                *event = MISSING;
            }
        };
        if let Some(batch) = self.batches.get(number).filter(|batch| !batch.odd.is_empty()) {
            let first = batch.odd.partition_point(|(row, _)| (*row as usize) < rows.start);
            let odd = batch.odd.iter().skip(first).map(|(row, _)| *row as usize);
            odd.take_while(|row| *row < rows.end).for_each(&mut mark);
        }
        if let Some(ids) = self.ids.get(number).and_then(|ids| ids.get(rows.clone())) {
            let shared = ids.iter().zip(rows.clone()).filter(|(id, _)| **id == SHARED_ID);
            shared.for_each(|(_, row)| mark(row));
        }
    }

    /// Whether an event's entries can be taken by their columns.
    fn is_regular(&self, event: u32) -> bool {
        event != MISSING && !self.one_by_one.get(event as usize).copied().unwrap_or(false)
    }

    /// Whether entries filed under a name are kept.
    fn keeps(&self, stream: u32) -> bool {
        !self.left_out.get(stream as usize).copied().unwrap_or(false)
    }

    /// The lines of a block without any but the usual columns; its first row has this order of record.
    fn simple_block(&self, block: &Block, batch: usize, rows: Range<usize>, seq: u32, output: &mut Output) {
        let Block { when, event, item, amount, conditions, .. } = block;
        let each = when.iter().zip(event).zip(item).zip(amount).zip(conditions);
        for ((((((when, event), item), amount), conditions), seq), row) in each.zip(seq..).zip(rows) {
            let stated = Some(*amount).filter(|amount| *amount != UNSTATED);
            let usable = *when != Stand::NEVER && !when.left_out && *conditions != MISSING;
            let at = bucket(*item);
            let is_regular = self.is_regular(*event) && usable && stated.is_none_or(|amount| amount >= 0);
            let (Some(open), true) = (output.open.get_mut(at), is_regular) else {
                output.odd.push((batch, row, seq));
                continue;
            };
            if !self.keeps(*item) {
                output.facts.add_names(*event, *conditions, 0);
                continue;
            }
            let fact = Fact::new(*event, *conditions, stated, None, when.dated);
            let fact = output.facts.add(Fact { fine: when.fine, ..fact });
            push(open, at, *item, Line::new(when.ticks, seq, fact), &mut output.full);
        }
    }

    /// The lines of a block with any columns.
    fn any_block(
        &self,
        block: &Block,
        number: usize,
        rows: Range<usize>,
        seq: u32,
        clock: &mut Clock,
        output: &mut Output,
    ) {
        let Some(batch) = self.batches.get(number) else { return };
        let ids = self.ids.get(number).filter(|ids| !ids.is_empty());
        let are_plain = are_plain(batch);
        for ((at, row), seq) in rows.enumerate().zip(seq..) {
            let Some(mut entry) = block.entry(at).filter(|entry| self.is_regular(entry.fact.event)) else {
                output.odd.push((number, row, seq));
                continue;
            };
            let end = block.until.get(at).copied().flatten();
            let span = end.and_then(|end| entry.last_to(end, clock));
            let bucket = bucket(entry.item);
            let Some(open) = output.open.get_mut(bucket).filter(|_| end.is_some() == span.is_some()) else {
                output.odd.push((number, row, seq));
                continue;
            };
            let Entry { item, when: Stand { ticks, .. }, fact, extra, reference } = entry;
            if let Some(id @ 0..SHARED_ID) = ids.and_then(|ids| ids.get(row)).copied() {
                let print = block.print(at, batch, row);
                let fingerprint = print.as_ref().map_or(0, Print::fingerprint);
                output.ids.push((id, fingerprint, Filed { stream: item, ticks, seq }));
                if print.is_some_and(|print| print.texts.iter().any(|text| !text.is_empty())) {
                    output.remarks.push((seq, number, row));
                }
            }
            if !self.keeps(item) {
                output.facts.add_names(fact.event, fact.conditions, extra.found);
                continue;
            }
            if span.is_some()
                && !are_plain
                && let (Some(until), Some(when)) = (batch.until.get(row), batch.when.get(row))
                && !is_plain(when, Some(until), self.zone)
            {
                output.times.push((seq, when, Some(until)));
            }
            if span.is_some() && fact.conditions != 0 {
                output.spanned.push(item);
            }
            let fact = output.facts.add_with(seq, fact, extra, Own { span, reference });
            push(open, bucket, item, Line::new(ticks, seq, fact), &mut output.full);
        }
    }
}

fn push(open: &mut Segment, bucket: usize, stream: u32, line: Line, full: &mut Vec<(usize, Segment)>) {
    if open.is_full() {
        full.push((bucket, std::mem::replace(open, Segment::with_capacity(SEGMENT))));
    }
    open.push(stream, line);
}
