//! A file seen through a window of so many bytes: what a picture claims is never read without end.

use std::io::{BufRead, Error, Read, Result, Seek, SeekFrom};

/// So much is read of one picture at most. Metadata take a few hundred KiB where thumbnails lie between.
const BUDGET: u64 = 16 << 20;

/// A reader that fails once its budget is used up. Skipping is free.
pub(crate) struct Window<R> {
    inner: R,
    at: u64,
    left: u64,
}

impl<R: BufRead + Seek> Window<R> {
    pub fn new(inner: R) -> Self {
        Self { inner, at: 0, left: BUDGET }
    }

    /// Goes to a place counted from the start; what is buffered there is not read again.
    pub fn go(&mut self, to: u64) -> Result<()> {
        let over = || Error::other("points outside of any file");
        let by = i64::try_from(i128::from(to) - i128::from(self.at)).map_err(|_| over())?;
        self.inner.seek_relative(by)?;
        self.at = to;
        Ok(())
    }

    /// Skips so many bytes.
    pub fn skip(&mut self, by: u64) -> Result<()> {
        self.go(self.at.saturating_add(by))
    }

    /// The next bytes, exactly as many.
    pub fn array<const N: usize>(&mut self) -> Result<[u8; N]> {
        let mut bytes = [0; N];
        self.read_exact(&mut bytes)?;
        Ok(bytes)
    }

    /// The next bytes, exactly as many; a length that lies costs no more memory than the file has bytes.
    pub fn bytes(&mut self, length: u64) -> Result<Vec<u8>> {
        let mut bytes = Vec::new();
        self.by_ref().take(length).read_to_end(&mut bytes)?;
        if bytes.len() as u64 == length { Ok(bytes) } else { Err(std::io::ErrorKind::UnexpectedEof.into()) }
    }

    fn pay(&mut self, read: usize) {
        self.at = self.at.saturating_add(read as u64);
        self.left = self.left.saturating_sub(read as u64);
    }

    fn check(&self) -> Result<()> {
        if self.left == 0 { Err(Error::other("has no metadata in its first 16 MiB")) } else { Ok(()) }
    }
}

impl<R: BufRead + Seek> Read for Window<R> {
    fn read(&mut self, into: &mut [u8]) -> Result<usize> {
        self.check()?;
        let room = into.len().min(usize::try_from(self.left).unwrap_or(usize::MAX));
        let read = self.inner.read(into.get_mut(..room).unwrap_or_default())?;
        self.pay(read);
        Ok(read)
    }
}

impl<R: BufRead + Seek> BufRead for Window<R> {
    fn fill_buf(&mut self) -> Result<&[u8]> {
        self.check()?;
        self.inner.fill_buf()
    }

    fn consume(&mut self, amount: usize) {
        self.inner.consume(amount);
        self.pay(amount);
    }
}

impl<R: BufRead + Seek> Seek for Window<R> {
    fn seek(&mut self, to: SeekFrom) -> Result<u64> {
        self.at = self.inner.seek(to)?;
        Ok(self.at)
    }
}
