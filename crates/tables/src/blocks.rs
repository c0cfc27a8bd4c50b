//! Files cut into blocks of whole lines, which several threads read at a time.

use crate::batch::{Rows, Sink};
use crate::error::ReadError;
use kitlore_engine::Book;
use std::io::Read;
use std::num::NonZeroUsize;

/// Bytes of a block: enough rows to be worth a thread, and little enough to be read before many are recorded.
const BLOCK: usize = 1 << 22;

/// How a file is shared out.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Extent {
    /// Bytes of a block.
    pub block: usize,
    /// How many threads read blocks, and record what is in them.
    pub threads: NonZeroUsize,
}

impl Extent {
    /// For a file of so many bytes.
    pub fn of_file(bytes: u64, threads: NonZeroUsize) -> Self {
        /// Fewer bytes are not worth a thread.
        const SHARE: usize = 1 << 19;
        let bytes = usize::try_from(bytes).unwrap_or(usize::MAX);
        let useful = NonZeroUsize::new(bytes / SHARE).unwrap_or(NonZeroUsize::MIN);
        let threads = threads.min(useful);
        let block = bytes.div_ceil(threads.get()).saturating_add(1);
        Self { block: block.clamp(1, BLOCK), threads }
    }
}

/// Bytes of a file that begin with a line.
#[derive(Debug, Default)]
pub(crate) struct Block {
    pub bytes: Vec<u8>,
    /// Whether the file ends with it.
    pub last: bool,
}

impl Block {
    /// Adds bytes that come before the others.
    fn put_before(&mut self, mut bytes: Vec<u8>) {
        if !bytes.is_empty() {
            bytes.append(&mut self.bytes);
            self.bytes = bytes;
        }
    }
}

/// A file in blocks.
pub(crate) struct Blocks<'f, R> {
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

impl<'f, R: Read> Blocks<'f, R> {
    /// The rest of a file, of which some bytes were read.
    pub fn new(file: &'f str, read: Vec<u8>, input: R, size: usize) -> Self {
        Self { file, input, carried: read, size, state: State::Open }
    }

    /// The next blocks, as many as there are threads; none at the end.
    pub fn next(&mut self, threads: NonZeroUsize) -> Vec<Block> {
        (0..threads.get()).map_while(|_| self.next_block()).collect()
    }

    fn next_block(&mut self) -> Option<Block> {
        if !matches!(self.state, State::Open) {
            return None;
        }
        let mut bytes = std::mem::take(&mut self.carried);
        let wanted = self.size.saturating_sub(bytes.len()).max(1);
        bytes.reserve_exact(wanted);
        let limit = u64::try_from(wanted).unwrap_or(u64::MAX);
        let last = match (&mut self.input).take(limit).read_to_end(&mut bytes) {
            Ok(read) if read == wanted => {
                if let Some(end) = memchr::memrchr(b'\n', &bytes) {
                    self.carried = bytes.split_off(end + 1);
                }
                false
            }
            Ok(_) => {
                self.state = State::Ended;
                true
            }
            Err(error) => {
                self.state = State::Failed(ReadError::io(self.file, error));
                false
            }
        };
        Some(Block { bytes, last })
    }

    /// Why it could not be read to its end, if it could not.
    pub fn failed(self) -> Result<(), ReadError> {
        match self.state {
            State::Failed(error) => Err(error),
            State::Open | State::Ended => Ok(()),
        }
    }
}

/// What was read of a block.
pub(crate) struct Decoded {
    /// Its rows and problems, lines counted from 0.
    pub rows: Rows,
    /// How many lines they go over.
    pub lines: u64,
    pub block: Block,
    /// Where the first record begins that does not end within the block.
    pub complete: usize,
    /// Why nothing after the rows is read.
    pub error: Option<ReadError>,
}

/// So many rows are held back to be recorded at once, which is quicker.
const HELD: usize = 1 << 21;

/// Reads a log block by block, several at a time, and records what is in them in the order of the file; the first
/// block begins on `line`.
///
/// `decode` reads one block, with what is known of the file, and gives what is known then if that is more.
pub(crate) fn record<R: Read, S: Send + Sync>(
    sink: &mut Sink<'_>,
    mut blocks: Blocks<'_, R>,
    (mut line, record_bytes, extent): (u64, usize, Extent),
    known: &mut S,
    decode: impl Fn(Block, &Book, &S) -> (Decoded, Option<S>) + Sync,
) -> Result<(), ReadError> {
    let mut held: Vec<Rows> = Vec::new();
    let mut left: Vec<u8> = Vec::new();
    let mut error = None;
    while error.is_none() {
        let mut group = blocks.next(extent.threads);
        let Some(first) = group.first_mut() else { break };
        first.put_before(std::mem::take(&mut left));
        let book = sink.book();
        let decoded = by_threads(group, extent.threads, |block| decode(block, book, known));
        let mut settled = Vec::with_capacity(decoded.len());
        let mut learned = false;
        for (mut one, mut more) in decoded {
            // What the block before had left belongs to this one, and it may have learned what this one did.
            if !left.is_empty() || learned && more.is_some() {
                one.block.put_before(std::mem::take(&mut left));
                (one, more) = decode(one.block, book, known);
            }
            // A record that is too large is refused without waiting for its end.
            if one.block.bytes.len() - one.complete > record_bytes.saturating_add(2) {
                one.block.last = true;
                (one, more) = decode(one.block, book, known);
            }
            if let Some(more) = more {
                *known = more;
                learned = true;
            }
            left = one.block.bytes.split_off(one.complete);
            one.rows.move_down(line);
            settled.push(one.rows);
            error = one.error.map(|error| error.moved_down(line));
            line += one.lines;
            if error.is_some() {
                break;
            }
        }
        for mut rows in settled {
            sink.settle(&mut rows);
            held.push(rows);
        }
        if held.iter().map(Rows::len).sum::<usize>() >= HELD {
            sink.record(std::mem::take(&mut held), extent.threads);
        }
    }
    sink.record(held, extent.threads);
    error.map_or_else(|| blocks.failed(), Err)
}

/// Does some work by as many threads as given, each piece by one; the results are in order.
pub(crate) fn by_threads<T: Send, R: Send>(
    pieces: Vec<T>,
    threads: NonZeroUsize,
    work: impl Fn(T) -> R + Sync,
) -> Vec<R> {
    if threads == NonZeroUsize::MIN || pieces.len() < 2 {
        return pieces.into_iter().map(work).collect();
    }
    let work = &work;
    std::thread::scope(|scope| {
        let running: Vec<_> = pieces.into_iter().map(|piece| scope.spawn(move || work(piece))).collect();
        let join = |thread: std::thread::ScopedJoinHandle<'_, R>| match thread.join() {
            Ok(result) => result,
            Err(panic) => std::panic::resume_unwind(panic),
        };
        running.into_iter().map(join).collect()
    })
}

#[cfg(test)]
#[path = "blocks_tests.rs"]
pub(crate) mod tests;
