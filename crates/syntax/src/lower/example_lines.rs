//! Lines of example blocks.

use super::file::File;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::name::{Name, key};
use crate::parse::{Node, Part};
use crate::report::Report;
use crate::source::Span;
use crate::tree::{Claim, ExampleEntry, ExampleItem, Standing};
use chrono::NaiveDate;
use std::collections::HashSet;

/// How many words a kind or attribute may have in an item line.
const LONGEST_NAME: usize = 16;

/// The names that item lines may spell in several words.
#[derive(Debug, Default)]
pub(crate) struct Vocabulary {
    /// Keys of the kinds named in the rules.
    pub kinds: HashSet<String>,
    /// Keys of the attributes that filters ask.
    pub attributes: HashSet<String>,
}

impl File<'_> {
    /// `WHEN [to WHEN] ID EVENT …`
    pub(crate) fn entry(&self, node: &Node, report: &mut Report) -> Option<ExampleEntry> {
        let mut whens = node.all(Part::when);
        let when = self.when(whens.next()?, report);
        let until = match whens.next() {
            Some(until) => Some(self.when(until, report)?),
            None => None,
        };
        let item = self.id(node.part(Part::id)?, report)?;
        let event = self.event(node.part(Part::event)?, report)?;
        let amount = match node.part(Part::figure) {
            Some(figure) => Some(self.number(figure, report)?),
            None => None,
        };
        let (mut reading, mut unit) = (None, None);
        if let Some(read) = node.part(Part::read) {
            reading = Some(self.signed(read, report)?);
            unit = match read.part(Part::entry_name) {
                Some(unit) => Some(self.name(unit, report)?),
                None => None,
            };
        }
        let reference = match node.part(Part::read_ref) {
            Some(reference) => Some(self.quoted(reference, report)?),
            None => None,
        };
        Some(ExampleEntry {
            when: when?,
            until,
            item,
            event,
            amount,
            reading,
            unit,
            conditions: self.listed(node.part(Part::read_in), report)?,
            found: self.listed(node.part(Part::read_found), report)?,
            reference,
            span: self.span(node),
        })
    }

    fn listed(&self, node: Option<&Node>, report: &mut Report) -> Option<Vec<Name>> {
        let Some(node) = node else {
            return Some(Vec::new());
        };
        node.all(Part::entry_name).map(|n| self.name(n, report)).collect()
    }

    fn event(&self, node: &Node, report: &mut Report) -> Option<Name> {
        match node.part(Part::entry_name) {
            Some(name) => self.name(name, report),
            None => Some(Name::at("in service", self.span(node))),
        }
    }

    fn id(&self, node: &Node, report: &mut Report) -> Option<String> {
        self.string(node, report).map(|id| id.trim().to_owned())
    }

    /// `on WHEN ID TASK is STANDING [since DATE]`
    pub(crate) fn claim(&self, node: &Node, report: &mut Report) -> Option<Claim> {
        let when = self.when(node.part(Part::when)?, report);
        let item = self.id(node.part(Part::id)?, report)?;
        let task = self.name(node.part(Part::name)?, report)?;
        let said = self.text(node.part(Part::standing)?).to_ascii_lowercase();
        let standing = Standing::ALL.into_iter().find(|s| s.word() == said)?;
        let since = match node.part(Part::figure) {
            Some(figure) => Some(self.date(figure, report)?),
            None => None,
        };
        Some(Claim { when: when?, item, task, standing, since, span: self.span(node) })
    }

    /// `KIND ID [received DATE] [in service DATE] [NAME value]…`
    pub(crate) fn item(&self, node: &Node, known: &Vocabulary, report: &mut Report) -> Option<ExampleItem> {
        let mut parts = node.parts.as_slice();
        let kind = self.longest(&mut parts, &known.kinds, report)?;
        let Some(id) = self.taken(&mut parts, report)? else {
            let message = "an item of an example needs a kind and an id";
            let help = format!("write for example `{} C1 received 2026-01-10`", kind.text);
            report.push(Diagnostic::error(Code::BadExampleLine, self.span(node), message).help(help));
            return None;
        };
        let mut item = ExampleItem {
            kind,
            id: id.0,
            received: None,
            in_service: None,
            attributes: Vec::new(),
            span: self.span(node),
        };
        while let [first, rest @ ..] = parts {
            let word = |n: &Node| self.text(n).to_ascii_lowercase();
            match (word(first).as_str(), rest) {
                ("received", [date, rest @ ..]) => {
                    self.life_date(&mut item.received, first, date, report)?;
                    parts = rest;
                }
                ("in", [service, date, rest @ ..]) if word(service) == "service" => {
                    self.life_date(&mut item.in_service, first, date, report)?;
                    parts = rest;
                }
                _ => {
                    let attribute = self.longest(&mut parts, &known.attributes, report)?;
                    let Some((value, _)) = self.taken(&mut parts, report)? else {
                        let message = format!("`{}` has no value here", attribute.text);
                        let help = format!("write a value after it, as in `{} \"…\"`", attribute.text);
                        report.push(
                            Diagnostic::error(Code::BadExampleLine, attribute.span, message).help(help),
                        );
                        return None;
                    };
                    item.attributes.push((attribute, value));
                }
            }
        }
        Some(item)
    }

    fn life_date(
        &self,
        slot: &mut Option<NaiveDate>,
        word: &Node,
        node: &Node,
        report: &mut Report,
    ) -> Option<()> {
        let date = self.date(node, report)?;
        if slot.replace(date).is_some() {
            let message = "this date is already given";
            report.push(
                Diagnostic::error(Code::BadExampleLine, self.span(word), message).help("keep one of them"),
            );
            return None;
        }
        Some(())
    }

    /// The longest run of words that is a known name, else one word. Leaves what is not taken.
    fn longest(&self, parts: &mut &[Node], known: &HashSet<String>, report: &mut Report) -> Option<Name> {
        let mut best: Option<(Name, usize)> = None;
        let mut text = String::new();
        let mut place: Option<Span> = None;
        for (i, node) in parts.iter().enumerate().take(LONGEST_NAME) {
            let bit = match node.part {
                Part::string => self.string(node, report)?,
                Part::any_word => self.text(node).to_owned(),
                _ => break,
            };
            if !text.is_empty() {
                text.push(' ');
            }
            text.push_str(&bit);
            let span = place.map_or(self.span(node), |p| p.to(self.span(node)));
            place = Some(span);
            if i == 0 || known.contains(&key(&text)) {
                best = Some((Name::at(text.trim(), span), i + 1));
            }
        }
        let Some((name, length)) = best.filter(|(name, _)| !name.key.is_empty()) else {
            let span = parts.first().map(|n| self.span(n)).unwrap_or_default();
            let message = "a kind or the name of a column is expected here";
            report.push(
                Diagnostic::error(Code::BadExampleLine, span, message)
                    .help("write for example `camera C1 maker Orla`"),
            );
            return None;
        };
        *parts = parts.get(length..).unwrap_or(&[]);
        Some(name)
    }

    /// One word, number or string; `Some(None)` at the end of the line.
    fn taken(&self, parts: &mut &[Node], report: &mut Report) -> Option<Option<(String, Span)>> {
        let [first, rest @ ..] = *parts else {
            return Some(None);
        };
        let (value, rest) = match (first.part, rest) {
            (Part::string, _) => (self.string(first, report)?, rest),
            (Part::minus, [figure, rest @ ..]) => (format!("-{}", self.text(figure)), rest),
            _ => (self.text(first).to_owned(), rest),
        };
        let span = self.span(first);
        *parts = rest;
        Some(Some((value.trim().to_owned(), span)))
    }
}
