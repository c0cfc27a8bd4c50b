//! The stages in their order, over a text and all it includes.

use crate::check::check;
use crate::diagnostic::Diagnostic;
use crate::doubts::doubts;
use crate::limits;
use crate::loader::Loader;
use crate::lower::Lowering;
use crate::misread::Misread;
use crate::source::Span;
use crate::tree::House;
use std::ops::Range;
use std::sync::Arc;

/// Says what to report of something that was misread, in a code, with what else is known of the house.
pub(crate) type Explain = fn(&Misread, &str, &House) -> Diagnostic;

/// What was read, and what is wrong with it.
#[derive(Debug)]
pub(crate) struct Reading {
    /// The house, as far as it was understood, with its doubts.
    pub house: House,
    /// What is wrong, in order of place.
    pub mistakes: Vec<Diagnostic>,
    /// The texts with comments blanked, by source.
    pub codes: Vec<Arc<str>>,
    /// The logical lines, by source.
    pub lines: Vec<Vec<Range<usize>>>,
    /// Whether there were too many mistakes to read on.
    pub cut_short: bool,
}

impl Reading {
    /// Reads a text; without a loader, `include` statements are stepped over.
    pub fn of(name: &str, text: &str, loader: Option<&dyn Loader>, explain: Explain) -> Self {
        let mut lowering = Lowering::new(loader);
        lowering.file(name, text, None);
        lowering.items();
        let Lowering { mut report, house, places, codes, lines, .. } = lowering;
        check(&house, &places, &mut report);
        let cut_short = report.is_full();
        let code = |misread: &Misread| codes.get(misread.file.0 as usize).map_or("", |code| code);
        let mistakes = report.finish(|misread| explain(misread, code(misread), &house));
        let mut reading = Self { house, mistakes, codes, lines, cut_short };
        if reading.mistakes.is_empty() || reading.is_small() {
            doubts(&mut reading.house);
        }
        reading
    }

    /// Whether it is small enough to be read again with corrections.
    pub fn is_small(&self) -> bool {
        self.house.sources.iter().map(|source| source.text.len()).sum::<usize>() <= limits::READ_AGAIN
    }

    /// The mistakes, or the doubts of a house that has none.
    pub fn found(&self) -> &[Diagnostic] {
        if self.mistakes.is_empty() { &self.house.doubts } else { &self.mistakes }
    }

    /// The logical line that a place is in: its number among those of its source, and its bytes.
    pub fn line_of(&self, span: Span) -> Option<(usize, Range<usize>)> {
        let lines = self.lines.get(span.source.0 as usize)?;
        let after = lines.partition_point(|line| line.start <= span.start as usize);
        let number = after.checked_sub(1)?;
        lines.get(number).filter(|line| line.end >= span.start as usize).map(|line| (number, line.clone()))
    }
}
