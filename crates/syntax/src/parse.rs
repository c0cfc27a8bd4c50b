//! The third stage: one logical line to a syntax node, with the pest grammar.
//!
//! The only module that knows pest. Brackets are balanced and bounds are checked before it is called.

use crate::lines::Line;
use pest::Parser;
use pest::iterators::Pair;
use pest_derive::Parser;

#[derive(Parser)]
#[grammar = "kitlore.pest"]
struct Grammar;

/// What a node is: a form of the grammar.
pub(crate) use self::Rule as Part;

/// A part of a line with its place in the file.
#[derive(Debug, Clone)]
pub(crate) struct Node {
    /// Which form of the grammar.
    pub part: Part,
    /// First byte in the file.
    pub start: usize,
    /// One past the last byte, without blanks after it.
    pub end: usize,
    /// What it is made of.
    pub parts: Vec<Node>,
}

impl Node {
    /// The first direct part of a form.
    pub(crate) fn part(&self, part: Part) -> Option<&Node> {
        self.parts.iter().find(|n| n.part == part)
    }

    /// Every direct part of a form.
    pub(crate) fn all(&self, part: Part) -> impl Iterator<Item = &Node> {
        self.parts.iter().filter(move |n| n.part == part)
    }

    /// Whether a direct part is of a form.
    pub(crate) fn has(&self, part: Part) -> bool {
        self.part(part).is_some()
    }

    /// The first direct part.
    pub(crate) fn first(&self) -> Option<&Node> {
        self.parts.first()
    }
}

/// Reads a line as a statement; `None` if it has not even the shape of one.
pub(crate) fn statement(code: &str, line: &Line) -> Option<Node> {
    read(Part::line, code, line)
}

/// Reads a line as one of an example block; `None` if a statement begins there.
pub(crate) fn example_line(code: &str, line: &Line) -> Option<Node> {
    read(Part::example_line, code, line)
}

fn read(form: Part, code: &str, line: &Line) -> Option<Node> {
    let text = code.get(line.range.clone())?;
    let pair = Grammar::parse(form, text).ok()?.next()?;
    // A line holds one statement, and the end of input.
    node(pair, line.range.start).parts.into_iter().next()
}

fn node(pair: Pair<'_, Rule>, base: usize) -> Node {
    let part = pair.as_rule();
    let start = base + pair.as_span().start();
    // Blanks before an optional part that is not there belong to the pair for pest.
    let end = start + pair.as_str().trim_end().len();
    let parts = pair.into_inner().map(|p| node(p, base)).collect();
    Node { part, start, end, parts }
}
