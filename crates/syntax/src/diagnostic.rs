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
        Self { code, severity: Severity::Error, message: message.into(), span, second: None, help: None }
    }

    /// Something allowed that is probably not meant.
    pub(crate) fn doubt(code: Code, span: Span, message: impl Into<String>) -> Self {
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
