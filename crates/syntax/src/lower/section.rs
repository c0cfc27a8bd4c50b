//! Sections and their filters.

use super::file::File;
use super::trigger::comparison;
use crate::parse::{Node, Part};
use crate::report::Report;
use crate::tree::{Filter, Section, Test};

impl File<'_> {
    /// `for … [where …]`.
    pub(crate) fn section(&self, node: &Node, report: &mut Report) -> Option<Section> {
        let kinds = match node.part(Part::kinds) {
            Some(kinds) => Some(self.names(kinds, report)?),
            None => None,
        };
        let filter = match node.part(Part::filter) {
            Some(filter) => Some(self.filter(filter, report)?),
            None => None,
        };
        Some(Section { kinds, filter })
    }

    fn filter(&self, node: &Node, report: &mut Report) -> Option<Filter> {
        let parts: Vec<_> = node.all(Part::filter_all).map(|n| self.filter_all(n, report)).collect();
        let mut flat = Vec::new();
        for part in parts {
            match part? {
                Filter::Any(inner) => flat.extend(inner),
                other => flat.push(other),
            }
        }
        joined(flat, Filter::Any)
    }

    fn filter_all(&self, node: &Node, report: &mut Report) -> Option<Filter> {
        let parts: Vec<_> = node.all(Part::filter_one).map(|n| self.filter_one(n, report)).collect();
        let mut flat = Vec::new();
        for part in parts {
            match part? {
                Filter::All(inner) => flat.extend(inner),
                other => flat.push(other),
            }
        }
        joined(flat, Filter::All)
    }

    fn filter_one(&self, node: &Node, report: &mut Report) -> Option<Filter> {
        if let Some(inner) = node.part(Part::filter) {
            return self.filter(inner, report);
        }
        let node = node.part(Part::test)?;
        let attribute = self.name(node.part(Part::name)?, report);
        let test = node.parts.last().and_then(|test| self.test(test, report));
        Some(Filter::Test { attribute: attribute?, test: test? })
    }

    fn test(&self, node: &Node, report: &mut Report) -> Option<Test> {
        Some(match node.part {
            Part::known => Test::Known,
            Part::missing => Test::Missing,
            Part::compared => {
                Test::Compare(comparison(node.part(Part::comparison)?)?, self.signed(node, report)?)
            }
            Part::before_date => Test::Before(self.date(node.part(Part::figure)?, report)?),
            Part::after_date => Test::After(self.date(node.part(Part::figure)?, report)?),
            Part::is_not => Test::IsNot(self.value(node.part(Part::value)?, report)?),
            _ => Test::Is(self.value(node.part(Part::value)?, report)?),
        })
    }

    /// What a column is compared with: words, numbers and strings, joined by one blank.
    fn value(&self, node: &Node, report: &mut Report) -> Option<String> {
        let mut out = String::new();
        let mut joins = false;
        for part in &node.parts {
            if joins {
                out.push(' ');
            }
            match part.part {
                Part::string => out.push_str(&self.string(part, report)?),
                // A figure without a letter or a sign of dates and times is a number, and must be a good one.
                Part::figure
                    if !self.text(part).contains(|c: char| c.is_alphabetic() || "-/:".contains(c)) =>
                {
                    self.number(part, report)?;
                    out.push_str(self.text(part));
                }
                _ => out.push_str(self.text(part)),
            }
            joins = part.part != Part::minus;
        }
        Some(out.trim().to_owned())
    }
}

/// One part as itself, more as a list.
fn joined(mut parts: Vec<Filter>, list: fn(Vec<Filter>) -> Filter) -> Option<Filter> {
    match parts.len() {
        0 | 1 => parts.pop(),
        _ => Some(list(parts)),
    }
}
