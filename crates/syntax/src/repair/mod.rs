//! Explains a line or part that missed its form: what it probably is, and how to write it.
//!
//! Everything here looks at words that are already known to be wrong; nothing here decides whether
//! they are, and no other stage uses it.

mod atom;
mod calendar;
mod counting;
mod detail;
mod example;
mod lengths;
mod line;
mod names;
mod section;
mod spoken;
mod task;
mod tokens;
mod units;
mod uses;
mod when;
mod words;

use crate::diagnostic::Diagnostic;
use crate::lower::File;
use crate::misread::{Misread, Missed};
use crate::tree::House;

/// The diagnostic for something that was misread.
pub(crate) fn explain(misread: &Misread, code: &str, house: &House) -> Diagnostic {
    let file = File { code, id: misread.file };
    match &misread.missed {
        Missed::Line(node) => line::line(&file, node),
        Missed::Unreadable(span) => line::unreadable(*span),
        Missed::Instead(node) => line::instead(&file, node),
        Missed::Task(node) => task::task(&file, node),
        Missed::NoTask(node) => task::no_task(&file, node, house),
        Missed::Detail(node) => detail::detail(&file, node),
        Missed::DetailWithoutRule(node) => detail::detail_without_rule(&file, node),
        Missed::ExampleLine(node) => example::example_line(&file, node),
        Missed::Atom(node) => atom::atom(&file, node),
        Missed::CountingWord { atom, name } => counting::counting_word(&file, atom, name),
        Missed::Zone { text, span } => names::zone(text, *span),
        Missed::Undeclared { name, what } => names::undeclared(name, what, house),
        Missed::NoticeOfNothing { rule, count, name, span } => {
            names::notice_of_nothing(house.rules.get(*rule), *count, name, *span)
        }
    }
}
