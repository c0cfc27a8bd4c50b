//! What in the inventory or the log could not be used, or is doubtful.
//!
//! A problem is data: a code, a sentence whose arguments are left open, and the arguments. Its sentence is written
//! only when it is shown. It stands here and not in a crate of words because every crate and every host reports
//! problems of its own, each in a sentence of its own.

use crate::codes::Code;
use kitlore_syntax::{Amount, CodeWord};
use std::borrow::Cow;
use std::fmt;
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
/// Codes are words, documented in [`crate::codes`], and never change their meaning. The sentence names its arguments
/// in braces, so that it is the same for all problems of one sort, and can be rendered in other words or another language.
///
/// ```
/// use kitlore_engine::Problem;
/// let problem = |id: &str| Problem::new("no-serial", "`{item}` has no serial number").with("item", id);
/// assert_eq!(problem("C1").to_string(), "`C1` has no serial number");
/// assert_eq!(problem("C1").sort(), problem("C2").sort());
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Problem {
    /// The code, such as `unknown-event`; see [`Problem::is`].
    pub code: CodeWord,
    sentence: Cow<'static, str>,
    arguments: Vec<(Cow<'static, str>, Argument)>,
    /// Where, if the record came from a table.
    pub place: Option<Place>,
    /// The name that was probably meant.
    pub meant: Option<String>,
}

/// What a problem's sentence says of this problem and not of all of its sort.
#[derive(Debug, Clone, PartialEq, Eq)]
#[non_exhaustive]
pub enum Argument {
    /// A name or another text of the rules or the data.
    Text(String),
    /// How many.
    Count(u64),
    /// How much.
    Amount(Amount),
    /// Words that make the sentence another one: problems that differ in them are of different sorts.
    Words(Cow<'static, str>),
}

impl Problem {
    /// A problem of a code. In the sentence, lower case and without full stop, `{name}` stands for the argument of
    /// that name, see [`Problem::with`]; other braces stand for themselves.
    pub fn new(code: impl Into<CodeWord>, sentence: impl Into<Cow<'static, str>>) -> Self {
        Self { code: code.into(), sentence: sentence.into(), arguments: Vec::new(), place: None, meant: None }
    }

    /// A completion that counts for none of the items it is for.
    pub(crate) fn unknown_task(task: &str, item: &str) -> Self {
        let sentence = match item {
            "" => "no rule for `{task}` applies to any item; this entry does not count as done",
            _ => "no rule for `{task}` applies to `{item}`; this entry does not count as done",
        };
        Self::new(Code::UnknownTaskForItem, sentence).with("task", task).with("item", item)
    }

    /// A cell that is no time or number.
    pub fn unreadable(code: impl Into<CodeWord>, field: &str, text: &str, error: impl fmt::Display) -> Self {
        let problem = Self::new(code, "`{field}` `{text}` {error}").with("field", field).with("text", text);
        problem.with("error", Argument::Words(error.to_string().into()))
    }

    /// The same problem with an argument of its sentence.
    pub fn with(mut self, name: impl Into<Cow<'static, str>>, argument: impl Into<Argument>) -> Self {
        self.arguments.push((name.into(), argument.into()));
        self
    }

    /// The same problem with more to say, after a semicolon.
    pub fn then(mut self, more: &str) -> Self {
        let sentence = self.sentence.to_mut();
        sentence.push_str("; ");
        sentence.push_str(more);
        self
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

    /// Whether it is of a code.
    ///
    /// ```
    /// use kitlore_engine::{Item, Problem, codes::Code};
    /// assert!(Problem::new(Code::NoStart, "this item has no date").is(Code::NoStart));
    /// ```
    pub fn is(&self, code: impl Into<CodeWord>) -> bool {
        self.code == code.into()
    }

    /// The arguments of the sentence, by name.
    pub fn arguments(&self) -> impl Iterator<Item = (&str, &Argument)> {
        self.arguments.iter().map(|(name, argument)| (&**name, argument))
    }

    /// The first name or text that it is about.
    pub fn subject(&self) -> Option<&str> {
        self.arguments.iter().find_map(|(_, argument)| match argument {
            Argument::Text(text) => Some(text.as_str()),
            _ => None,
        })
    }

    /// Its code and its sentence with the arguments left open: alike for problems of one sort.
    pub fn sort(&self) -> (&CodeWord, Cow<'_, str>) {
        let words = |argument: &Argument| match argument {
            Argument::Words(words) => Some(words.to_string()),
            _ => None,
        };
        let has_words = self.arguments.iter().any(|(_, argument)| words(argument).is_some());
        let sentence = if has_words { self.fill(words).into() } else { Cow::Borrowed(&*self.sentence) };
        (&self.code, sentence)
    }

    /// For people: what is wrong and what to do; lower case, no full stop.
    pub fn message(&self) -> String {
        self.fill(|argument| Some(argument.to_string()))
    }

    /// The sentence with the arguments that are shown in their places.
    fn fill(&self, shown: impl Fn(&Argument) -> Option<String>) -> String {
        let mut text = String::with_capacity(self.sentence.len());
        let mut rest = &*self.sentence;
        while let Some((before, after)) = rest.split_once('{') {
            text.push_str(before);
            let argument = after.split_once('}').and_then(|(name, after)| {
                let (_, argument) = self.arguments.iter().find(|(of, _)| of == name)?;
                Some((shown(argument)?, after))
            });
            rest = match argument {
                Some((argument, after)) => {
                    text.push_str(&argument);
                    after
                }
                None => {
                    text.push('{');
                    after
                }
            };
        }
        text.push_str(rest);
        text
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
            Some(meant) => format!("{} (did you mean `{meant}`?)", self.message()),
            None => self.message(),
        }
    }
}

impl fmt::Display for Argument {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Text(text) => f.write_str(text),
            Self::Count(count) => write!(f, "{count}"),
            Self::Amount(amount) => write!(f, "{amount}"),
            Self::Words(words) => f.write_str(words),
        }
    }
}

impl From<&str> for Argument {
    fn from(text: &str) -> Self {
        Self::Text(text.to_owned())
    }
}

impl From<String> for Argument {
    fn from(text: String) -> Self {
        Self::Text(text)
    }
}

impl From<u64> for Argument {
    fn from(count: u64) -> Self {
        Self::Count(count)
    }
}

impl From<usize> for Argument {
    fn from(count: usize) -> Self {
        Self::Count(count as u64)
    }
}

impl From<Amount> for Argument {
    fn from(amount: Amount) -> Self {
        Self::Amount(amount)
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
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
        fields.serialize_field("code", &*self.code)?;
        fields.serialize_field("message", &self.message())?;
        fields.serialize_field("source", &self.place.as_ref().map(|p| &p.source))?;
        fields.serialize_field("line", &self.place.as_ref().map(|p| p.line))?;
        fields.serialize_field("meant", &self.meant)?;
        fields.end()
    }
}
