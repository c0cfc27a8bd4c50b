//! Saved books: any bytes load as a book that answers, or are refused with a code.

use crate::answers::{answered, end_of};
use crate::tables::PROGRAM;
use kitlore_engine::Book;

const MAGIC: &[u8] = b"kitlore book";

/// A file of bytes that begin as one; else of contents of blocks, sealed here so that what is inside is reached.
pub(crate) fn saved(data: &[u8]) {
    if data.starts_with(MAGIC) { loaded(data) } else { loaded(&sealed(data)) }
}

fn loaded(file: &[u8]) {
    let mut book = match Book::load(&PROGRAM, file) {
        Ok(book) => book,
        Err(error) => {
            assert!(!error.code().is_empty() && !error.to_string().is_empty());
            return;
        }
    };
    // Saved again it is the same book.
    let mut again = Vec::new();
    book.save(&mut again).expect("what was loaded can be saved");
    let mut other = Book::load(&PROGRAM, &*again).expect("what was saved can be loaded");
    let at = end_of(&book, "2026-06-30");
    let answer = |book: &mut Book| crate::answers::json(&answered(book, at));
    assert_eq!(answer(&mut book), answer(&mut other), "saved and loaded, another answer");
    assert_eq!(book.len(), other.len());
}

/// The contents of the blocks of a saved book, each after its length in two bytes; nothing of one whose
/// contents are longer.
///
/// ```
/// let mut file = Vec::new();
/// kitlore_engine::Book::new(&kitlore_engine::Program::parse("every trip, look").unwrap()).save(&mut file).unwrap();
/// assert_eq!(kitlore_laws::sealed(&kitlore_laws::opened(&file).unwrap()), file);
/// ```
pub fn opened(file: &[u8]) -> Option<Vec<u8>> {
    let mut rest = file.get(MAGIC.len() + 6..)?;
    let mut contents = Vec::new();
    while !rest.is_empty() {
        let length = u32::from_le_bytes(rest.get(..4)?.try_into().ok()?);
        contents.extend(u16::try_from(length).ok()?.to_le_bytes());
        contents.extend(rest.get(8..8 + length as usize)?);
        rest = rest.get(8 + length as usize..)?;
    }
    Some(contents)
}

/// A file of such contents, with all its checksums.
pub fn sealed(contents: &[u8]) -> Vec<u8> {
    let mut file = MAGIC.to_vec();
    file.extend(1_u16.to_le_bytes());
    file.extend(crc32fast::hash(&file).to_le_bytes());
    let mut rest = contents;
    let mut number = 0_u32;
    while let Some((length, after)) = rest.split_first_chunk::<2>() {
        let (content, after) = after.split_at(usize::from(u16::from_le_bytes(*length)).min(after.len()));
        let length = content.len() as u32;
        number += 1;
        let mut sum = crc32fast::Hasher::new();
        sum.update(&number.to_le_bytes());
        sum.update(&length.to_le_bytes());
        sum.update(content);
        file.extend(length.to_le_bytes());
        file.extend(sum.finalize().to_le_bytes());
        file.extend(content);
        rest = after;
    }
    file
}
