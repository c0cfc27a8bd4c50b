//! Looks into a workbook before it is opened: what it would unpack to, and the few places where a
//! hostile one makes the reader of workbooks reserve memory or overflow.
//!
//! calamine 0.38 reserves as many texts as `uniqueCount` declares, adds up the digits of cell names
//! unchecked, and keeps every style; declared sizes of a zip can be lies. So every XML part is unpacked
//! once here, through a limited reader, and looked over.

use crate::error::ReadError;
use crate::limits::{Limits, size};
use std::io::{Read, Seek, SeekFrom};
use zip::ZipArchive;

/// The longest text or tag in a part.
const RUN: usize = 1 << 20;
/// Tags in parts that are neither sheets nor texts.
const TAGS: usize = 100_000;
/// The longest number in a cell name or a count: rows end at 1,048,576.
const DIGITS: usize = 7;
/// The longest column name, `XFD`.
const LETTERS: usize = 3;
/// The end record of a zip and the longest comment after it.
const TAIL: u64 = 22 + 65_535;

/// Passes a workbook that can be opened safely, and rewinds it.
///
/// # Errors
/// It is no zip, is too large in one way or another, or is damaged.
pub(crate) fn check(file: &str, input: &mut (impl Read + Seek), limits: &Limits) -> Result<(), ReadError> {
    let bytes = input.seek(SeekFrom::End(0)).map_err(|error| ReadError::io(file, error))?;
    if bytes > limits.workbook_bytes {
        return Err(too_large(file, format!("is {} in size", size(bytes)), size(limits.workbook_bytes)));
    }
    check_directory(file, input, bytes, limits)?;
    let mut archive = ZipArchive::new(&mut *input).map_err(|error| damaged(file, &error.to_string()))?;
    if archive.len() > limits.parts {
        return Err(too_many_parts(file, archive.len(), limits));
    }
    let mut left = limits.unpacked_bytes;
    let mut text = Vec::new();
    for number in 0..archive.len() {
        let part = archive.by_index(number).map_err(|error| damaged(file, &error.to_string()))?;
        let name = part.name().map_err(|error| damaged(file, &error.to_string()))?.to_ascii_lowercase();
        // Pictures and the like are never read.
        if !(name.ends_with(".xml") || name.ends_with(".rels")) {
            continue;
        }
        let unpacked = || too_large(file, "unpacks to too much".to_owned(), size(limits.unpacked_bytes));
        if part.size() > left {
            return Err(unpacked());
        }
        text.clear();
        part.take(left + 1).read_to_end(&mut text).map_err(|error| damaged(file, &error.to_string()))?;
        left = left.checked_sub(text.len() as u64).ok_or_else(unpacked)?;
        check_part(file, &name, &text, limits)?;
    }
    input.rewind().map_err(|error| ReadError::io(file, error))
}

/// The number of parts, before a directory of millions is read.
fn check_directory(
    file: &str,
    input: &mut (impl Read + Seek),
    bytes: u64,
    limits: &Limits,
) -> Result<(), ReadError> {
    let io = |error| ReadError::io(file, error);
    input.seek(SeekFrom::Start(bytes.saturating_sub(TAIL + 20))).map_err(io)?;
    let mut tail = Vec::new();
    input.take(TAIL + 20).read_to_end(&mut tail).map_err(io)?;
    input.rewind().map_err(io)?;
    for (at, window) in tail.windows(12).enumerate() {
        match window {
            [b'P', b'K', 6, 7, ..] => {
                return Err(too_large(
                    file,
                    format!("has a 64-bit directory {} bytes before its end", tail.len() - at),
                    "usual directory".to_owned(),
                ));
            }
            [b'P', b'K', 5, 6, .., low, high] => {
                let parts = usize::from(u16::from_le_bytes([*low, *high]));
                if parts > limits.parts {
                    return Err(too_many_parts(file, parts, limits));
                }
            }
            _ => {}
        }
    }
    Ok(())
}

fn check_part(file: &str, name: &str, text: &[u8], limits: &Limits) -> Result<(), ReadError> {
    let (mut tags, mut last, mut longest) = (0_usize, 0, 0);
    for at in memchr::memchr_iter(b'<', text).chain([text.len()]) {
        tags += 1;
        longest = longest.max(at - last);
        last = at;
    }
    if longest > RUN {
        return Err(too_large(file, format!("has a text of {}", size(longest as u64)), size(RUN as u64)));
    }
    // A plain text takes four tags: `<si><t>…</t></si>`.
    let allowed = if name.ends_with("sharedstrings.xml") {
        limits.texts.saturating_mul(4)
    } else if name.contains("sheets/") && !name.ends_with("styles.xml") && !name.ends_with(".rels") {
        usize::MAX
    } else {
        TAGS
    };
    if tags > allowed {
        return Err(too_large(file, format!("has {tags} marks in `{name}`"), allowed.to_string()));
    }
    for at in memchr::memchr_iter(b'=', text) {
        let (before, after) = text.split_at(at);
        if is_counted(before.trim_ascii_end()) && !is_sane(after) {
            return Err(damaged(file, "a cell name or a count is beyond what a sheet can have"));
        }
    }
    Ok(())
}

/// Whether the attribute whose name ends here is a cell name, a range or a count of texts.
fn is_counted(before: &[u8]) -> bool {
    ["r", "ref", "uniqueCount"].iter().any(|name| {
        before.strip_suffix(name.as_bytes()).is_some_and(|rest| {
            rest.last().is_none_or(|byte| byte.is_ascii_whitespace() || matches!(byte, b'"' | b'\''))
        })
    })
}

/// Whether an attribute's value has no run of digits or letters that overflows.
fn is_sane(after: &[u8]) -> bool {
    let value = after.get(1..).unwrap_or_default().trim_ascii_start();
    let Some((quote, value)) = value.split_first().filter(|(quote, _)| matches!(quote, b'"' | b'\'')) else {
        return true;
    };
    let value = value.split(|byte| byte == quote).next().unwrap_or_default();
    let (mut digits, mut letters) = (0, 0);
    for byte in value {
        digits = if byte.is_ascii_digit() { digits + 1 } else { 0 };
        letters = if byte.is_ascii_alphabetic() { letters + 1 } else { 0 };
        if digits > DIGITS || letters > LETTERS {
            return false;
        }
    }
    true
}

fn too_many_parts(file: &str, parts: usize, limits: &Limits) -> ReadError {
    too_large(file, format!("has {parts} parts"), limits.parts.to_string())
}

fn too_large(file: &str, what: String, limit: String) -> ReadError {
    ReadError::TooLarge {
        file: file.to_owned(),
        line: None,
        what,
        limit,
        remedy: "save the one sheet that is needed as `CSV UTF-8`",
    }
}

fn damaged(file: &str, what: &str) -> ReadError {
    ReadError::Damaged { file: file.to_owned(), line: None, what: what.to_owned() }
}
