//! What to say of a line or part that missed its form.

use crate::amount::Amount;
use crate::diagnostic::Diagnostic;
use crate::lower::File;
use crate::name::Name;
use crate::parse::Node;
use crate::source::Span;
use crate::tree::{House, Rule};

pub(crate) fn atom(file: &File<'_>, node: &Node) -> Diagnostic {
    Diagnostic::error("unknown-trigger", file.span(node), "not a trigger")
}
pub(crate) fn detail(file: &File<'_>, node: &Node) -> Diagnostic {
    Diagnostic::error("unknown-trigger", file.span(node), "not a detail")
}
pub(crate) fn line(file: &File<'_>, node: &Node) -> (Diagnostic, bool) {
    (Diagnostic::error("unknown-trigger", file.span(node), "not a line"), true)
}
pub(crate) fn unreadable(span: Span) -> Diagnostic {
    Diagnostic::error("unknown-trigger", span, "unreadable")
}
pub(crate) fn zone(_text: &str, span: Span) -> Diagnostic {
    Diagnostic::error("unknown-trigger", span, "zone")
}
pub(crate) fn instead(file: &File<'_>, node: &Node) -> Diagnostic {
    Diagnostic::error("unknown-trigger", file.span(node), "instead")
}
pub(crate) fn task(file: &File<'_>, node: &Node) -> Diagnostic {
    Diagnostic::error("unknown-trigger", file.span(node), "task")
}
pub(crate) fn no_task(file: &File<'_>, node: &Node, _house: &House) -> Diagnostic {
    Diagnostic::error("unknown-trigger", file.span(node), "no task")
}
pub(crate) fn detail_without_rule(file: &File<'_>, node: &Node) -> Diagnostic {
    Diagnostic::error("unknown-trigger", file.span(node), "detail without rule")
}
pub(crate) fn example_line(file: &File<'_>, node: &Node) -> Diagnostic {
    Diagnostic::error("unknown-trigger", file.span(node), "example line")
}
pub(crate) fn undeclared(name: &Name, _what: &str, _house: &House) -> Diagnostic {
    Diagnostic::error("unknown-trigger", name.span, "undeclared")
}
pub(crate) fn notice_of_nothing(_rule: &Rule, _count: Amount, name: &Name, _span: Span) -> Diagnostic {
    Diagnostic::error("unknown-trigger", name.span, "notice of nothing")
}
/// Words after `every` that count, and so are no names.
const COUNTING: [&str; 33] = [
    "other", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth", "ninth", "tenth", "one", "two", "three",
    "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve", "fifteen", "twenty", "thirty", "forty",
    "fifty", "sixty", "seventy", "eighty", "ninety", "hundred", "thousand",
];
pub(crate) fn counting_word(file: &File<'_>, _atom: &Node, name: &Node) -> Option<Diagnostic> {
    let first = file.text(name.parts.first()?).to_ascii_lowercase();
    COUNTING.contains(&first.as_str()).then(|| Diagnostic::error("unknown-trigger", file.span(name), "counting"))
}
