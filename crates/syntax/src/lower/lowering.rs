//! What is known of a house while its texts are read.

use super::detail::Seen;
use super::example_lines::Vocabulary;
use super::file::File;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::limits;
use crate::loader::Loader;
use crate::parse::Node;
use crate::report::Report;
use crate::source::{SourceId, Span};
use crate::tree::House;
use std::ops::Range;
use std::sync::Arc;

/// A rule with the places of its details, which the checks ask for.
#[derive(Debug, Default)]
pub(crate) struct Places {
    /// For each rule, its details as written.
    pub details: Vec<Seen>,
    /// Statements that a house has once, with the place of each.
    pub once: Vec<(&'static str, Span)>,
    /// Whether names may be declared in a statement or file that could not be read.
    pub names_missing: bool,
}

/// Reads the first text and all it includes.
pub(crate) struct Lowering<'a> {
    pub loader: Option<&'a dyn Loader>,
    pub report: Report,
    pub house: House,
    pub places: Places,
    /// The names of the files that are being read, the first one first.
    pub stack: Vec<String>,
    /// Item lines wait until every kind is known: example, node, the file's code.
    pub items: Vec<(usize, Node, SourceId)>,
    pub codes: Vec<Arc<str>>,
    /// The logical lines of each text.
    pub lines: Vec<Vec<Range<usize>>>,
    pub known: Vocabulary,
    /// How many tasks come after `covers`.
    pub links: usize,
}

impl<'a> Lowering<'a> {
    /// With no loader, `include` statements are checked for their form only.
    pub(crate) fn new(loader: Option<&'a dyn Loader>) -> Self {
        Self {
            loader,
            report: Report::default(),
            house: House::default(),
            places: Places::default(),
            stack: Vec::new(),
            items: Vec::new(),
            codes: Vec::new(),
            lines: Vec::new(),
            known: Vocabulary::default(),
            links: 0,
        }
    }

    /// Reads the item lines, now that all kinds and attributes are known.
    pub(crate) fn items(&mut self) {
        if self.loader.is_none() {
            // Where includes are not looked at, the kinds they name are not known.
            return;
        }
        let mut known = std::mem::take(&mut self.known);
        for kind in &self.house.kinds {
            known.kinds.extend([kind.narrower.key.clone(), kind.broader.key.clone()]);
        }
        for (example, node, id) in std::mem::take(&mut self.items) {
            let code = self.codes.get(id.0 as usize).cloned().unwrap_or_default();
            let file = File { code: &code, id };
            let item = file.item(&node, &known, &mut self.report);
            if let (Some(item), Some(example)) = (item, self.house.examples.get_mut(example)) {
                example.items.push(item);
            }
        }
    }

    /// Whether so many more narrower kinds, or tasks after `covers`, stay within the limit.
    pub(super) fn has_room(&mut self, links: usize, span: Span) -> bool {
        let limit = limits::LINKS;
        if links <= limit {
            return true;
        }
        let message = format!("the house has more than {limit} narrower kinds or covered tasks");
        self.report.push(Diagnostic::error(Code::TooManyLinks, span, message).help("split the house"));
        false
    }

    pub(super) fn once(&mut self, what: &'static str, span: Span) -> bool {
        let Some((_, first)) = self.places.once.iter().find(|(w, _)| *w == what) else {
            self.places.once.push((what, span));
            return true;
        };
        let message = format!("`{what}` appears twice");
        let twice = Diagnostic::error(Code::StatementTwice, span, message).help("keep one of them");
        self.report.push(twice.second(*first, "the first one"));
        false
    }
}
