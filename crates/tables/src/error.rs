//! Why a table as a whole cannot be read.

use crate::limits::{Limits, size};
use crate::wording::did_you_mean;

/// Why a file cannot be read at all. A row that cannot be used is no such error: it is reported to
/// the book and the rest is read.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ReadError {
    /// The file cannot be opened or read.
    #[error("cannot read `{file}`: {cause}")]
    Io {
        /// The file.
        file: String,
        /// What the system says.
        #[source]
        cause: std::io::Error,
    },
    /// A folder, a pipe or a device.
    #[error("`{file}` is not a file; name a `.csv`, `.jsonl` or `.xlsx` file")]
    NotAFile {
        /// The file.
        file: String,
    },
    /// Some other format.
    #[error("`{file}` is {what}; {remedy}")]
    WrongFormat {
        /// The file.
        file: String,
        /// What it seems to be.
        what: &'static str,
        /// What to do.
        remedy: &'static str,
    },
    /// A bound of [`crate::Limits`] is passed.
    #[error("`{file}`{} {what}, more than the {limit} that are read; {remedy}", at_line(*.line))]
    TooLarge {
        /// The file.
        file: String,
        /// The line, where it is one row that is too large.
        line: Option<u32>,
        /// What is too large.
        what: String,
        /// The bound, as people write it.
        limit: String,
        /// What to do.
        remedy: &'static str,
    },
    /// No row of headings.
    #[error("`{file}` is empty; its first row names the columns, at least {}", quoted(.required))]
    Empty {
        /// The file.
        file: String,
        /// The fields it must have.
        required: Vec<String>,
    },
    /// A field that every row needs has no column.
    #[error("`{file}` has no column {}{}; its headings in line {line} are {}; name the column with `--columns {field}=Heading`", tick(.field), did_you_mean(.meant.as_deref()), quoted(.headings))]
    MissingColumn {
        /// The file.
        file: String,
        /// The line of the headings.
        line: u32,
        /// The field.
        field: &'static str,
        /// A heading that is close to it.
        meant: Option<String>,
        /// The headings there are.
        headings: Vec<String>,
    },
    /// A mapping to a heading that the table does not have.
    #[error("`{file}` has no heading `{heading}` for `{field}`{}; its headings in line {line} are {}", did_you_mean(.meant.as_deref()), quoted(.headings))]
    UnknownHeading {
        /// The file.
        file: String,
        /// The line of the headings.
        line: u32,
        /// The field.
        field: &'static str,
        /// The heading that was given.
        heading: String,
        /// A heading that is close to it.
        meant: Option<String>,
        /// The headings there are.
        headings: Vec<String>,
    },
    /// Two columns with one meaning.
    #[error(
        "`{file}` has two columns for `{name}` in line {line}, {}; rename one", both(.first, .second)
    )]
    DuplicateHeading {
        /// The file.
        file: String,
        /// The line of the headings.
        line: u32,
        /// The field or the attribute.
        name: String,
        /// The first heading.
        first: String,
        /// The second heading.
        second: String,
    },
    /// One heading mapped to two fields of one table.
    #[error("`{heading}` of `{file}` is given to both `{first}` and `{second}`; give it to one of them")]
    HeadingTwice {
        /// The file.
        file: String,
        /// The heading.
        heading: String,
        /// The first field.
        first: &'static str,
        /// The second field.
        second: &'static str,
    },
    /// The workbook has no such sheet.
    #[error("`{file}` has no sheet `{sheet}`{}; its sheets are {}", did_you_mean(.meant.as_deref()), quoted(.sheets))]
    UnknownSheet {
        /// The file.
        file: String,
        /// The sheet asked for; empty where the workbook has none at all.
        sheet: String,
        /// A sheet that is close to it.
        meant: Option<String>,
        /// The sheets there are.
        sheets: Vec<String>,
    },
    /// A workbook that does not hold together.
    #[error("`{file}` is damaged{}: {what}; open it in a spreadsheet program and save it again", at_line(*.line))]
    Damaged {
        /// The file.
        file: String,
        /// The row, where known.
        line: Option<u32>,
        /// What is wrong.
        what: String,
    },
    /// A format that this build leaves out.
    #[error(
        "`{file}` is {format}, which this build of kitlore does not read; the cargo feature `{format}` adds it"
    )]
    FormatLeftOut {
        /// The file.
        file: String,
        /// The format and the feature.
        format: &'static str,
    },
    /// A column of a frame of a sort that its field cannot be read from.
    #[error(
        "the column `{heading}` of `{file}` holds {found}, from which `{field}` cannot be read; {remedy}"
    )]
    ColumnType {
        /// The frame.
        file: String,
        /// The heading.
        heading: String,
        /// The field.
        field: &'static str,
        /// The type of the column.
        found: String,
        /// What to do.
        remedy: &'static str,
    },
    /// Whoever makes the batches of a frame failed.
    #[cfg(feature = "arrow")]
    #[error("cannot read `{file}`: {cause}")]
    Batches {
        /// The frame.
        file: String,
        /// What they say.
        #[source]
        cause: arrow_schema::ArrowError,
    },
}

impl ReadError {
    /// The same error so many lines further down.
    pub(crate) fn moved_down(mut self, lines: u64) -> Self {
        if let Self::TooLarge { line: Some(line), .. } = &mut self {
            *line = line.saturating_add(narrow(lines));
        }
        self
    }

    /// The stable word for this kind of error.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Io { .. } => "cannot-read",
            Self::NotAFile { .. } => "not-a-file",
            Self::WrongFormat { .. } => "wrong-format",
            Self::TooLarge { .. } => "too-large",
            Self::Empty { .. } => "empty-table",
            Self::MissingColumn { .. } => "missing-column",
            Self::UnknownHeading { .. } => "unknown-heading",
            Self::DuplicateHeading { .. } => "duplicate-heading",
            Self::HeadingTwice { .. } => "heading-twice",
            Self::UnknownSheet { .. } => "unknown-sheet",
            Self::Damaged { .. } => "damaged-workbook",
            Self::FormatLeftOut { .. } => "format-left-out",
            Self::ColumnType { .. } => "column-type",
            #[cfg(feature = "arrow")]
            Self::Batches { .. } => "batches-failed",
        }
    }

    pub(crate) fn io(file: &str, cause: std::io::Error) -> Self {
        Self::Io { file: file.to_owned(), cause }
    }

    pub(crate) fn not_text(file: &str) -> Self {
        Self::WrongFormat {
            file: file.to_owned(),
            what: "not text",
            remedy: "save the table as `CSV UTF-8` or as `.xlsx`",
        }
    }

    pub(crate) fn too_many_columns(file: &str, columns: usize, limits: &Limits) -> Self {
        Self::TooLarge {
            file: file.to_owned(),
            line: None,
            what: format!("has {columns} columns"),
            limit: limits.columns.to_string(),
            remedy: "keep the columns that matter and leave out the rest",
        }
    }

    pub(crate) fn record_too_large(file: &str, line: u64, bytes: usize) -> Self {
        Self::TooLarge {
            file: file.to_owned(),
            line: Some(narrow(line)),
            what: "has a row that is too long".to_owned(),
            limit: size(bytes as u64),
            remedy: "look there for a quote that is not closed, or shorten the text",
        }
    }
}

/// A line number as problems carry it.
pub(crate) fn narrow(line: u64) -> u32 {
    u32::try_from(line).unwrap_or(u32::MAX)
}

fn at_line(line: Option<u32>) -> String {
    line.map_or_else(String::new, |line| format!(" in line {line}"))
}

fn both(first: &str, second: &str) -> String {
    if first == second { format!("both headed `{first}`") } else { format!("`{first}` and `{second}`") }
}

fn tick(name: &str) -> String {
    format!("`{name}`")
}

/// At most 30 names in backticks; a table of a thousand columns makes no useful message.
fn quoted(names: &[String]) -> String {
    const SHOWN: usize = 30;
    let mut shown: Vec<String> = names.iter().take(SHOWN).map(|name| tick(&short(name))).collect();
    if names.len() > SHOWN {
        shown.push(format!("{} more", names.len() - SHOWN));
    }
    if shown.is_empty() { "none".to_owned() } else { shown.join(", ") }
}

/// The start of a text, for messages.
pub(crate) fn short(text: &str) -> String {
    const SHOWN: usize = 40;
    match text.char_indices().nth(SHOWN) {
        None => text.to_owned(),
        Some((end, _)) => format!("{}…", text.get(..end).unwrap_or(text)),
    }
}
