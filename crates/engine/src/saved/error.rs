//! Why a book could not be saved or loaded.

use std::io;

/// The version that is written.
pub(super) const VERSION: u16 = 1;

/// Why a book could not be saved.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum SaveError {
    /// The writer refuses.
    #[error("the book cannot be written: {0}")]
    Write(#[from] io::Error),
    /// One item, entry or name is longer than a block.
    #[error("the book cannot be written: {0} takes more than 64 MiB; shorten it in the table")]
    TooLong(&'static str),
    /// The book answers for some items alone.
    #[error("the book keeps only what concerns some items; save one that keeps all entries")]
    InPart,
}

/// Why a book could not be loaded.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum LoadError {
    /// The reader fails.
    #[error("the saved book cannot be read: {0}")]
    Read(#[from] io::Error),
    /// It is something else.
    #[error("this is no saved book: it does not begin as one; read the tables again and save the book anew")]
    NotABook,
    /// It was saved by a later kitlore.
    #[error(
        "this book was saved in version {0}, and this kitlore reads up to version {VERSION}; use a later kitlore, or read the tables again"
    )]
    Newer(u16),
    /// It is not as it was saved.
    #[error(
        "block {block} of the saved book, at byte {at}, {what}; read the tables again and save the book anew"
    )]
    Damaged {
        /// Which block, from 1; 0 for the head.
        block: u32,
        /// Where it begins.
        at: u64,
        /// What is wrong with it.
        what: &'static str,
    },
}

impl SaveError {
    /// The code, a word that never changes its meaning.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Write(_) => "cannot-write",
            Self::TooLong(_) => "too-long",
            Self::InPart => "in-part",
        }
    }
}

impl LoadError {
    /// The code, a word that never changes its meaning.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Read(_) => "cannot-read",
            Self::NotABook => "not-a-book",
            Self::Newer(_) => "newer-book",
            Self::Damaged { .. } => "damaged-book",
        }
    }
}
