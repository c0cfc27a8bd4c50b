//! Collecting mistakes: all of a run, in order of place, up to a limit.

use crate::diagnostic::{Diagnostic, Severity};
use crate::limits;
use crate::source::Span;

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

/// What the table says of a code, as a message: lower case, no full stop.
fn said_by(code: &str) -> String {
    let about = crate::codes::find(code).map_or("", |c| c.about).trim_end_matches('.');
    let mut letters = about.chars();
    letters.next().map(|c| c.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// The mistakes found so far.
#[derive(Debug, Default)]
pub(crate) struct Report {
    list: Vec<Diagnostic>,
}

impl Report {
    /// Adds one. Where a guess at what was meant has nothing to quote, what the code says stands for it.
    pub(crate) fn push(&mut self, mut diagnostic: Diagnostic) {
        const EMPTY_QUOTE: &str = "``";
        if diagnostic.message.contains(EMPTY_QUOTE) {
            diagnostic.message = said_by(diagnostic.code);
        }
        if diagnostic.help.as_ref().is_some_and(|h| h.contains(EMPTY_QUOTE)) {
            diagnostic.help = Some(said_by(diagnostic.code));
        }
        self.list.push(diagnostic);
    }

    /// Whether so many were found that reading on helps nobody.
    pub(crate) fn is_full(&self) -> bool {
        self.list.len() >= limits::MISTAKES
    }

    /// Whether none was found.
    pub(crate) fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// All of them in order of place; what goes beyond the limit is summed up in a last one.
    pub(crate) fn finish(mut self) -> Vec<Diagnostic> {
        let cut_short = self.is_full();
        let place = |d: &Diagnostic| (d.span.source, d.span.start, d.span.end);
        self.list.sort_by_key(place);
        // What stands behind an open bracket is cut, and told, twice.
        self.list.dedup_by(|b, a| place(a) == place(b) && a.code == b.code);
        self.list.truncate(limits::MISTAKES);
        if cut_short && let Some(last) = self.list.last() {
            let note = format!("these are the first {} mistakes; there may be more", self.list.len());
            let note = Diagnostic::error("too-many-mistakes", last.span, note);
            self.list.push(note.help("mend these, then look again"));
        }
        self.list
    }
}
