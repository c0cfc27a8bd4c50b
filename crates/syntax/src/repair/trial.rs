//! Whether the whole house takes a correction: it is read again with the corrected text.

use super::candidates::Budget;
use super::message::explain;
use crate::diagnostic::{Diagnostic, Fix};
use crate::loader::{Loaded, Loader};
use crate::reading::Reading;
use crate::source::Span;
use std::cell::RefCell;
use std::collections::HashMap;

/// A house to try corrections on.
pub(super) struct Trial<'a> {
    pub name: &'a str,
    pub loader: Option<&'a dyn Loader>,
    /// What the loader said, so that no file is read again.
    pub loaded: RefCell<HashMap<(String, String), Result<Loaded, String>>>,
    pub budget: Budget,
}

/// A loader that gives one text as corrected.
struct Corrected<'t, 'a> {
    trial: &'t Trial<'a>,
    loader: &'a dyn Loader,
    name: &'t str,
    text: &'t str,
}

impl Loader for Corrected<'_, '_> {
    fn load(&self, path: &str, from: &str) -> Result<Loaded, String> {
        let asked = (path.to_owned(), from.to_owned());
        let mut loaded = self.trial.loaded.borrow_mut();
        let mut file = loaded.entry(asked).or_insert_with(|| self.loader.load(path, from)).clone()?;
        if file.name == self.name {
            self.text.clone_into(&mut file.text);
        }
        Ok(file)
    }
}

impl Trial<'_> {
    /// Whether a correction leaves fewer mistakes and no new mistake or doubt; if so, which of the line's are left.
    pub fn takes(&self, reading: &Reading, fix: &Fix) -> Option<Vec<Diagnostic>> {
        let place = fix.edits.first()?.span;
        let size: usize = reading.house.sources.iter().map(|source| source.text.len()).sum();
        if reading.cut_short || !self.budget.spend(size) {
            return None;
        }
        let source = reading.house.sources.get(place.source)?;
        let first = reading.house.sources.iter().next()?;
        let text = fix.applied(&source.text);
        let again = match self.loader {
            Some(loader) => {
                let corrected = Corrected { trial: self, loader, name: &source.name, text: &text };
                let start = if place.source.0 == 0 { &text } else { &*first.text };
                Reading::of(self.name, start, Some(&corrected), explain)
            }
            None => Reading::of(self.name, &text, None, explain),
        };
        let (_, line) = reading.line_of(place)?;
        let grown = text.len() as i64 - source.text.len() as i64;
        let inside = |span: Span, end: i64| {
            span.source == place.source && (span.start as usize) >= line.start && i64::from(span.start) <= end
        };
        let (old_end, new_end) = (line.end as i64, line.end as i64 + grown);
        let split = |list: &[Diagnostic], end: i64| -> (Vec<Diagnostic>, Vec<Diagnostic>) {
            list.iter().cloned().partition(|d| inside(d.span, end))
        };
        let (old_own, old_others) = split(&reading.mistakes, old_end);
        let (own, others) = split(&again.mistakes, new_end);
        let (old_own_doubts, old_doubts) = split(&reading.house.doubts, old_end);
        let (own_doubts, doubts) = split(&again.house.doubts, new_end);
        // A rule that is understood may bring a mistake of its details to light, in place of another.
        let as_many = others.len() <= old_others.len() && among(&doubts, &old_doubts);
        let fewer = match reading.mistakes.is_empty() {
            true => {
                again.mistakes.is_empty()
                    && again.house.doubts.len() < reading.house.doubts.len()
                    && own_doubts.len() <= old_own_doubts.len()
            }
            false => {
                again.mistakes.len() < reading.mistakes.len()
                    && own.len() <= old_own.len()
                    && among(&own_doubts, &old_own_doubts)
            }
        };
        (as_many && fewer).then_some(if reading.mistakes.is_empty() { own_doubts } else { own })
    }
}

/// Whether each of some is among others, as often.
fn among(some: &[Diagnostic], others: &[Diagnostic]) -> bool {
    let mut counts: HashMap<(crate::codes::Code, &str), isize> = HashMap::new();
    for other in others {
        *counts.entry((other.code, &other.message)).or_default() += 1;
    }
    some.iter().all(|d| {
        let count = counts.entry((d.code, &d.message)).or_default();
        *count -= 1;
        *count >= 0
    })
}
