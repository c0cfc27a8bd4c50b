//! Bytes of a text looked at eight at a time.

/// Trims a text; most need no trimming.
#[inline]
pub(crate) fn trimmed(text: &str) -> &str {
    let plain = |byte: Option<&u8>| byte.is_none_or(u8::is_ascii_graphic);
    let bytes = text.as_bytes();
    if plain(bytes.first()) && plain(bytes.last()) { text } else { text.trim() }
}

/// The high bit of each byte of `word` that is `byte`.
#[inline]
pub(crate) fn equal_bytes(word: u64, byte: u8) -> u64 {
    const LOW: u64 = 0x7F7F_7F7F_7F7F_7F7F;
    let differing = word ^ u64::from_le_bytes([byte; 8]);
    // A byte is zero where neither its low bits carry into the high one nor that is set.
    !(((differing & LOW) + LOW) | differing | LOW)
}

/// Where a text of JSON that begins with these bytes first has a quote, a backslash or a control character.
#[inline]
pub(crate) fn end_of_plain(bytes: &[u8]) -> Option<usize> {
    /// The bits that no control character has.
    const PRINTED: u64 = 0xE0E0_E0E0_E0E0_E0E0;
    let mut at = 0;
    while let Some(word) = bytes.get(at..).and_then(<[u8]>::first_chunk::<8>) {
        let word = u64::from_le_bytes(*word);
        let marks = equal_bytes(word, b'"') | equal_bytes(word, b'\\') | equal_bytes(word & PRINTED, 0);
        if marks != 0 {
            return Some(at + marks.trailing_zeros() as usize / 8);
        }
        at += 8;
    }
    let tail = bytes.get(at..)?;
    tail.iter().position(|byte| matches!(byte, b'"' | b'\\' | ..0x20)).map(|found| at + found)
}

#[cfg(test)]
mod tests {
    use super::{end_of_plain, trimmed};
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(5_000))]

        #[test]
        fn plain_bytes_end_where_one_by_one_says(text in "[ -~é\u{0}-\u{1f}]{0,20}|[a-z!#\u{7f}-\u{ff}]{0,30}[\"\\\\\t]?[a-z]{0,9}") {
            let wanted = text.bytes().position(|byte| byte == b'"' || byte == b'\\' || byte < 0x20);
            prop_assert_eq!(end_of_plain(text.as_bytes()), wanted);
        }

        #[test]
        fn trimmed_as_by_the_library(text in "[ a\u{a0}é\t]{0,6}") {
            prop_assert_eq!(trimmed(&text), text.trim());
        }
    }
}
