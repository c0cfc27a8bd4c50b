//! Which pictures were read for a log before: a list beside the log, which spares reading them again.
//!
//! It only saves time. Without it all pictures are read, and the ids of the log's entries see to it that nothing
//! is added twice. A picture stands in it by a number of 128 bits made of its path, size and time of change, so
//! that a hundred thousand take 1.6 MB of memory.

use siphasher::sip128::{Hasher128, SipHasher24};
use std::fs::File;
use std::hash::Hasher;
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};

/// First line of the list.
const HEAD: &str = "kitlore: pictures read for this log, a line for each; may be deleted";

pub(crate) struct ReadBefore {
    path: PathBuf,
    /// In order.
    pictures: Vec<u128>,
}

impl ReadBefore {
    /// The list of a log: its file name with `.pictures`. One that cannot be read, or is of another form, is as
    /// none.
    pub fn of(log: &str) -> Self {
        let path = PathBuf::from(format!("{log}.pictures"));
        let mut pictures = Vec::new();
        if let Ok(file) = File::open(&path) {
            let mut lines = BufReader::new(file).lines().map_while(Result::ok);
            if lines.next().is_some_and(|head| head == HEAD) {
                pictures.extend(lines.filter_map(|line| u128::from_str_radix(&line, 16).ok()));
            }
        }
        pictures.sort_unstable();
        Self { path, pictures }
    }

    pub fn has(&self, picture: &Path) -> bool {
        !self.pictures.is_empty()
            && mark(picture).is_some_and(|picture| self.pictures.binary_search(&picture).is_ok())
    }

    /// Adds pictures and writes the list anew, beside the old one and then in its place.
    pub fn add(mut self, pictures: impl Iterator<Item = PathBuf>) -> std::io::Result<()> {
        let before = self.pictures.len();
        self.pictures.extend(pictures.filter_map(|picture| mark(&picture)));
        self.pictures.sort_unstable();
        self.pictures.dedup();
        if self.pictures.len() == before {
            return Ok(());
        }
        let folder = self.path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let mut file = tempfile::NamedTempFile::new_in(folder.unwrap_or(Path::new(".")))?;
        let mut writer = std::io::BufWriter::new(&mut file);
        writeln!(writer, "{HEAD}")?;
        for picture in &self.pictures {
            writeln!(writer, "{picture:032x}")?;
        }
        writer.flush()?;
        drop(writer);
        file.persist(&self.path)?;
        Ok(())
    }
}

/// None of a picture that is gone.
fn mark(picture: &Path) -> Option<u128> {
    let metadata = picture.metadata().ok()?;
    let changed = metadata.modified().ok()?.duration_since(std::time::UNIX_EPOCH).ok()?.as_nanos();
    let mut hasher = SipHasher24::new();
    hasher.write(&metadata.len().to_le_bytes());
    hasher.write(&changed.to_le_bytes());
    hasher.write(std::path::absolute(picture).ok()?.as_os_str().as_encoded_bytes());
    Some(hasher.finish128().as_u128())
}
