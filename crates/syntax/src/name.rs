//! Names and the key under which two spellings are the same name.

use crate::source::Span;
use std::borrow::Cow;
use unicode_normalization::{UnicodeNormalization, is_nfc};

/// A name as written in the rules, with the key by which it is compared.
///
/// ```
/// use kitlore_syntax::Name;
/// assert_eq!(Name::new("Lens Changes").key, Name::new("lens_change").key);
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Name {
    /// As spelled, words joined by one space, quotes taken off.
    pub text: String,
    /// The comparison key, see [`key`].
    pub key: String,
    /// Where it is written.
    pub span: Span,
}

impl Name {
    /// A name that is in no source, for hosts and tests.
    pub fn new(text: &str) -> Self {
        Self::at(text, Span::default())
    }

    /// A name at a place.
    pub fn at(text: &str, span: Span) -> Self {
        Self { text: text.to_owned(), key: key(text), span }
    }
}

/// The comparison key of a name: NFC, lower case, `’` as `'`, runs of `-`, `_` and white space as one
/// space, and the last word without its plural.
///
/// ```
/// use kitlore_syntax::key;
/// assert_eq!(key("Lens-Changes"), "lens change");
/// assert_eq!(key("batteries"), "battery");
/// assert_eq!(key("lenses"), key("lens"));
/// assert_eq!(key("brushes"), "brush");
/// assert_eq!(key("chassis"), "chassis");
/// ```
pub fn key(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut gap = false;
    let spaced = |c: char| c.is_whitespace() || c == '-' || c == '_';
    let text = match is_nfc(text) {
        true => Cow::Borrowed(text),
        false => text.nfc().collect(),
    };
    for c in text.chars().flat_map(char::to_lowercase) {
        if spaced(c) {
            gap = !out.is_empty();
            continue;
        }
        if gap {
            out.push(' ');
            gap = false;
        }
        out.push(if c == '’' { '\'' } else { c });
    }
    let head = out.rfind(' ').map_or(0, |i| i + 1);
    let last = singular(out.get(head..).unwrap_or_default());
    out.truncate(head);
    out.push_str(&last);
    out
}

/// One word without its plural ending.
fn singular(word: &str) -> String {
    if word == "lens" || word == "lenses" {
        return "lens".to_owned();
    }
    let letters = |s: &str| s.chars().count();
    if let Some(stem) = word.strip_suffix("ies")
        && letters(stem) >= 2
    {
        return format!("{stem}y");
    }
    const LOSE_ES: [&str; 5] = ["sses", "shes", "ches", "xes", "zzes"];
    if LOSE_ES.iter().any(|ending| word.ends_with(ending)) {
        return word.strip_suffix("es").unwrap_or(word).to_owned();
    }
    const STAY: [&str; 3] = ["ss", "us", "is"];
    match word.strip_suffix('s') {
        Some(stem) if letters(word) > 3 && !STAY.iter().any(|e| word.ends_with(e)) => stem.to_owned(),
        _ => word.to_owned(),
    }
}
