//! What missed its form, to be explained when all of the house is read.

use crate::amount::Amount;
use crate::name::Name;
use crate::parse::Node;
use crate::source::{SourceId, Span};

/// Something that was misread, and the text it is in.
#[derive(Debug)]
pub(crate) struct Misread {
    pub file: SourceId,
    pub missed: Missed,
}

/// What missed which form.
#[derive(Debug)]
pub(crate) enum Missed {
    /// A line that no form takes.
    Line(Node),
    /// A line with a sign that no line has.
    Unreadable(Span),
    /// `instead` without its comma.
    Instead(Node),
    /// The text after a trigger is no task.
    Task(Node),
    /// A trigger without a task.
    NoTask(Node),
    /// A detail that has none of the forms.
    Detail(Node),
    /// A detail that belongs to no rule.
    DetailWithoutRule(Node),
    /// A line of an example that is none of the three forms.
    ExampleLine(Node),
    /// A part of a trigger that has none of the forms.
    Atom(Node),
    /// `every` with a word that counts.
    CountingWord { atom: Node },
    /// A time zone that does not exist.
    Zone { text: String, span: Span },
    /// A name that the house's list of its sort does not have.
    Undeclared { name: Name, what: &'static str },
    /// A notice of something that the trigger of a rule does not count.
    NoticeOfNothing { rule: usize, count: Amount, name: Name, span: Span },
}

impl Missed {
    /// Where it begins in its file.
    pub fn start(&self) -> u32 {
        let node = match self {
            Self::Unreadable(span) | Self::Zone { span, .. } | Self::NoticeOfNothing { span, .. } => {
                return span.start;
            }
            Self::Undeclared { name, .. } => return name.span.start,
            Self::Line(node)
            | Self::Instead(node)
            | Self::Task(node)
            | Self::NoTask(node)
            | Self::Detail(node)
            | Self::DetailWithoutRule(node)
            | Self::ExampleLine(node)
            | Self::Atom(node)
            | Self::CountingWord { atom: node } => node,
        };
        u32::try_from(node.start).unwrap_or(u32::MAX)
    }
}
