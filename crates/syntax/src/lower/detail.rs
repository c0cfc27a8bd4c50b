//! Details of a rule.

use super::file::File;
use super::values::Zero;
use crate::amount::Amount;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::misread::Missed;
use crate::parse::{Node, Part};
use crate::report::Report;
use crate::source::Span;
use crate::tokens::spaced;
use crate::tree::{Details, Notice};

/// The details a rule has so far, with their places, to find repetitions and contradictions.
pub(crate) type Seen = Vec<(Part, Span)>;

impl File<'_> {
    /// Adds one detail to a rule's.
    pub(crate) fn detail(&self, node: &Node, details: &mut Details, seen: &mut Seen, report: &mut Report) {
        let Some(inner) = node.first() else {
            return;
        };
        if inner.part == Part::bad_detail {
            report.misread(self.id, Missed::Detail(inner.clone()));
            return;
        }
        let span = self.span(inner);
        let first = seen.iter().find(|(part, _)| *part == inner.part && inner.part != Part::caution);
        if let Some((_, first)) = first {
            let message = format!("`{}` appears twice in this rule", opening(inner.part));
            let twice = Diagnostic::error(Code::DetailTwice, span, message).help("keep one of them");
            report.push(twice.second(*first, "the first one"));
            return;
        }
        seen.push((inner.part, span));
        if matches!(inner.part, Part::needs | Part::takes | Part::by | Part::because | Part::caution) {
            details.described.push(span);
        }
        // What is not good has been reported, and leaves the detail out.
        let _ = self.set_detail(inner, details, report);
    }

    fn set_detail(&self, node: &Node, details: &mut Details, report: &mut Report) -> Option<()> {
        match node.part {
            Part::within => details.within = Some(self.duration_in(node, Zero::Allowed, report)?),
            Part::notice => details.notice = Some(self.notice(node, report)?),
            Part::allow => details.allow = Some(self.duration_in(node, Zero::Allowed, report)?),
            Part::no_later => details.no_later_than = Some(self.trigger(node.part(Part::trigger)?, report)?),
            Part::do_not_use => details.do_not_use = true,
            Part::at_most_every => {
                details.at_most_every = Some(self.duration_in(node, Zero::Refused, report)?)
            }
            Part::needs => {
                let texts = node.all(Part::text).map(|t| self.needed(t, report));
                details.needs = texts.collect::<Option<_>>()?;
            }
            Part::takes => details.takes_minutes = Some(self.minutes(node, report)?),
            Part::by => details.by = Some(self.quoted(node, report)?),
            Part::because => details.because = Some(self.quoted(node, report)?),
            _ => details.cautions.push(self.quoted(node, report)?),
        }
        Some(())
    }

    fn notice(&self, node: &Node, report: &mut Report) -> Option<Notice> {
        match node.part(Part::notice_uses) {
            Some(uses) => {
                let amount = self.number(uses.part(Part::figure)?, report)?;
                Some(Notice::Uses(amount, self.name(uses.part(Part::name)?, report)?))
            }
            None => self.duration_in(node, Zero::Allowed, report).map(Notice::Ahead),
        }
    }

    /// One thing needed: a string, or the words as written.
    fn needed(&self, node: &Node, report: &mut Report) -> Option<String> {
        match node.part(Part::string) {
            Some(string) => self.string(string, report),
            None => {
                let text = spaced(self.code, node.start..node.end);
                if let Some(at) = detail_within(&text) {
                    let detail = text.get(at..).unwrap_or(&text);
                    let message = format!("`{detail}` is a detail, not a thing that is needed");
                    let help = format!("write `;` before it: `; {detail}`, or put it on a line of its own");
                    report
                        .push(Diagnostic::error(Code::MissingSemicolon, self.span(node), message).help(help));
                    return None;
                }
                Some(text)
            }
        }
    }

    fn minutes(&self, node: &Node, report: &mut Report) -> Option<Amount> {
        let figure = node.part(Part::figure)?;
        let amount = self.number(figure, report)?;
        let hours = self.text(node.part(Part::clock_unit)?).to_ascii_lowercase().starts_with("hour");
        let factor = if hours { 60 } else { 1 };
        let Some(micros) = amount.micros().checked_mul(factor) else {
            let message = format!("`{}` is longer than any work takes", self.text(node));
            report.push(
                Diagnostic::error(Code::BadNumber, self.span(figure), message).help("write a smaller number"),
            );
            return None;
        };
        Some(Amount::from_micros(micros))
    }
}

/// How a detail begins.
pub(crate) fn opening(part: Part) -> &'static str {
    match part {
        Part::within => "within",
        Part::notice => "notice",
        Part::allow => "allow",
        Part::no_later => "no later than",
        Part::do_not_use => "do not use until done",
        Part::at_most_every => "at most every",
        Part::needs => "needs",
        Part::takes => "takes",
        Part::by => "by",
        Part::because => "because",
        _ => "caution",
    }
}

/// Where a detail begins in the text of a thing that is needed: `blower, do not use until done`.
fn detail_within(text: &str) -> Option<usize> {
    let low = text.to_lowercase();
    let begins = |at: usize| {
        let rest = low.get(at..).unwrap_or("");
        let mut words = rest.split(' ');
        let counts = matches!(words.next(), Some("within" | "notice" | "allow" | "takes"))
            && words.next().is_some_and(|word| word.starts_with(|c: char| c.is_ascii_digit()));
        counts || ["do not use", "no later than", "at most every"].iter().any(|words| rest.starts_with(words))
    };
    let starts = std::iter::once(0).chain(low.match_indices(' ').map(|(at, _)| at + 1));
    starts.into_iter().find(|at| begins(*at)).filter(|_| low.len() == text.len())
}
