//! Where pictures are kept while they are put in order.

use std::path::PathBuf;

/// How many pictures are kept in memory, and in which folder the others go to temporary files.
///
/// These files have no name and are gone with what made them, also when a program is broken off.
///
/// ```
/// use kitlore_photos::{Pictures, Room};
/// let room = Room { pictures: 100, ..Room::default() };
/// assert!(Pictures::new(room).is_empty());
/// assert_eq!(Room::default().folder, std::env::temp_dir());
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Room {
    /// So many are kept in memory, at most three times: as they were read, as frames and as numbered files.
    pub pictures: usize,
    /// The system's folder for temporary files, unless another is named. What goes there takes about 150 bytes a
    /// picture, and twice that of each where they are hundreds of thousands.
    pub folder: PathBuf,
}

impl Default for Room {
    fn default() -> Self {
        Self { pictures: 4_096, folder: std::env::temp_dir() }
    }
}

impl Room {
    pub(crate) fn error(&self, cause: std::io::Error) -> RoomError {
        RoomError { folder: self.folder.clone(), cause }
    }
}

/// Pictures could not be kept in a temporary file, or not be read from it again.
#[derive(Debug, thiserror::Error)]
#[error(
    "so many pictures are put in order in a temporary file in `{}`, and that failed: {cause}; see that the folder is there, may be written to and has room, or name another one in {VARIABLE}",
    folder.display()
)]
pub struct RoomError {
    /// The folder.
    pub folder: PathBuf,
    /// What the system says.
    #[source]
    pub cause: std::io::Error,
}

/// By what the system's folder for temporary files is named.
const VARIABLE: &str = if cfg!(windows) { "TEMP" } else { "TMPDIR" };
