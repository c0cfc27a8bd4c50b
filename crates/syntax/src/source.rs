//! Source texts and places in them.

use std::sync::Arc;

/// Which of the texts of a [`Sources`] a place is in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
pub struct SourceId(pub u32);

/// A byte range in one source, counted in its normalised text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Span {
    /// The source.
    pub source: SourceId,
    /// First byte.
    pub start: u32,
    /// One past the last byte.
    pub end: u32,
}

impl Span {
    /// The smallest span that holds both; they are of one source.
    pub fn to(self, other: Span) -> Span {
        Span { source: self.source, start: self.start.min(other.start), end: self.end.max(other.end) }
    }
}

/// One text: the first file or one that it includes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// The name people see, usually the file's.
    pub name: Arc<str>,
    /// The text, NFC, `\n` line ends, no byte order mark.
    pub text: Arc<str>,
    /// Where it was included, unless it is the first.
    pub included: Option<Span>,
    /// The first byte of every line.
    lines: Arc<[u32]>,
}

/// All texts of a house, by [`SourceId`]; the first is the one that was asked for.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Sources {
    list: Vec<Source>,
}

impl Sources {
    /// Adds a text, with the place of the `include` that asked for it, and returns its id.
    pub fn add(&mut self, name: &str, text: &str, included: Option<Span>) -> SourceId {
        let id = SourceId(u32::try_from(self.list.len()).unwrap_or(u32::MAX));
        let ends = text.bytes().zip(1_u32..).filter(|(byte, _)| *byte == b'\n').map(|(_, next)| next);
        let lines = std::iter::once(0).chain(ends).collect();
        self.list.push(Source { name: name.into(), text: text.into(), included, lines });
        id
    }

    /// Where a span stands in the order of reading: what is included stands where it was included. Places compare as
    /// these do.
    pub fn reading_place(&self, span: Span) -> Vec<u32> {
        let mut place = vec![span.start];
        let mut within = self.get(span.source).and_then(|source| source.included);
        while let Some(asked) = within {
            place.push(asked.start);
            within = self.get(asked.source).and_then(|source| source.included);
        }
        place.reverse();
        place
    }

    /// The source of an id.
    pub fn get(&self, id: SourceId) -> Option<&Source> {
        self.list.get(id.0 as usize)
    }

    /// The name of the source a span is in; empty for a span of no source.
    pub fn name(&self, span: Span) -> &str {
        self.get(span.source).map_or("", |s| &s.name)
    }

    /// Every source, in order of id.
    pub fn iter(&self) -> impl Iterator<Item = &Source> {
        self.list.iter()
    }

    /// The text of a span.
    pub fn text(&self, span: Span) -> &str {
        self.get(span.source).and_then(|s| s.text.get(span.start as usize..span.end as usize)).unwrap_or("")
    }

    /// Line and column of a span's start, both from 1; the column counts characters.
    pub fn line_column(&self, span: Span) -> (u32, u32) {
        let Some(source) = self.get(span.source) else { return (1, 1) };
        let line = source.lines.partition_point(|first| *first <= span.start).max(1);
        let first = source.lines.get(line - 1).copied().unwrap_or(0);
        let before = source.text.get(first as usize..span.start as usize).unwrap_or("");
        let counted = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        (counted(line), counted(before.chars().count() + 1))
    }
}
