//! What in the inventory or the log could not be used, or is doubtful.

use crate::codes::Code;
use std::borrow::Cow;
use std::sync::Arc;

/// A place in a table: the name of the source and the line in it.
#[derive(Debug, Clone, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize))]
pub struct Place {
    /// The source as people see it, usually a file name.
    pub source: Arc<str>,
    /// The line, from 1; for a frame the row.
    pub line: u32,
}

impl Place {
    /// A place.
    pub fn new(source: impl Into<Arc<str>>, line: u32) -> Self {
        Self { source: source.into(), line }
    }
}

/// One record that could not be used, or one doubt about it.
///
/// Codes are words, documented in [`crate::codes`], and never change their meaning.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The code, such as `unknown-event`.
    pub code: Cow<'static, str>,
    /// For people: what is wrong and what to do; lower case, no full stop.
    pub message: String,
    /// Where, if the record came from a table.
    pub place: Option<Place>,
    /// The name that was probably meant.
    pub meant: Option<String>,
}

impl Problem {
    /// A problem of a code.
    pub fn new(code: impl Into<Cow<'static, str>>, message: impl Into<String>) -> Self {
        Self { code: code.into(), message: message.into(), place: None, meant: None }
    }

    /// A completion that counts for none of the items it is for.
    pub(crate) fn unknown_task(task: &str, item: &str) -> Self {
        let whose = if item.is_empty() { "any item".to_owned() } else { format!("`{item}`") };
        let message = format!("no rule for `{task}` applies to {whose}; this entry does not count as done");
        Self::new(Code::UnknownTaskForItem, message)
    }

    /// The same problem at a place.
    pub fn at(mut self, place: Option<Place>) -> Self {
        self.place = place;
        self
    }

    /// The same problem with the name that was probably meant.
    pub fn meant(mut self, name: Option<impl Into<String>>) -> Self {
        self.meant = name.map(Into::into);
        self
    }

    /// What is wrong, with the name that was probably meant and without the place.
    ///
    /// ```
    /// use kitlore_engine::Problem;
    /// let problem = Problem::new("unknown-event", "no rule knows the event `tirp`").meant(Some("trip"));
    /// assert_eq!(problem.words(), "no rule knows the event `tirp` (did you mean `trip`?)");
    /// ```
    pub fn words(&self) -> String {
        match &self.meant {
            Some(meant) => format!("{} (did you mean `{meant}`?)", self.message),
            None => self.message.clone(),
        }
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if let Some(place) = &self.place {
            write!(f, "{}:{}: ", place.source, place.line)?;
        }
        f.write_str(&self.words())
    }
}

impl std::error::Error for Problem {}

#[cfg(feature = "serde")]
impl serde::Serialize for Problem {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        use serde::ser::SerializeStruct;
        let mut fields = serializer.serialize_struct("Problem", 5)?;
        fields.serialize_field("code", &self.code)?;
        fields.serialize_field("message", &self.message)?;
        fields.serialize_field("source", &self.place.as_ref().map(|p| &p.source))?;
        fields.serialize_field("line", &self.place.as_ref().map(|p| p.line))?;
        fields.serialize_field("meant", &self.meant)?;
        fields.end()
    }
}
