//! The codes of problems that tables report, beside those of the engine (`bad-time`, `missing-id` …).
//!
//! `tests/cases` holds an example of each.

use std::borrow::Cow;
use std::fmt;

/// A code: what sort of problem something is. Codes are never reused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Code {
    /// A line of jsonl is not one object, or has a key twice; it is left out.
    BadJson,
    /// A row holds bytes that are not UTF-8; it is left out.
    BadText,
    /// A cell has an error, a formula without its result, or a value that its field cannot have.
    BadValue,
    /// The last row has no line end and fewer values than headings; it is used as it stands.
    CutOff,
    /// Many times of a frame's entries are at 00:00 and others are not: they were probably dates.
    Midnights,
    /// So many problems that the rest are only counted.
    MoreProblems,
    /// A column of an inventory has values and no heading; they are not read.
    NoHeading,
    /// A reading in percent is a number of at most 1: probably a share such as 80 %.
    PercentCell,
    /// A row has more values than there are headings; it is left out.
    TooManyValues,
    /// A quote goes on over what looks like other rows, or to the end of the file.
    UnclosedQuote,
    /// A heading is no field but close to one; an attribute in an inventory, not read in a log.
    UnknownHeading,
}

impl Code {
    /// Every code, by its word.
    pub const ALL: &[Self] = &[
        Self::BadJson,
        Self::BadText,
        Self::BadValue,
        Self::CutOff,
        Self::Midnights,
        Self::MoreProblems,
        Self::NoHeading,
        Self::PercentCell,
        Self::TooManyValues,
        Self::UnclosedQuote,
        Self::UnknownHeading,
    ];

    /// Its word, such as `bad-json`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::BadJson => "bad-json",
            Self::BadText => "bad-text",
            Self::BadValue => "bad-value",
            Self::CutOff => "cut-off",
            Self::Midnights => "midnights",
            Self::MoreProblems => "more-problems",
            Self::NoHeading => "no-heading",
            Self::PercentCell => "percent-cell",
            Self::TooManyValues => "too-many-values",
            Self::UnclosedQuote => "unclosed-quote",
            Self::UnknownHeading => "unknown-heading",
        }
    }

    /// What it means, for people.
    pub const fn about(self) -> &'static str {
        match self {
            Self::BadJson => "a line of jsonl is not one object, or has a key twice; it is left out",
            Self::BadText => "a row holds bytes that are not UTF-8; it is left out",
            Self::BadValue => {
                "a cell has an error, a formula without its result, or a value that its field cannot have"
            }
            Self::CutOff => {
                "the last row has no line end and fewer values than headings; it is used as it stands"
            }
            Self::Midnights => {
                "many times of a frame's entries are at 00:00 and others are not: they were probably dates"
            }
            Self::MoreProblems => "so many problems that the rest are only counted",
            Self::NoHeading => "a column of an inventory has values and no heading; they are not read",
            Self::PercentCell => {
                "a reading in percent is a number of at most 1: probably a share such as 80 %"
            }
            Self::TooManyValues => "a row has more values than there are headings; it is left out",
            Self::UnclosedQuote => {
                "a quote goes on over what looks like other rows, or to the end of the file"
            }
            Self::UnknownHeading => {
                "a heading is no field but close to one; an attribute in an inventory, not read in a log"
            }
        }
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl From<Code> for Cow<'static, str> {
    fn from(code: Code) -> Self {
        Cow::Borrowed(code.word())
    }
}
