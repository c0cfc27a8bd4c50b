//! Logs in csv, read in blocks by several threads.
//!
//! The calling thread cuts the file into blocks at line ends, hands them out, and files what comes back in
//! the order of the file; while it waits it reads blocks itself. A cut within quotes does no harm: the block
//! says where its last whole record ends, and what is left is read anew together with the next block.

use crate::csv_block::{Block, NAMES, Parsed, Parser, Run, Shape};
use crate::csv_names::{Keys, Learnt};
use crate::csv_records::CsvRecords;
use crate::csv_table::rows;
use crate::error::{ReadError, narrow};
use crate::field::Kind;
use crate::layout::Layout;
use crate::limits::Limits;
use crate::row::Sink;
use kitlore_engine::{ConditionsKey, EventKey, ItemKey, Keyed};
use std::collections::VecDeque;
use std::io::{Empty, Read};
use std::num::NonZeroUsize;
use std::sync::mpsc::{self, Receiver, Sender, TryRecvError};
use std::sync::{Mutex, PoisonError};

/// Bytes of a block: some thousand rows, and little enough for a processor's cache.
const BLOCK: usize = 1 << 19;

/// How a file is shared out.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Extent {
    /// Bytes of a block.
    pub block: usize,
    /// How many threads read beside the calling one.
    pub helpers: usize,
}

impl Extent {
    /// For a file of so many bytes.
    pub fn of_file(bytes: u64, threads: NonZeroUsize) -> Self {
        let bytes = usize::try_from(bytes).unwrap_or(usize::MAX);
        Self { block: BLOCK.min(bytes.saturating_add(1)), helpers: (threads.get() - 1).min(bytes / BLOCK) }
    }
}

/// A block to read, and where its answer is waited for.
struct Job {
    block: Block,
    answer: Sender<Parsed>,
}

/// Reads the rest of a log after its headings.
pub(crate) fn read<R: Read>(
    sink: &mut Sink<'_>,
    records: CsvRecords<'_, R>,
    file: &str,
    layout: &Layout,
    limits: &Limits,
    extent: Extent,
) -> Result<(), ReadError> {
    let (delimiter, line) = (records.delimiter(), records.line());
    let (pending, input) = records.into_rest();
    let mut blocks = Blocks { file, input, carried: pending, size: extent.block, state: State::Open };
    let shape = Shape::new(layout, delimiter, limits.record_bytes);
    let learnt: [Learnt; NAMES] = Default::default();
    let mut filing = Filing {
        sink,
        layout,
        limit: limits.record_bytes,
        odd: CsvRecords::of_parts(file, delimiter, limits.record_bytes),
        line,
        left: Vec::new(),
        events: Keys::new(),
        items: Keys::new(),
        conditions: Keys::new(),
        learnt: &learnt,
    };
    let (send, jobs) = mpsc::channel::<Job>();
    let jobs = Mutex::new(jobs);
    std::thread::scope(|scope| {
        // Dropped however this ends, so that the helpers end too.
        let send = send;
        for _ in 0..extent.helpers {
            let work = || {
                let mut parser = Parser::new(&shape, &learnt);
                while let Ok(job) = wait_for_job(&jobs) {
                    job.work(&mut parser);
                }
            };
            // Without a helper the calling thread does its share.
            if std::thread::Builder::new().spawn_scoped(scope, work).is_err() {
                break;
            }
        }
        let mut parser = Parser::new(&shape, &learnt);
        let mut ahead = VecDeque::new();
        loop {
            while ahead.len() < 2 * extent.helpers + 1
                && let Some(block) = blocks.next()
            {
                let (answer, parsed) = mpsc::channel();
                // The receiver outlives this loop.
                let _ = send.send(Job { block, answer });
                ahead.push_back(parsed);
            }
            let Some(parsed) = ahead.pop_front() else { break };
            // A helper that panicked gives no answer, and the scope passes its panic on.
            let Some(parsed) = wait_or_work(&parsed, &jobs, &mut parser) else { return Ok(()) };
            filing.file(parsed, &mut parser)?;
        }
        match blocks.state {
            State::Failed(error) => Err(error),
            _ => Ok(()),
        }
    })
}

fn wait_for_job(jobs: &Mutex<Receiver<Job>>) -> Result<Job, mpsc::RecvError> {
    jobs.lock().unwrap_or_else(PoisonError::into_inner).recv()
}

/// Waits for an answer, and does other jobs meanwhile.
fn wait_or_work(
    parsed: &Receiver<Parsed>,
    jobs: &Mutex<Receiver<Job>>,
    parser: &mut Parser<'_>,
) -> Option<Parsed> {
    loop {
        match parsed.try_recv() {
            Ok(parsed) => return Some(parsed),
            Err(TryRecvError::Disconnected) => return None,
            Err(TryRecvError::Empty) => {}
        }
        // A helper that waits holds the lock, and then there is no job.
        match jobs.try_lock().ok().and_then(|jobs| jobs.try_recv().ok()) {
            Some(job) => job.work(parser),
            None => return parsed.recv().ok(),
        }
    }
}

impl Job {
    fn work(self, parser: &mut Parser<'_>) {
        // Nobody waits any more where reading ended with an error.
        let _ = self.answer.send(parser.parse(self.block));
    }
}

/// A file in blocks.
struct Blocks<'f, R> {
    file: &'f str,
    input: R,
    /// Read and not yet in a block.
    carried: Vec<u8>,
    size: usize,
    state: State,
}

enum State {
    Open,
    /// The last block was given.
    Ended,
    /// It cannot be read further; what was read before is in the blocks given.
    Failed(ReadError),
}

impl<R: Read> Blocks<'_, R> {
    fn next(&mut self) -> Option<Block> {
        if !matches!(self.state, State::Open) {
            return None;
        }
        let mut bytes = std::mem::take(&mut self.carried);
        let wanted = self.size.saturating_sub(bytes.len()).max(1);
        bytes.reserve_exact(wanted);
        let limit = u64::try_from(wanted).unwrap_or(u64::MAX);
        match (&mut self.input).take(limit).read_to_end(&mut bytes) {
            Ok(read) if read == wanted => {
                if let Some(end) = memchr::memrchr(b'\n', &bytes) {
                    self.carried = bytes.split_off(end + 1);
                }
                Some(Block { bytes, last: false })
            }
            Ok(_) => {
                self.state = State::Ended;
                Some(Block { bytes, last: true })
            }
            Err(error) => {
                self.state = State::Failed(ReadError::io(self.file, error));
                Some(Block { bytes, last: false })
            }
        }
    }
}

/// Puts what was read into the book, in the order of the file.
struct Filing<'a, 'b> {
    sink: &'a mut Sink<'b>,
    layout: &'a Layout,
    limit: usize,
    /// Reads what is not plain.
    odd: CsvRecords<'a, Empty>,
    line: u64,
    /// The start of a record that did not end in its block.
    left: Vec<u8>,
    events: Keys<EventKey>,
    items: Keys<ItemKey>,
    conditions: Keys<ConditionsKey>,
    learnt: &'a [Learnt; NAMES],
}

impl Filing<'_, '_> {
    fn file(&mut self, mut parsed: Parsed, parser: &mut Parser<'_>) -> Result<(), ReadError> {
        if !self.left.is_empty() {
            let mut block = std::mem::take(&mut parsed.block);
            self.left.append(&mut block.bytes);
            block.bytes = std::mem::take(&mut self.left);
            parsed = parser.parse(block);
        }
        let mut filed = 0;
        for run in &parsed.runs {
            match run {
                Run::Plain { rows, lines, fresh } => {
                    self.resolve(&parsed, fresh);
                    self.plain(&parsed, filed, *rows);
                    filed = *rows;
                    self.line += u64::from(*lines);
                }
                Run::Odd { start, end } => {
                    self.odd(parsed.block.bytes.get(*start..*end).unwrap_or_default())?;
                }
            }
        }
        self.end_block();
        let complete = parsed.complete;
        let mut bytes = parsed.block.bytes;
        bytes.drain(..complete);
        self.left = bytes;
        // One that is too large is refused without waiting for its end.
        if self.left.len() > self.limit.saturating_add(2) {
            let left = std::mem::take(&mut self.left);
            self.odd(&left)?;
        }
        Ok(())
    }

    fn odd(&mut self, bytes: &[u8]) -> Result<(), ReadError> {
        self.odd.refill(bytes, self.line);
        rows(self.sink, &mut self.odd, self.layout, Kind::Log)?;
        self.line = self.odd.line();
        Ok(())
    }

    fn plain(&mut self, parsed: &Parsed, from: usize, to: usize) {
        for row in parsed.rows.get(from..to).unwrap_or_default() {
            let [event, item, conditions] = row.names;
            let entry = Keyed {
                when: row.when,
                event: self.events.of(event),
                item: self.items.of(item),
                amount: row.amount,
                conditions: self.conditions.of(conditions),
            };
            let line = narrow(self.line + u64::from(row.line));
            let (book, source) = self.sink.book();
            if let Err(problem) = book.record_keyed(&entry, Some((source, line))) {
                self.sink.report(line, problem);
            }
        }
    }

    /// Looks up the fresh names of a block, as many as its rows so far may have.
    fn resolve(&mut self, parsed: &Parsed, upto: &[usize; NAMES]) {
        let [events, items, conditions] = &parsed.fresh;
        let (book, _) = self.sink.book();
        let [to_event, to_item, to_conditions] = *upto;
        self.events.resolve(events, to_event, |name| book.event_key(name));
        self.items.resolve(items, to_item, |name| book.item_key(name));
        self.conditions.resolve(conditions, to_conditions, |name| book.conditions_key(name));
    }

    fn end_block(&mut self) {
        let [events, items, conditions] = self.learnt;
        self.events.end_block(events);
        self.items.end_block(items);
        self.conditions.end_block(conditions);
    }
}

#[cfg(test)]
#[path = "csv_log_tests.rs"]
mod tests;
