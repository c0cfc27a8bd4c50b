//! Logs in csv, read in blocks by several threads.
//!
//! The calling thread cuts the file into blocks at line ends, hands them out, and files what comes back in
//! the order of the file; while it waits it reads blocks itself. A cut within quotes does no harm: the block
//! says where its last whole record ends, and what is left is read anew together with the next block.

use crate::csv_block::{Block, NAMES, Parsed, Parser, Shape};
use crate::csv_filing::Filing;
use crate::csv_names::Learnt;
use crate::csv_records::CsvRecords;
use crate::error::ReadError;
use crate::layout::Layout;
use crate::limits::Limits;
use crate::row::Sink;
use std::collections::VecDeque;
use std::io::Read;
use std::num::NonZeroUsize;
use std::sync::mpsc::{self, Receiver, Sender, TryRecvError};
use std::sync::{Mutex, PoisonError};

/// Bytes of a block: some thousand rows, and little enough for a processor's cache.
const BLOCK: usize = 1 << 18;

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
    let odd = CsvRecords::of_parts(file, delimiter, limits.record_bytes);
    let threads = NonZeroUsize::MIN.saturating_add(extent.helpers);
    let mut filing = Filing::new(sink, layout, odd, line, &learnt, threads);
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
            let left = filing.file(parsed, &mut parser)?;
            // A record that is too large is refused without waiting for its end.
            if left > limits.record_bytes.saturating_add(2) {
                filing.read_left()?;
            }
        }
        filing.record_held();
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

#[cfg(test)]
#[path = "csv_log_tests.rs"]
mod tests;
