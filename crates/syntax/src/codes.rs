//! Every code a diagnostic can bear.

/// One code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Code {
    /// The word, never reused.
    pub word: &'static str,
    /// What it says, for people.
    pub about: &'static str,
    /// A text that raises it, and nothing else.
    pub example: &'static str,
}

/// The code of a word.
pub fn find(word: &str) -> Option<&'static Code> {
    ALL.iter().find(|c| c.word == word)
}

/// All codes.
pub const ALL: &[Code] = &[];
