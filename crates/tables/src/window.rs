//! A window on a text file that slides along it and never grows beyond one record.

use crate::error::ReadError;
use std::io::Read;

/// What is read at a time.
const STEP: usize = 64 * 1024;

/// The bytes of a stream that were read and not yet used.
pub(crate) struct Window<'f, R> {
    file: &'f str,
    input: R,
    buffer: Vec<u8>,
    start: usize,
    end: usize,
    at_end: bool,
}

impl<'f, R: Read> Window<'f, R> {
    /// The start of a text file, without its byte order mark.
    ///
    /// # Errors
    /// It cannot be read, or is no UTF-8 text to judge by its first bytes.
    pub fn open(file: &'f str, input: R) -> Result<Self, ReadError> {
        let mut window = Self { file, input, buffer: vec![0; STEP], start: 0, end: 0, at_end: false };
        while window.pending().len() < 4 && window.more()? {}
        let wrong = |what| ReadError::WrongFormat {
            file: file.to_owned(),
            what,
            remedy: "save the table as `CSV UTF-8` or as `.xlsx`",
        };
        match window.pending() {
            [0xEF, 0xBB, 0xBF, ..] => window.consume(3),
            [0xFF, 0xFE, ..] | [0xFE, 0xFF, ..] => return Err(wrong("text in UTF-16")),
            _ => {}
        }
        if window.pending().iter().take(STEP).any(|byte| *byte == 0) {
            return Err(ReadError::not_text(file));
        }
        Ok(window)
    }

    /// A window without a stream behind it, for [`Self::refill`].
    pub fn empty(file: &'f str, input: R) -> Self {
        Self { file, input, buffer: Vec::new(), start: 0, end: 0, at_end: true }
    }

    /// Has these bytes at hand and nothing after them; gives back those before.
    pub fn refill(&mut self, bytes: Vec<u8>) -> Vec<u8> {
        (self.start, self.end) = (0, bytes.len());
        std::mem::replace(&mut self.buffer, bytes)
    }

    /// The bytes at hand, and the stream they are from.
    pub fn into_rest(mut self) -> (Vec<u8>, R) {
        self.buffer.truncate(self.end);
        self.buffer.drain(..self.start);
        (self.buffer, self.input)
    }

    /// The bytes at hand.
    pub fn pending(&self) -> &[u8] {
        self.buffer.get(self.start..self.end).unwrap_or_default()
    }

    /// The last byte of all that was at hand.
    pub fn last(&self) -> Option<&u8> {
        self.buffer.get(..self.end).and_then(<[u8]>::last)
    }

    /// A part of the bytes at hand.
    pub fn part(&self, from: usize, to: usize) -> &[u8] {
        self.pending().get(from..to).unwrap_or_default()
    }

    /// Is done with the first `count` bytes.
    pub fn consume(&mut self, count: usize) {
        self.start = (self.start + count).min(self.end);
    }

    /// Where the bytes at hand start, for [`Self::used`].
    pub fn position(&self) -> usize {
        self.start
    }

    /// Bytes that were at hand at a position; they stay until more is read.
    #[inline]
    pub fn used(&self, position: usize, length: usize) -> &[u8] {
        self.buffer.get(position..position + length).unwrap_or_default()
    }

    /// Reads on; false at the end of the file.
    pub fn more(&mut self) -> Result<bool, ReadError> {
        if self.at_end {
            return Ok(false);
        }
        if self.end == self.buffer.len() {
            self.buffer.copy_within(self.start..self.end, 0);
            self.end -= self.start;
            self.start = 0;
            if self.end > self.buffer.len() / 2 {
                self.buffer.resize(self.buffer.len() * 2, 0);
            }
        }
        loop {
            let room = self.buffer.get_mut(self.end..).unwrap_or_default();
            match self.input.read(room) {
                Ok(0) => {
                    self.at_end = true;
                    return Ok(false);
                }
                Ok(count) => {
                    self.end += count;
                    return Ok(true);
                }
                Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
                Err(error) => return Err(ReadError::io(self.file, error)),
            }
        }
    }
}
