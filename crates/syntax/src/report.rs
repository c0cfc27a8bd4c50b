//! Collecting mistakes: all of a run, in order of place, up to a limit.

use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::limits;
use crate::misread::{Misread, Missed};
use crate::source::SourceId;

/// The meaning of a code as a message: lower case, no full stop.
fn said_by(code: Code) -> String {
    let about = code.about().trim_end_matches('.');
    let mut letters = about.chars();
    letters.next().map(|c| c.to_lowercase().chain(letters).collect()).unwrap_or_default()
}

/// The mistakes found so far.
#[derive(Debug, Default)]
pub(crate) struct Report {
    list: Vec<Mistake>,
}

#[derive(Debug)]
enum Mistake {
    Known(Diagnostic),
    /// What it is, is worked out in the end.
    Misread(Misread),
}

/// Where a guess at what was meant has nothing to quote, the meaning of its code takes its place.
fn without_empty_quotes(mut diagnostic: Diagnostic) -> Diagnostic {
    const EMPTY_QUOTE: &str = "``";
    if diagnostic.message.contains(EMPTY_QUOTE) {
        diagnostic.message = said_by(diagnostic.code);
    }
    if diagnostic.help.as_ref().is_some_and(|h| h.contains(EMPTY_QUOTE)) {
        diagnostic.help = Some(said_by(diagnostic.code));
    }
    diagnostic
}

impl Report {
    /// Adds one.
    pub(crate) fn push(&mut self, diagnostic: Diagnostic) {
        self.list.push(Mistake::Known(diagnostic));
    }

    /// Adds something in a text that missed its form.
    pub(crate) fn misread(&mut self, file: SourceId, missed: Missed) {
        self.list.push(Mistake::Misread(Misread { file, missed }));
    }

    /// Whether so many were found that reading on is of no use.
    pub(crate) fn is_full(&self) -> bool {
        self.list.len() >= limits::MISTAKES
    }

    /// All of them in order of place; what goes beyond the limit is summed up in a last one. `explain` says what to
    /// say of what was misread.
    pub(crate) fn finish(self, explain: impl Fn(&Misread) -> Diagnostic) -> Vec<Diagnostic> {
        let cut_short = self.is_full();
        let known = self.list.into_iter().map(|mistake| match mistake {
            Mistake::Known(diagnostic) => diagnostic,
            Mistake::Misread(misread) => explain(&misread),
        });
        let mut list: Vec<Diagnostic> = known.map(without_empty_quotes).collect();
        let place = |d: &Diagnostic| (d.span.source, d.span.start, d.span.end);
        list.sort_by_key(place);
        // What follows an open bracket is cut, and reported, twice.
        list.dedup_by(|b, a| place(a) == place(b) && a.code == b.code);
        list.truncate(limits::MISTAKES);
        if cut_short && let Some(last) = list.last() {
            let note = format!("these are the first {} mistakes; there may be more", list.len());
            let note = Diagnostic::error(Code::TooManyMistakes, last.span, note);
            list.push(note.help("correct these, then check again"));
        }
        list
    }
}
