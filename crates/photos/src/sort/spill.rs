//! Where pictures go that memory should not hold.

use std::path::PathBuf;

/// How many pictures stay in memory, and in which folder the temporary files for the others are.
///
/// These files have no name and disappear with the program that made them, even if it is killed.
///
/// ```
/// use kitlore_photos::{Pictures, SpillOptions};
/// let spill = SpillOptions { pictures: 100, ..SpillOptions::default() };
/// assert!(Pictures::new(spill).is_empty());
/// assert_eq!(SpillOptions::default().folder, std::env::temp_dir());
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SpillOptions {
    /// The most pictures in memory. At times they are there in three forms: as they were read, as frames and as
    /// numbered files.
    pub pictures: usize,
    /// The folder for temporary files, by default that of the system. They take about 150 bytes a picture, and
    /// twice as much with hundreds of thousands of pictures.
    pub folder: PathBuf,
}

impl Default for SpillOptions {
    fn default() -> Self {
        Self { pictures: 4_096, folder: std::env::temp_dir() }
    }
}

impl SpillOptions {
    pub(crate) fn error(&self, cause: std::io::Error) -> SpillError {
        SpillError { folder: self.folder.clone(), cause }
    }
}

/// A temporary file could not be written, or not be read back.
#[derive(Debug, thiserror::Error)]
#[error(
    "so many pictures are sorted in a temporary file in `{}`, and that failed: {cause}; check that the folder exists, can be written to and has space, or set {VARIABLE} to another one",
    folder.display()
)]
pub struct SpillError {
    /// The folder.
    pub folder: PathBuf,
    /// What the system reports.
    #[source]
    pub cause: std::io::Error,
}

/// The variable that names the system's folder for temporary files.
const VARIABLE: &str = if cfg!(windows) { "TEMP" } else { "TMPDIR" };
