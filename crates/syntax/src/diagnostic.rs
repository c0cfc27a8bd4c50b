//! What is wrong or doubtful in a rule text, as plain data; hosts draw it.

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
    /// A stable word such as `unknown-unit`, see the table of codes.
    pub code: &'static str,
    /// Error or doubt.
    pub severity: Severity,
    /// What is wrong; lower case, no full stop.
    pub message: String,
    /// The text it is about.
    pub span: Span,
    /// A second place that belongs to it, with what stands there.
    pub second: Option<(Span, String)>,
    /// How to write it right.
    pub help: Option<String>,
}

/// The mistakes of a rule text, in reading order, with the texts they stand in.
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
    /// A mistake; `code` is a word of the table in [`crate::codes`].
    pub(crate) fn error(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        debug_assert!(crate::codes::find(code).is_some(), "code {code} is not in the table");
        Self { code, severity: Severity::Error, message: message.into(), span, second: None, help: None }
    }

    /// Something allowed that is probably not meant.
    pub(crate) fn doubt(code: &'static str, span: Span, message: impl Into<String>) -> Self {
        Self { severity: Severity::Doubt, ..Self::error(code, span, message) }
    }

    /// With how to write it right.
    pub(crate) fn help(self, help: impl Into<String>) -> Self {
        Self { help: Some(help.into()), ..self }
    }

    /// With a second place that belongs to it.
    pub(crate) fn second(self, span: Span, what: impl Into<String>) -> Self {
        Self { second: Some((span, what.into())), ..self }
    }
}
