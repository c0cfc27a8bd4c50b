//! A book in a file: everything that was recorded, column by column, in blocks that notice any change.
//!
//! What is saved are the entries as they were written and not what these rules made of them, so that a book
//! can be loaded under rules that were edited since. The layout, after a head (`kitlore book`, the version
//! and their checksum): blocks of a length, a CRC-32 (of the block's number, its length and its content)
//! and a content in the postcard format; the last one says how much there is of everything.
//!
//! A new version gets a module beside [`v1`], its number in [`error::VERSION`] and a line in [`load`]; what
//! older versions wrote is read as long as their modules stand.

mod blocks;
mod error;
mod rows;
mod v1;

pub use error::{LoadError, SaveError};

use crate::log::Ledger;
use crate::rules::Program;
use error::VERSION;
use std::io::{Read, Write};

/// Writes a ledger, see [`crate::Book::save`].
pub(crate) fn save(ledger: &Ledger, to: impl Write) -> Result<(), SaveError> {
    if ledger.only.is_some() {
        return Err(SaveError::InPart);
    }
    v1::save(ledger, blocks::Writer::new(to, VERSION)?)
}

/// Reads a saved ledger under any rules, see [`crate::Book::load`].
pub(crate) fn load(program: &Program, from: impl Read) -> Result<Ledger, LoadError> {
    let (version, blocks) = blocks::Reader::new(from)?;
    match version {
        1 => v1::load(program, blocks),
        later => Err(LoadError::Newer(later)),
    }
}
