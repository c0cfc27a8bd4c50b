//! The file around the contents: a head, then blocks with length and checksum.

use super::error::{LoadError, SaveError};
use postcard::ser_flavors::Size;
use serde::{Deserialize, Serialize};
use std::io::{ErrorKind, Read, Write};

const MAGIC: &[u8; 12] = b"kitlore book";
/// Magic, version, checksum.
const HEAD: usize = MAGIC.len() + 2 + 4;
/// Longer contents are neither written nor read.
const LONGEST: u32 = 64 << 20;

/// A block's checksum: also of its number, so that blocks cannot change places.
fn checksum(number: u32, length: u32, content: &[u8]) -> u32 {
    let mut sum = crc32fast::Hasher::new();
    sum.update(&number.to_le_bytes());
    sum.update(&length.to_le_bytes());
    sum.update(content);
    sum.finalize()
}

/// How many bytes a content takes.
pub(super) fn size(content: &impl Serialize) -> usize {
    // Every content has a form: it cannot fail.
    postcard::serialize_with_flavor(content, Size::default()).unwrap_or(0)
}

/// Writes blocks.
pub(super) struct Writer<W> {
    to: W,
    number: u32,
    room: Vec<u8>,
}

impl<W: Write> Writer<W> {
    pub fn new(mut to: W, version: u16) -> Result<Self, SaveError> {
        let mut head = MAGIC.to_vec();
        head.extend(version.to_le_bytes());
        head.extend(crc32fast::hash(&head).to_le_bytes());
        to.write_all(&head)?;
        Ok(Self { to, number: 0, room: Vec::new() })
    }

    /// Writes one block; `what` says what it holds, should it be too long.
    pub fn write(&mut self, content: &impl Serialize, what: &'static str) -> Result<(), SaveError> {
        let mut room = std::mem::take(&mut self.room);
        room.clear();
        // Every content has a form: a failure could only be one of memory.
        self.room = postcard::to_extend(content, room).map_err(|_| SaveError::TooLong(what))?;
        let length = u32::try_from(self.room.len()).ok().filter(|length| *length <= LONGEST);
        let length = length.ok_or(SaveError::TooLong(what))?;
        self.number += 1;
        self.to.write_all(&length.to_le_bytes())?;
        self.to.write_all(&checksum(self.number, length, &self.room).to_le_bytes())?;
        self.to.write_all(&self.room)?;
        Ok(())
    }

    /// How many blocks were written.
    pub fn count(&self) -> u32 {
        self.number
    }

    pub fn finish(mut self) -> Result<(), SaveError> {
        self.to.flush()?;
        Ok(())
    }
}

/// Reads blocks.
pub(super) struct Reader<R> {
    from: R,
    number: u32,
    /// Where the present block begins.
    at: u64,
    next: u64,
    room: Vec<u8>,
}

impl<R: Read> Reader<R> {
    /// Reads the head; gives the version.
    pub fn new(mut from: R) -> Result<(u16, Self), LoadError> {
        let mut room = Vec::new();
        from.by_ref().take(HEAD as u64).read_to_end(&mut room)?;
        let Some(rest) = room.strip_prefix(MAGIC) else {
            return Err(LoadError::NotABook);
        };
        let reader = Self { from, number: 0, at: 0, next: HEAD as u64, room: Vec::new() };
        let &[low, high, ref sum @ ..] = rest else {
            return Err(reader.damaged(CUT));
        };
        let sum: [u8; 4] = sum.try_into().map_err(|_| reader.damaged(CUT))?;
        let head = room.get(..MAGIC.len() + 2).unwrap_or(&[]);
        if crc32fast::hash(head) != u32::from_le_bytes(sum) {
            return Err(reader.damaged(CHANGED));
        }
        Ok((u16::from_le_bytes([low, high]), reader))
    }

    /// Reads the next block.
    pub fn read<'a, T: Deserialize<'a>>(&'a mut self) -> Result<T, LoadError> {
        self.number += 1;
        self.at = self.next;
        let mut before = [0; 8];
        self.from.read_exact(&mut before).map_err(|error| self.cut(error))?;
        let [a, b, c, d, sum @ ..] = before;
        let length = u32::from_le_bytes([a, b, c, d]);
        if length > LONGEST {
            return Err(self.damaged(CHANGED));
        }
        self.next = self.at + 8 + u64::from(length);
        self.room.clear();
        // The room grows with what comes, not with what is promised.
        self.from.by_ref().take(u64::from(length)).read_to_end(&mut self.room)?;
        if self.room.len() < length as usize {
            return Err(self.damaged(CUT));
        }
        if checksum(self.number, length, &self.room) != u32::from_le_bytes(sum) {
            return Err(self.damaged(CHANGED));
        }
        let (number, at) = (self.number, self.at);
        let unread = |_| damaged(number, at, UNREADABLE);
        let (content, rest) = postcard::take_from_bytes(&self.room).map_err(unread)?;
        if rest.is_empty() { Ok(content) } else { Err(damaged(number, at, UNREADABLE)) }
    }

    /// That nothing follows.
    pub fn finish(mut self) -> Result<(), LoadError> {
        self.at = self.next;
        self.number += 1;
        let mut more = Vec::new();
        self.from.by_ref().take(1).read_to_end(&mut more)?;
        if more.is_empty() { Ok(()) } else { Err(self.damaged("follows where the book ends")) }
    }

    /// How many blocks were read.
    pub fn count(&self) -> u32 {
        self.number
    }

    /// Which block was read last, and where it begins.
    pub fn position(&self) -> (u32, u64) {
        (self.number, self.at)
    }

    fn cut(&self, error: std::io::Error) -> LoadError {
        if error.kind() == ErrorKind::UnexpectedEof { self.damaged(CUT) } else { error.into() }
    }

    fn damaged(&self, what: &'static str) -> LoadError {
        damaged(self.number, self.at, what)
    }
}

const CUT: &str = "is cut off";
const CHANGED: &str = "is not as it was written";
/// The checksum is right: whoever wrote it wrote something else.
const UNREADABLE: &str = "holds what no book holds";

pub(super) fn damaged(block: u32, at: u64, what: &'static str) -> LoadError {
    LoadError::Damaged { block, at, what }
}
