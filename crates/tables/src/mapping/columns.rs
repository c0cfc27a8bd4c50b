//! Other people's headings: which column of a table means which field.

use super::field::Field;
use crate::wording::did_you_mean;
use kitlore_syntax::key;
use std::fmt;

/// A mapping of fields to the headings of an existing spreadsheet.
///
/// One mapping serves both the inventory and the log. A field that is not mapped is found by its own
/// name; a mapped one only under the heading given.
///
/// ```
/// use kitlore_tables::Columns;
/// let columns = Columns::parse("when=Date, item=\"Asset no\"")?;
/// assert_eq!(columns.to_string(), "when=Date,item=\"Asset no\"");
///
/// let file = "# our sheet\nwhen=Date\nitem=Asset no\n";
/// assert_eq!(Columns::parse(file)?, columns);
/// # Ok::<(), kitlore_tables::ColumnsError>(())
/// ```
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Columns {
    list: Vec<(Field, String)>,
    /// Other words for fields of a log, which are never taken for them.
    pub(super) words: Vec<(Field, String)>,
}

/// Why a text is no mapping of columns.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[non_exhaustive]
pub enum ColumnsError {
    /// The left side is no field.
    #[error("`{name}` is no field{}; the fields are {}", did_you_mean(*.meant), all_fields())]
    UnknownField {
        /// As written.
        name: String,
        /// The field that was probably meant.
        meant: Option<&'static str>,
    },
    /// A part without `=` or without a heading.
    #[error(
        "`{text}` does not say which heading a field has; write `field=Heading`, and a heading with a comma in quotes"
    )]
    Malformed {
        /// As written.
        text: String,
    },
    /// An opening quote without its end.
    #[error("the quote before `{text}` is not closed; write `field=\"Heading\"`")]
    UnclosedQuote {
        /// What follows the quote.
        text: String,
    },
    /// A field with two headings.
    #[error("`{field}` is given two headings, `{first}` and `{second}`; keep one")]
    Twice {
        /// The field.
        field: &'static str,
        /// The first heading.
        first: String,
        /// The second heading.
        second: String,
    },
}

impl ColumnsError {
    /// The stable word for this kind of error.
    pub fn code(&self) -> &'static str {
        match self {
            Self::UnknownField { .. } => "unknown-field",
            Self::Malformed { .. } => "bad-columns",
            Self::UnclosedQuote { .. } => "unclosed-quote",
            Self::Twice { .. } => "field-twice",
        }
    }
}

fn all_fields() -> String {
    let names: Vec<String> = Field::ALL.iter().map(|field| format!("`{}`", field.name())).collect();
    names.join(", ")
}

impl Columns {
    /// A mapping of nothing: every field is found by its own name.
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads `field=Heading`, one a line or several joined by commas. A heading with a comma or with
    /// spaces at its ends is quoted (`"`, doubled inside); a line that starts with `#` is a comment.
    ///
    /// # Errors
    /// An unknown field (with the close one), a part that is not `field=Heading`, a field given twice.
    pub fn parse(text: &str) -> Result<Self, ColumnsError> {
        let mut columns = Self::new();
        let text = text.trim_start_matches('\u{feff}');
        for line in text.lines().filter(|line| !line.trim_start().starts_with('#')) {
            let mut rest = line.trim();
            while !rest.is_empty() {
                let (field, heading, after) = one_part(rest)?;
                columns.set(field, &heading)?;
                rest = after.trim_start();
            }
        }
        Ok(columns)
    }

    /// Maps one field, named as in a heading.
    ///
    /// # Errors
    /// An unknown field, an empty heading, a field that already has another heading.
    ///
    /// ```
    /// let mut columns = kitlore_tables::Columns::new();
    /// columns.set("in service", "First used")?;
    /// let error = columns.set("amout", "Qty").unwrap_err();
    /// assert!(error.to_string().contains("did you mean `amount`?"));
    /// # Ok::<(), kitlore_tables::ColumnsError>(())
    /// ```
    pub fn set(&mut self, field: &str, heading: &str) -> Result<(), ColumnsError> {
        let Some(known) = Field::named(field) else {
            return Err(ColumnsError::UnknownField {
                name: field.to_owned(),
                meant: Field::meant(field, &Field::ALL),
            });
        };
        let heading = heading.trim();
        if heading.is_empty() {
            return Err(ColumnsError::Malformed { text: format!("{field}=") });
        }
        match self.heading(known) {
            Some(first) if first == heading => {}
            Some(first) => {
                return Err(ColumnsError::Twice {
                    field: known.name(),
                    first: first.to_owned(),
                    second: heading.to_owned(),
                });
            }
            None => self.list.push((known, heading.to_owned())),
        }
        Ok(())
    }

    /// Adds another word for a field of a log, as `date` is one for `when`: a column of that heading is not read, and
    /// reported with the field that was probably meant.
    ///
    /// # Errors
    /// An unknown field.
    ///
    /// ```
    /// let mut columns = kitlore_tables::Columns::new();
    /// columns.add_word("by", "technician")?;
    /// # Ok::<(), kitlore_tables::ColumnsError>(())
    /// ```
    pub fn add_word(&mut self, field: &str, word: &str) -> Result<(), ColumnsError> {
        let meant = || Field::meant(field, &Field::ALL);
        let known = Field::named(field)
            .ok_or_else(|| ColumnsError::UnknownField { name: field.to_owned(), meant: meant() })?;
        self.words.push((known, word.trim().to_owned()));
        Ok(())
    }

    /// The heading a field is mapped to.
    pub fn heading(&self, field: Field) -> Option<&str> {
        self.list.iter().find(|(mapped, _)| *mapped == field).map(|(_, heading)| heading.as_str())
    }

    /// The fields of `among` that a heading of the table is mapped to, by its text, else by its key.
    pub(crate) fn mapped(&self, heading: &str, among: &[Field]) -> Vec<Field> {
        let of_table = || self.list.iter().filter(|(field, _)| among.contains(field));
        let exact: Vec<Field> =
            of_table().filter(|(_, given)| given == heading).map(|(field, _)| *field).collect();
        if !exact.is_empty() {
            return exact;
        }
        let heading = key(heading);
        of_table().filter(|(_, given)| key(given) == heading).map(|(field, _)| *field).collect()
    }
}

/// The first `field=Heading` of a line and what follows its comma.
fn one_part(text: &str) -> Result<(&str, String, &str), ColumnsError> {
    let malformed = |part: &str| ColumnsError::Malformed { text: part.trim().to_owned() };
    let first = text.split(',').next().unwrap_or(text);
    let Some((field, rest)) = text.split_once('=').filter(|(field, _)| !field.contains(',')) else {
        return Err(malformed(first));
    };
    let rest = rest.trim_start();
    let Some(quoted) = rest.strip_prefix('"') else {
        let (heading, after) = rest.split_once(',').unwrap_or((rest, ""));
        return Ok((field.trim(), heading.trim().to_owned(), after));
    };
    let mut heading = String::new();
    let mut rest = quoted;
    loop {
        let Some((before, after)) = rest.split_once('"') else {
            return Err(ColumnsError::UnclosedQuote { text: quoted.trim().to_owned() });
        };
        heading.push_str(before);
        match after.strip_prefix('"') {
            Some(more) => {
                heading.push('"');
                rest = more;
            }
            None => {
                let after = after.trim_start();
                if after.is_empty() {
                    return Ok((field.trim(), heading, ""));
                }
                return match after.strip_prefix(',') {
                    Some(after) => Ok((field.trim(), heading, after)),
                    None => Err(malformed(after)),
                };
            }
        }
    }
}

impl fmt::Display for Columns {
    /// The command-line form.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, (field, heading)) in self.list.iter().enumerate() {
            let comma = if i == 0 { "" } else { "," };
            if heading.contains([',', '"', ' ', '#']) {
                write!(f, "{comma}{}=\"{}\"", field.name(), heading.replace('"', "\"\""))?;
            } else {
                write!(f, "{comma}{}={heading}", field.name())?;
            }
        }
        Ok(())
    }
}
