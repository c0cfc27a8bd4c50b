//! The fourth stage: nodes to the tree, file by file.

mod detail;
mod example_lines;
mod reader;
mod section;
mod trigger;
mod values;

pub(crate) use detail::opening;
pub(crate) use trigger::month_of;
pub(crate) use values::{bad_number, unit_of, word};

use crate::diagnostic::Diagnostic;
use crate::lines;
use crate::normalise::normalise;
use crate::parse::Node;
use crate::report::Report;
use crate::source::{SourceId, Span};
use crate::tree::House;
use crate::{Loader, limits};
use detail::Seen;
use example_lines::Vocabulary;
use reader::Reader;
use std::sync::Arc;

/// One text being read: its code (comments blanked) and its id.
#[derive(Debug, Clone, Copy)]
pub(crate) struct File<'a> {
    pub code: &'a str,
    pub id: SourceId,
}

impl File<'_> {
    /// The text of a node.
    pub(crate) fn text(&self, node: &Node) -> &str {
        self.code.get(node.start..node.end).unwrap_or("")
    }

    /// The place of a node.
    pub(crate) fn span(&self, node: &Node) -> Span {
        self.place(node.start, node.end)
    }

    /// A range of bytes as a place.
    pub(crate) fn place(&self, start: usize, end: usize) -> Span {
        let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span { source: self.id, start: small(start), end: small(end) }
    }
}

/// A rule with the places of its details, which the checks ask for.
#[derive(Debug, Default)]
pub(crate) struct Places {
    /// For each rule, its details as they stand.
    pub details: Vec<Seen>,
    /// What a house says once, with the place of it.
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
    stack: Vec<String>,
    /// Item lines wait until every kind is known: example, node, the file's code.
    items: Vec<(usize, Node, SourceId)>,
    codes: Vec<Arc<str>>,
    known: Vocabulary,
    /// How many tasks stand after `covers`.
    links: usize,
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
            known: Vocabulary::default(),
            links: 0,
        }
    }

    /// Reads a text with all it includes; `asked` is the place of the `include`.
    pub(crate) fn file(&mut self, name: &str, text: &str, asked: Option<Span>) {
        if text.len() > limits::FILE_BYTES {
            let id = self.house.sources.add(name, "");
            self.codes.push("".into());
            let mib = limits::FILE_BYTES / (1024 * 1024);
            let span = asked.unwrap_or(Span { source: id, start: 0, end: 0 });
            let message = format!("`{name}` is larger than {mib} MiB");
            self.report.push(
                Diagnostic::error("file-too-large", span, message)
                    .help("split it into files that are included"),
            );
            return;
        }
        let text = normalise(text);
        let id = self.house.sources.add(name, &text);
        let lines = lines::cut(&text, id, &mut self.report);
        let code: Arc<str> = lines.code.into();
        self.codes.push(code.clone());
        self.stack.push(name.to_owned());
        let mut reader = Reader::new(&code, id);
        for line in &lines.list {
            if self.report.is_full() || !reader.line(line, self) {
                break;
            }
        }
        self.stack.pop();
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

    /// Whether there is room for so many statements of narrower kinds, or tasks after `covers`.
    fn has_room(&mut self, links: usize, span: Span) -> bool {
        let limit = limits::LINKS;
        if links <= limit {
            return true;
        }
        let message = format!("this makes more than {limit} narrower kinds or covered tasks");
        self.report.push(Diagnostic::error("too-many-links", span, message).help("split the house"));
        false
    }

    fn once(&mut self, what: &'static str, span: Span) -> bool {
        let Some((_, first)) = self.places.once.iter().find(|(w, _)| *w == what) else {
            self.places.once.push((what, span));
            return true;
        };
        let message = format!("`{what}` stands twice");
        let twice = Diagnostic::error("statement-twice", span, message).help("keep one of them");
        self.report.push(twice.second(*first, "the first one"));
        false
    }
}
