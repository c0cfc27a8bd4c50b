//! A reader with a limit, so that no claim of a picture makes it read without end.

use std::io::{BufRead, Error, Read, Result, Seek, SeekFrom};

/// At most so many bytes are read of one picture. Metadata take a few hundred KiB where thumbnails lie in between.
const BUDGET: u64 = 16 << 20;

/// A reader that fails once its budget is used up. Skipping is free.
pub(crate) struct BoundedReader<R> {
    inner: R,
    at: u64,
    /// How many bytes may still be read.
    left: u64,
    /// The part of the file that is visible: all of it at first.
    begin: u64,
    end: u64,
}

impl<R: BufRead + Seek> BoundedReader<R> {
    pub fn new(inner: R) -> Self {
        Self { inner, at: 0, left: BUDGET, begin: 0, end: u64::MAX }
    }

    /// Narrows the reader to the next `length` bytes, as if they were the whole file.
    pub fn part(&mut self, length: u64) -> &mut Self {
        (self.begin, self.end) = (self.at, self.at.saturating_add(length));
        self
    }

    /// Goes to the end of the part and widens the reader to the whole file again.
    ///
    /// # Errors
    /// The file ends within the part.
    pub fn leave(&mut self) -> Result<()> {
        let last = self.end.saturating_sub(1);
        (self.begin, self.end) = (0, u64::MAX);
        self.seek_to(last)?;
        self.array().map(|[_]: [u8; 1]| ())
    }

    /// Goes to an offset from the start; what is buffered there is not read again.
    pub fn seek_to(&mut self, to: u64) -> Result<()> {
        let over = || Error::other("points outside of any file");
        let to = self.begin.checked_add(to).ok_or_else(over)?;
        let by = i64::try_from(i128::from(to) - i128::from(self.at)).map_err(|_| over())?;
        self.inner.seek_relative(by)?;
        self.at = to;
        Ok(())
    }

    /// Skips `by` bytes.
    pub fn skip(&mut self, by: u64) -> Result<()> {
        self.seek_to((self.at - self.begin).saturating_add(by))
    }

    /// The next `N` bytes.
    pub fn array<const N: usize>(&mut self) -> Result<[u8; N]> {
        let mut bytes = [0; N];
        self.read_exact(&mut bytes)?;
        Ok(bytes)
    }

    /// Appends the next `length` bytes, or none where there are fewer. Only for bounded lengths: their memory is
    /// allocated first.
    pub fn append(&mut self, length: usize, to: &mut Vec<u8>) -> Result<()> {
        let before = to.len();
        to.resize(before + length, 0);
        let read = self.read_exact(to.get_mut(before..).unwrap_or_default());
        if read.is_err() {
            to.truncate(before);
        }
        read
    }

    /// The next `length` bytes, fewer where the part ends before: some programs count more fields than they write.
    pub fn up_to(&mut self, length: usize) -> Result<Vec<u8>> {
        let rest = usize::try_from(self.end.saturating_sub(self.at)).unwrap_or(usize::MAX);
        let mut bytes = Vec::new();
        self.append(length.min(rest), &mut bytes)?;
        Ok(bytes)
    }

    fn advance(&mut self, read: usize) {
        self.at = self.at.saturating_add(read as u64);
        self.left = self.left.saturating_sub(read as u64);
    }

    /// How many bytes may be read now.
    fn allowed(&self) -> Result<usize> {
        if self.left == 0 {
            return Err(Error::other("has no metadata in its first 16 MiB"));
        }
        Ok(usize::try_from(self.left.min(self.end.saturating_sub(self.at))).unwrap_or(usize::MAX))
    }
}

impl<R: BufRead + Seek> Read for BoundedReader<R> {
    fn read(&mut self, into: &mut [u8]) -> Result<usize> {
        let length = into.len().min(self.allowed()?);
        let read = self.inner.read(into.get_mut(..length).unwrap_or_default())?;
        self.advance(read);
        Ok(read)
    }
}

impl<R: BufRead + Seek> BufRead for BoundedReader<R> {
    fn fill_buf(&mut self) -> Result<&[u8]> {
        let length = self.allowed()?;
        let buffered = self.inner.fill_buf()?;
        Ok(buffered.get(..length).unwrap_or(buffered))
    }

    fn consume(&mut self, amount: usize) {
        self.inner.consume(amount);
        self.advance(amount);
    }
}

impl<R: BufRead + Seek> Seek for BoundedReader<R> {
    /// In the whole file, for readers that know nothing of parts.
    fn seek(&mut self, to: SeekFrom) -> Result<u64> {
        self.at = self.inner.seek(to)?;
        Ok(self.at)
    }
}
