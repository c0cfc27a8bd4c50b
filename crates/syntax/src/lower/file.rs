//! One text being read, and places in it.

use crate::parse::Node;
use crate::source::{SourceId, Span};

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
