//! What is wrong or doubtful in a rule text, as plain data; hosts draw it.

use crate::codes::Code;
use crate::source::{Sources, Span};
use std::fmt;

/// Whether a finding stops the rules.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Severity {
    /// The rules are refused.
    Error,
    /// The rules are accepted; it is probably not what was meant.
    Doubt,
}

/// One mistake or doubt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// What sort of mistake or doubt it is.
    pub code: Code,
    /// Error or doubt.
    pub severity: Severity,
    /// What is wrong; lower case, no full stop.
    pub message: String,
    /// The text it is about.
    pub span: Span,
    /// A second place that belongs to it, with a label for it.
    pub second: Option<(Span, String)>,
    /// How to write it right.
    pub help: Option<String>,
    /// The only correction that the parser takes, where there is one; `help` shows it.
    pub fix: Option<Fix>,
}

/// A correction of a text: with it there are fewer mistakes or doubts, and no new ones.
///
/// ```
/// use kitlore_syntax::{NoIncludes, parse};
/// let text = "evry 3 months, wipe body";
/// let wrong = parse("house.lore", text, &NoIncludes).unwrap_err();
/// let fix = wrong.list[0].fix.as_ref().unwrap();
/// assert_eq!(fix.applied(text), "every 3 months, wipe body");
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fix {
    /// What is replaced: all in one source, in order of place, none over another.
    pub edits: Vec<Edit>,
}

/// A text in place of another.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Edit {
    /// What is replaced; empty where something is put in.
    pub span: Span,
    /// What stands there then.
    pub text: String,
}

impl Fix {
    /// One text in place of another.
    pub(crate) fn replace(span: Span, text: impl Into<String>) -> Self {
        Self { edits: vec![Edit { span, text: text.into() }] }
    }

    /// The text of the source with this correction.
    pub fn applied(&self, text: &str) -> String {
        let mut out = String::with_capacity(text.len());
        let mut at = 0;
        for edit in &self.edits {
            out.push_str(text.get(at..edit.span.start as usize).unwrap_or(""));
            out.push_str(&edit.text);
            at = edit.span.end as usize;
        }
        out.push_str(text.get(at..).unwrap_or(""));
        out
    }
}

/// The mistakes of a rule text, in reading order, with the texts they are in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostics {
    /// The texts.
    pub sources: Sources,
    /// The mistakes; never empty when returned as an error.
    pub list: Vec<Diagnostic>,
}

impl fmt::Display for Diagnostics {
    /// One line per mistake: place, message, remedy.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (i, d) in self.list.iter().enumerate() {
            if i > 0 {
                writeln!(f)?;
            }
            let (line, column) = self.sources.line_column(d.span);
            write!(f, "{}:{line}:{column}: {}", self.sources.name(d.span), d.message)?;
            if let Some(help) = &d.help {
                write!(f, " ({help})")?;
            }
        }
        Ok(())
    }
}

impl std::error::Error for Diagnostics {}

impl Diagnostic {
    /// A mistake.
    pub(crate) fn error(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            message: message.into(),
            span,
            second: None,
            help: None,
            fix: None,
        }
    }

    /// Something allowed that is probably not meant.
    pub(crate) fn doubt(code: Code, span: Span, message: impl Into<String>) -> Self {
        Self { severity: Severity::Doubt, ..Self::error(code, span, message) }
    }

    /// With how to write it right.
    pub(crate) fn help(self, help: impl Into<String>) -> Self {
        Self { help: Some(help.into()), ..self }
    }

    /// With the text that was probably meant in place of the span: a fix, if the parser takes it.
    pub(crate) fn meant(self, text: impl Into<String>) -> Self {
        Self { fix: Some(Fix::replace(self.span, text)), ..self }
    }

    /// With a second place that belongs to it.
    pub(crate) fn second(self, span: Span, what: impl Into<String>) -> Self {
        Self { second: Some((span, what.into())), ..self }
    }
}
