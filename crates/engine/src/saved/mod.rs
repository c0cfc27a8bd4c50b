//! A book in a file: everything that was recorded, column by column, in blocks that notice any change.
//!
//! What is saved are the entries as they were written and not what these rules made of them, so that a book
//! can be loaded under rules that were edited since. The layout, after a head (`kitlore book`, the version
//! and their checksum): blocks of a length, a CRC-32 (of the block's number, its length and its content)
//! and a content in the postcard format; the last one says how much there is of everything.
//!
//! A new version gets a module beside [`v1`], its number in [`VERSION`] and a line in [`Book::load`]; what
//! older versions wrote is read as long as their modules stand.

mod blocks;
mod rows;
mod v1;

use crate::book::Book;
use crate::program::Program;
use std::io::{self, Read, Write};

/// The version that is written.
const VERSION: u16 = 1;

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

impl Book {
    /// Writes the book: its items, what was recorded, in which order and from which places.
    ///
    /// Who did it (`by`) and the `note` of entries without an id have no part in any answer and are not
    /// kept: a saved book is quick to read, the log stays the record. It takes up to 250 MB beside the book.
    /// The writer is flushed; a host that needs the file to survive a crash syncs it, and renames it over
    /// the one before only then.
    ///
    /// ```
    /// use kitlore_engine::{Book, Entry, Item, Program, When};
    /// let rules = Program::parse("for cameras\n after 20 lens changes, inspect sensor").unwrap();
    /// let mut book = Book::new(&rules);
    /// book.add_item(Item::new("C1", "camera")).unwrap();
    /// book.record(Entry::new("2026-02-07", "lens change").item("C1").amount(12)).unwrap();
    /// let mut file = Vec::new();
    /// book.save(&mut file).unwrap();
    ///
    /// // Overnight the house made its rule stricter.
    /// let rules = Program::parse("for cameras\n after 10 lens changes, inspect sensor").unwrap();
    /// let mut book = Book::load(&rules, &*file).unwrap();
    /// let at = rules.when_is_over(When::parse("2026-02-08").unwrap());
    /// assert_eq!(book.standings(at).rows().next().unwrap().standing.word(), "overdue");
    /// ```
    ///
    /// # Errors
    /// The writer's, and a single item or entry of more than 64 MiB.
    pub fn save(&self, to: impl Write) -> Result<(), SaveError> {
        v1::save(self, blocks::Writer::new(to, VERSION)?)
    }

    /// Reads a saved book under any rules. It then answers what a book under these rules answers into which
    /// the same tables were read. Entries that only these rules refuse are among the problems, as where a
    /// table is read.
    ///
    /// Memory stays within that of the book and one block; no length is believed before its bytes are there.
    ///
    /// # Errors
    /// The reader's; that this is no saved book, or one of a later version; that anything in it is missing or
    /// not as it was saved, with the block in which that shows. Nothing is ever read in part.
    pub fn load(program: &Program, from: impl Read) -> Result<Self, LoadError> {
        let (version, blocks) = blocks::Reader::new(from)?;
        match version {
            1 => v1::load(program, blocks),
            later => Err(LoadError::Newer(later)),
        }
    }
}
