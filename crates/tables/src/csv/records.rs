//! The records of a csv file with the lines they start on.
//!
//! Lines without quotes, nearly all of any log, are split where they lie; the others go through
//! csv-core. Quoting is that of RFC 4180, read leniently.

use crate::error::{ReadError, narrow};
use crate::scan::{equal_bytes, trimmed};
use crate::window::Window;
use csv_core::ReadRecordResult;
use std::io::{Empty, Read};

/// Reads one record after another.
pub(crate) struct CsvRecords<'f, R> {
    file: &'f str,
    window: Window<'f, R>,
    delimiter: u8,
    marks: Marks,
    limit: usize,
    /// The line on which the bytes at hand start.
    line: u64,
    /// Whether the last line read ended in CRLF.
    crlf: bool,
    quoted: csv_core::Reader,
    output: Vec<u8>,
    ends: Vec<usize>,
    now: Now,
}

/// What is known of the record at hand, beside its bytes.
#[derive(Debug, Default)]
struct Now {
    line: u64,
    lines: u64,
    terminated: bool,
    unclosed: bool,
    /// Whether its bytes lie in `output`, without delimiters and quotes, or where they were read.
    copied: bool,
    start: usize,
    length: usize,
    fields: usize,
}

/// One record.
#[derive(Debug, Clone, Copy)]
pub(crate) struct CsvRecord<'a> {
    /// The line on which it starts.
    pub line: u64,
    /// How many lines it goes over.
    pub lines: u64,
    /// Whether a line end follows it.
    pub terminated: bool,
    /// Whether its last quote has no end, so that it swallowed the rest of the file.
    pub unclosed: bool,
    bytes: &'a [u8],
    ends: &'a [usize],
    /// Bytes between two fields: 1 for a delimiter left in place, 0 if it was taken out.
    gap: usize,
}

/// Where a record was found: its end in the bytes at hand, and how many to be done with.
struct Found {
    length: usize,
    used: usize,
    crlf: bool,
}

impl<'f, R: Read> CsvRecords<'f, R> {
    /// Opens a table and finds out its delimiter from its first line.
    pub fn open(file: &'f str, input: R, limit: usize) -> Result<Self, ReadError> {
        let mut records = Self {
            file,
            window: Window::open(file, input)?,
            delimiter: b',',
            marks: Marks(b','),
            limit,
            line: 1,
            crlf: false,
            quoted: csv_core::Reader::new(),
            output: vec![0; 1024],
            ends: vec![0; 64],
            now: Now::default(),
        };
        records.skip_blank_lines()?;
        let first = records.peek_line()?;
        // Spreadsheet programs write and understand this line; it is no row.
        if let [b's' | b'S', b'e' | b'E', b'p' | b'P', b'=', delimiter] = *first {
            records.delimiter = delimiter;
            records.window.consume("sep=;".len());
            records.skip_blank_lines()?;
        } else {
            records.delimiter = delimiter_of(first);
        }
        records.marks = Marks(records.delimiter);
        records.quoted = quoted_reader(records.delimiter);
        Ok(records)
    }

    /// What was read of the file and not used yet, and the rest of it.
    pub fn into_rest(self) -> (Vec<u8>, R) {
        self.window.into_rest()
    }

    /// What separates the fields.
    pub fn delimiter(&self) -> u8 {
        self.delimiter
    }

    /// Whether the last record ended in CRLF.
    pub fn crlf(&self) -> bool {
        self.crlf
    }

    /// How many of the bytes at hand were used.
    pub fn used(&self) -> usize {
        self.window.position()
    }

    /// Whether the record at hand ends with the bytes at hand and `\r`, after which `\n` may follow.
    pub fn may_go_on(&self) -> bool {
        self.window.pending().is_empty() && self.window.last() == Some(&b'\r')
    }

    /// The line after the last one read.
    pub fn line(&self) -> u64 {
        self.line
    }

    /// The next record that is no blank line.
    pub fn next(&mut self) -> Result<Option<CsvRecord<'_>>, ReadError> {
        Ok(if self.advance()? { Some(self.record()) } else { None })
    }

    /// The record at hand, after [`Self::advance`].
    #[inline]
    pub fn record(&self) -> CsvRecord<'_> {
        let now = &self.now;
        CsvRecord {
            line: now.line,
            lines: now.lines,
            terminated: now.terminated,
            unclosed: now.unclosed,
            bytes: if now.copied {
                self.output.get(..now.length).unwrap_or_default()
            } else {
                self.window.used(now.start, now.length)
            },
            ends: self.ends.get(..now.fields).unwrap_or_default(),
            gap: usize::from(!now.copied),
        }
    }

    /// Goes to the next record that is no blank line; false at the end of the file.
    pub fn advance(&mut self) -> Result<bool, ReadError> {
        loop {
            let Some(found) = self.find()? else {
                self.advance_quoted()?;
                return Ok(true);
            };
            if found.length == 0 {
                if found.used == 0 {
                    return Ok(false);
                }
                self.line += 1;
                self.window.consume(found.used);
                continue;
            }
            self.ends.push(found.length);
            self.now = Now {
                line: self.line,
                lines: 1,
                terminated: found.used > found.length,
                unclosed: false,
                copied: false,
                start: self.window.position(),
                length: found.length,
                fields: self.ends.len(),
            };
            self.line += 1;
            self.crlf = found.crlf;
            self.window.consume(found.used);
            return Ok(true);
        }
    }

    /// Where the line at hand ends, unless it has a quote, and in `ends` where its fields end but the last; a line
    /// end never follows at the end of the file.
    fn find(&mut self) -> Result<Option<Found>, ReadError> {
        self.ends.clear();
        let mut looked = 0;
        loop {
            let pending = self.window.pending();
            let (length, next) = match self.marks.next_in(pending, looked, &mut self.ends) {
                Some((_, b'"')) => return Ok(None),
                Some((at, b'\n')) => return self.found(at, at + 1, false),
                Some((at, _)) => match pending.get(at + 1) {
                    Some(b'\n') => return self.found(at, at + 2, true),
                    // A line end of `\r` alone; at the end of what is at hand, `\n` may follow.
                    Some(_) => return self.found(at, at + 1, false),
                    None => (at, at + 1),
                },
                None => (pending.len(), pending.len()),
            };
            if length > self.limit {
                return Err(ReadError::record_too_large(self.file, self.line, self.limit));
            }
            looked = length;
            if !self.window.more()? {
                return self.found(length, next, false);
            }
        }
    }

    fn found(&self, length: usize, used: usize, crlf: bool) -> Result<Option<Found>, ReadError> {
        if length > self.limit {
            return Err(ReadError::record_too_large(self.file, self.line, self.limit));
        }
        Ok(Some(Found { length, used, crlf }))
    }

    /// Goes to the next record, which has a quote in its first line.
    fn advance_quoted(&mut self) -> Result<(), ReadError> {
        let line = self.line;
        self.quoted.reset();
        self.quoted.set_line(0);
        let (mut length, mut count, mut raw) = (0, 0, 0);
        let (mut at_end, mut unclosed, mut last) = (false, false, 0);
        loop {
            // At the end of the file a line end tells whether a quote is open: there it ends nothing.
            let input: &[u8] = match (at_end, unclosed) {
                (false, _) => self.window.pending(),
                (true, false) => b"\n",
                (true, true) => b"",
            };
            let room = self.output.get_mut(length..).unwrap_or_default();
            let ends = self.ends.get_mut(count..).unwrap_or_default();
            let (result, read, written, ended) = self.quoted.read_record(input, room, ends);
            (length, count) = (length + written, count + ended);
            if !at_end {
                last = input.get(read.wrapping_sub(1)).copied().unwrap_or(last);
                raw += read;
                self.window.consume(read);
                if raw > self.limit {
                    return Err(ReadError::record_too_large(self.file, self.line, self.limit));
                }
            }
            match result {
                ReadRecordResult::Record | ReadRecordResult::End => break,
                ReadRecordResult::OutputFull => self.output.resize(self.output.len() * 2, 0),
                ReadRecordResult::OutputEndsFull => self.ends.resize(self.ends.len().max(32) * 2, 0),
                ReadRecordResult::InputEmpty if at_end => unclosed = true,
                ReadRecordResult::InputEmpty => at_end = !self.window.more()?,
            }
        }
        let mut lines = self.quoted.line().saturating_sub(u64::from(at_end));
        let mut crlf = false;
        if !at_end && last == b'\r' {
            lines += 1;
            if self.window.pending().is_empty() {
                self.window.more()?;
            }
            if self.window.pending().first() == Some(&b'\n') {
                crlf = true;
                self.window.consume(1);
            }
        }
        self.line += lines;
        self.crlf = crlf;
        self.now = Now {
            line,
            lines: lines + u64::from(at_end && last != b'\n'),
            terminated: !at_end,
            unclosed,
            copied: true,
            start: 0,
            length,
            fields: count,
        };
        Ok(())
    }

    fn skip_blank_lines(&mut self) -> Result<(), ReadError> {
        loop {
            match self.window.pending() {
                [b'\n', ..] => {
                    self.line += 1;
                    self.window.consume(1);
                }
                [b'\r', b'\n', ..] => self.window.consume(1),
                [b'\r', _, ..] => {
                    self.line += 1;
                    self.window.consume(1);
                }
                [] | [b'\r'] => {
                    if !self.window.more()? {
                        return Ok(());
                    }
                }
                _ => return Ok(()),
            }
        }
    }

    /// The first line at hand.
    fn peek_line(&mut self) -> Result<&[u8], ReadError> {
        loop {
            let end = self.window.pending().iter().position(|byte| matches!(byte, b'\n' | b'\r'));
            if let Some(end) = end {
                return Ok(self.window.part(0, end));
            }
            if self.window.pending().len() > self.limit {
                return Err(ReadError::record_too_large(self.file, self.line, self.limit));
            }
            if !self.window.more()? {
                return Ok(self.window.pending());
            }
        }
    }
}

impl<'f> CsvRecords<'f, Empty> {
    /// Reads records from bytes that [`Self::refill`] brings.
    pub fn of_parts(file: &'f str, delimiter: u8, limit: usize) -> Self {
        Self {
            file,
            window: Window::empty(file, std::io::empty()),
            delimiter,
            marks: Marks(delimiter),
            limit,
            line: 1,
            crlf: false,
            quoted: quoted_reader(delimiter),
            output: vec![0; 1024],
            ends: vec![0; 64],
            now: Now::default(),
        }
    }

    /// Goes on with other bytes, whose first record starts on this line; gives back those before.
    pub fn refill(&mut self, bytes: Vec<u8>, line: u64) -> Vec<u8> {
        self.line = line;
        self.window.refill(bytes)
    }
}

/// Finds delimiters, line ends and quotes, eight bytes at a time.
#[derive(Debug, Clone, Copy)]
struct Marks(u8);

impl Marks {
    /// The first line end or quote from a place on, and on the way the places of delimiters.
    #[inline]
    fn next_in(self, bytes: &[u8], from: usize, delimiters: &mut Vec<usize>) -> Option<(usize, u8)> {
        let rest = bytes.get(from..)?;
        let (words, tail) = rest.as_chunks::<8>();
        for (number, word) in words.iter().enumerate() {
            let mut marks = self.of(word);
            while marks != 0 {
                let at = from + number * 8 + marks.trailing_zeros() as usize / 8;
                match bytes.get(at) {
                    Some(byte) if *byte == self.0 => delimiters.push(at),
                    Some(byte) => return Some((at, *byte)),
                    None => return None,
                }
                marks &= marks - 1;
            }
        }
        for (at, byte) in (bytes.len() - tail.len()..).zip(tail) {
            match byte {
                byte if *byte == self.0 => delimiters.push(at),
                b'\n' | b'\r' | b'"' => return Some((at, *byte)),
                _ => {}
            }
        }
        None
    }

    /// The high bit of each of eight bytes that is a mark.
    #[inline]
    fn of(self, word: &[u8; 8]) -> u64 {
        let word = u64::from_le_bytes(*word);
        let is = |byte| equal_bytes(word, byte);
        is(self.0) | is(b'\n') | is(b'\r') | is(b'"')
    }
}

/// A reader of records with quotes.
fn quoted_reader(delimiter: u8) -> csv_core::Reader {
    csv_core::ReaderBuilder::new().delimiter(delimiter).build()
}

/// The likeliest delimiter of a line of headings: the most frequent outside quotes.
fn delimiter_of(headings: &[u8]) -> u8 {
    let mut quoted = false;
    let (mut commas, mut semicolons, mut tabs) = (0, 0, 0);
    for byte in headings {
        match byte {
            b'"' => quoted = !quoted,
            b',' if !quoted => commas += 1,
            b';' if !quoted => semicolons += 1,
            b'\t' if !quoted => tabs += 1,
            _ => {}
        }
    }
    if tabs > commas && tabs >= semicolons {
        b'\t'
    } else if semicolons > commas {
        b';'
    } else {
        b','
    }
}

impl<'a> CsvRecord<'a> {
    /// How many fields it has.
    pub fn len(&self) -> usize {
        self.ends.len()
    }

    /// The whole record as text, if every field is UTF-8.
    pub fn text(&self) -> Option<CsvText<'a>> {
        let text = std::str::from_utf8(self.bytes).ok()?;
        // With the delimiters taken out, halves of a character could meet across two fields.
        let whole = self.gap > 0 || self.ends.iter().all(|end| text.is_char_boundary(*end));
        whole.then_some(CsvText { text, ends: self.ends, gap: self.gap })
    }

    /// Whether every field is blank.
    pub fn is_blank(&self) -> bool {
        let mut start = 0;
        self.ends.iter().all(|&end| {
            let field = self.bytes.get(start..end).unwrap_or_default();
            start = end + self.gap;
            field.trim_ascii().is_empty()
        })
    }

    /// The line as problems carry it.
    pub fn line(&self) -> u32 {
        narrow(self.line)
    }
}

/// The fields of a record.
#[derive(Debug, Clone, Copy)]
pub(crate) struct CsvText<'a> {
    text: &'a str,
    ends: &'a [usize],
    gap: usize,
}

impl<'a> CsvText<'a> {
    /// A field, trimmed; empty where the record is shorter.
    #[inline]
    pub fn field(&self, column: usize) -> &'a str {
        let Some(&end) = self.ends.get(column) else {
            return "";
        };
        let start = match column.checked_sub(1) {
            None => 0,
            Some(before) => self.ends.get(before).map_or(0, |end| end + self.gap),
        };
        trimmed(self.text.get(start..end).unwrap_or_default())
    }

    /// Every field, trimmed.
    pub fn fields(&self) -> impl Iterator<Item = &'a str> {
        (0..self.ends.len()).map(|column| self.field(column))
    }
}

#[cfg(test)]
#[path = "records_tests.rs"]
mod tests;
