//! A file seen through a window of so many bytes: what a picture claims is never read without end.

use std::io::{BufRead, Error, Read, Result, Seek, SeekFrom};

/// So much is read of one picture at most. Metadata take a few hundred KiB where thumbnails lie between.
const BUDGET: u64 = 16 << 20;

/// A reader that fails once its budget is used up. Skipping is free.
pub(crate) struct Window<R> {
    inner: R,
    at: u64,
    left: u64,
    /// Where the part begins that is looked at, and where it ends: the whole file at first.
    begin: u64,
    end: u64,
}

impl<R: BufRead + Seek> Window<R> {
    pub fn new(inner: R) -> Self {
        Self { inner, at: 0, left: BUDGET, begin: 0, end: u64::MAX }
    }

    /// Of what follows looks at so many bytes as if they were the file.
    pub fn part(&mut self, length: u64) -> &mut Self {
        (self.begin, self.end) = (self.at, self.at.saturating_add(length));
        self
    }

    /// Goes to the end of the part, and looks at the whole file again.
    ///
    /// # Errors
    /// The file ends within the part.
    pub fn leave(&mut self) -> Result<()> {
        let last = self.end.saturating_sub(1);
        (self.begin, self.end) = (0, u64::MAX);
        self.go(last)?;
        self.array().map(|[_]: [u8; 1]| ())
    }

    /// Goes to a place counted from the start; what is buffered there is not read again.
    pub fn go(&mut self, to: u64) -> Result<()> {
        let over = || Error::other("points outside of any file");
        let to = self.begin.checked_add(to).ok_or_else(over)?;
        let by = i64::try_from(i128::from(to) - i128::from(self.at)).map_err(|_| over())?;
        self.inner.seek_relative(by)?;
        self.at = to;
        Ok(())
    }

    /// Skips so many bytes.
    pub fn skip(&mut self, by: u64) -> Result<()> {
        self.go((self.at - self.begin).saturating_add(by))
    }

    /// The next bytes, exactly as many.
    pub fn array<const N: usize>(&mut self) -> Result<[u8; N]> {
        let mut bytes = [0; N];
        self.read_exact(&mut bytes)?;
        Ok(bytes)
    }

    /// Adds the next bytes to others, exactly as many or none; for lengths with a bound, since the memory for them is
    /// taken first.
    pub fn append(&mut self, length: usize, to: &mut Vec<u8>) -> Result<()> {
        let before = to.len();
        to.resize(before + length, 0);
        let read = self.read_exact(to.get_mut(before..).unwrap_or_default());
        if read.is_err() {
            to.truncate(before);
        }
        read
    }

    /// So many next bytes; fewer where a part ends before, for some programs count more fields than they write.
    pub fn some(&mut self, length: usize) -> Result<Vec<u8>> {
        let room = usize::try_from(self.end.saturating_sub(self.at)).unwrap_or(usize::MAX);
        let mut bytes = Vec::new();
        self.append(length.min(room), &mut bytes)?;
        Ok(bytes)
    }

    fn pay(&mut self, read: usize) {
        self.at = self.at.saturating_add(read as u64);
        self.left = self.left.saturating_sub(read as u64);
    }

    /// How many bytes may be read.
    fn room(&self) -> Result<usize> {
        if self.left == 0 {
            return Err(Error::other("has no metadata in its first 16 MiB"));
        }
        Ok(usize::try_from(self.left.min(self.end.saturating_sub(self.at))).unwrap_or(usize::MAX))
    }
}

impl<R: BufRead + Seek> Read for Window<R> {
    fn read(&mut self, into: &mut [u8]) -> Result<usize> {
        let room = into.len().min(self.room()?);
        let read = self.inner.read(into.get_mut(..room).unwrap_or_default())?;
        self.pay(read);
        Ok(read)
    }
}

impl<R: BufRead + Seek> BufRead for Window<R> {
    fn fill_buf(&mut self) -> Result<&[u8]> {
        let room = self.room()?;
        let buffered = self.inner.fill_buf()?;
        Ok(buffered.get(..room).unwrap_or(buffered))
    }

    fn consume(&mut self, amount: usize) {
        self.inner.consume(amount);
        self.pay(amount);
    }
}

impl<R: BufRead + Seek> Seek for Window<R> {
    /// In the whole file.
    fn seek(&mut self, to: SeekFrom) -> Result<u64> {
        self.at = self.inner.seek(to)?;
        Ok(self.at)
    }
}
