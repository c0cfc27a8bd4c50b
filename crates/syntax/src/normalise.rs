//! The first stage: one spelling of everything that has several.

use unicode_normalization::{UnicodeNormalization, is_nfc};

/// Takes the byte order mark off, makes every line end `\n`, composes characters (NFC), and turns
/// the typographic apostrophe into the plain one. Places are counted in the result.
pub(crate) fn normalise(text: &str) -> String {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let text = text.replace("\r\n", "\n").replace('\r', "\n").replace('’', "'");
    if is_nfc(&text) { text } else { text.nfc().collect() }
}
