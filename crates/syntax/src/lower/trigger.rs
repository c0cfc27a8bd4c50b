//! Triggers: nodes to the tree's atoms.

use super::file::File;
use super::values::{Zero, word};
use crate::amount::Amount;
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{in_words, month_of, unit_of};
use crate::misread::Missed;
use crate::name::Name;
use crate::parse::{Node, Part};
use crate::report::Report;
use crate::source::Span;
use crate::tree::{Atom, AtomKind, Calendar, Comparison, Conditions, Rank, Trigger, Unless, Weight};
use chrono::Weekday;

impl File<'_> {
    /// A whole trigger. Goes on after a mistake, to report the others too.
    pub(crate) fn trigger(&self, node: &Node, report: &mut Report) -> Option<Trigger> {
        let parts: Vec<_> = node.all(Part::all).map(|n| self.all_of(n, report)).collect();
        let mut flat = Vec::new();
        for part in parts {
            match part? {
                Trigger::Or(inner) => flat.extend(inner),
                other => flat.push(other),
            }
        }
        joined(flat, Trigger::Or)
    }

    fn all_of(&self, node: &Node, report: &mut Report) -> Option<Trigger> {
        let parts: Vec<_> = node.all(Part::atom).map(|n| self.atom(n, report)).collect();
        let mut flat = Vec::new();
        for part in parts {
            match part? {
                Trigger::And(inner) => flat.extend(inner),
                other => flat.push(other),
            }
        }
        joined(flat, Trigger::And)
    }

    fn atom(&self, node: &Node, report: &mut Report) -> Option<Trigger> {
        let inner = node.first()?;
        if inner.part == Part::group {
            return self.trigger(inner.part(Part::trigger)?, report);
        }
        let kind = match inner.part {
            Part::before => self.before(inner, report),
            Part::finding => self.finding(inner, report),
            Part::spotted => self.any_of(inner, report).map(|findings| AtomKind::Spotted { findings }),
            Part::reading => self.reading(inner, report),
            Part::unused => self.duration_in(inner, Zero::Refused, report).map(AtomKind::Unused),
            Part::calendar => self.calendar(inner.first()?, report).map(AtomKind::Calendar),
            Part::delay => self.delay(inner, report),
            Part::age => self.duration_in(inner, Zero::Refused, report).map(AtomKind::Age),
            Part::interval => self.duration_in(inner, Zero::Refused, report).map(AtomKind::Interval),
            Part::usage => self.usage(inner, report),
            _ => {
                report.misread(self.id, Missed::Atom(inner.clone()));
                None
            }
        }?;
        let span = self.atom_span(inner);
        Some(Trigger::Atom(Atom { kind, span }))
    }

    /// An atom's place without a leading `after` or `at`.
    fn atom_span(&self, node: &Node) -> Span {
        let mut span = self.span(node);
        if let [Node { part: Part::k_after | Part::k_at, .. }, second, ..] = node.parts.as_slice() {
            span.start = self.span(second).start;
        }
        span
    }

    fn any_of(&self, node: &Node, report: &mut Report) -> Option<Vec<Name>> {
        self.names(node.part(Part::any_of)?, report)
    }

    /// `in dust or sand`, `in dust and cold`, `not in studio`.
    fn conditions(&self, node: &Node, report: &mut Report) -> Option<Conditions> {
        if let Some(none) = node.part(Part::none_of) {
            return self.any_of(none, report).map(Conditions::Neither);
        }
        if let Some(all) = node.part(Part::all_of) {
            return self.names(all, report).map(Conditions::All);
        }
        match node.part(Part::any_of) {
            Some(any) => self.names(any, report).map(Conditions::Any),
            None => Some(Conditions::Whatever),
        }
    }

    fn before(&self, node: &Node, report: &mut Report) -> Option<AtomKind> {
        let name = node.part(Part::name)?;
        self.refuse_counting_words(node, name, report)?;
        Some(AtomKind::Before { event: self.name(name, report)?, conditions: self.conditions(node, report)? })
    }

    fn finding(&self, node: &Node, report: &mut Report) -> Option<AtomKind> {
        Some(AtomKind::Finding {
            task: self.name(node.part(Part::finder)?, report)?,
            findings: self.any_of(node, report)?,
        })
    }

    fn reading(&self, node: &Node, report: &mut Report) -> Option<AtomKind> {
        let mut names = node.all(Part::name);
        let name = self.name(names.next()?, report)?;
        let unit = match names.next() {
            Some(unit) => Some(self.name(unit, report)?),
            None => None,
        };
        Some(AtomKind::Reading {
            name,
            comparison: comparison(node.part(Part::comparison)?)?,
            bound: self.signed(node, report)?,
            unit,
        })
    }

    fn delay(&self, node: &Node, report: &mut Report) -> Option<AtomKind> {
        let duration = self.duration_in(node, Zero::Allowed, report);
        let name = node.part(Part::name)?;
        self.refuse_counting_words(node, name, report)?;
        let event = self.name(name, report)?;
        let mut unless = Vec::new();
        for part in node.all(Part::unless) {
            unless.push(match part.part(Part::newer) {
                Some(newer) => self.newer(newer, &event, report)?,
                None => Unless::Event(self.other(part.part(Part::name)?, &event, report)?),
            });
        }
        Some(AtomKind::Delay { duration: duration?, event, unless })
    }

    /// A name after `unless` that is not the delay's own: that would cancel each occurrence by itself.
    fn other(&self, node: &Node, event: &Name, report: &mut Report) -> Option<Name> {
        let name = self.name(node, report)?;
        if name.key != event.key {
            return Some(name);
        }
        let message = format!("`unless {}` would cancel every `{}`: each by itself", name.text, event.text);
        let help = format!("write `a newer {}`", event.text);
        let meant = format!("a newer {}", event.text);
        let at = Diagnostic::error(Code::UnlessItself, name.span, message).help(help).meant(meant);
        report.push(at.second(event.span, "the event it counts from"));
        None
    }

    fn newer(&self, node: &Node, event: &Name, report: &mut Report) -> Option<Unless> {
        let name = self.name(node.part(Part::name)?, report)?;
        if name.key == event.key {
            return Some(Unless::Newer(self.span(node)));
        }
        let message =
            format!("`a newer` names the event that the delay counts from, which is `{}`", event.text);
        let help = format!("write `a newer {}`, or `unless {}` for another event", event.text, name.text);
        let at = Diagnostic::error(Code::OtherNewer, name.span, message).help(help);
        report.push(at.second(event.span, "the event it counts from"));
        None
    }

    fn usage(&self, node: &Node, report: &mut Report) -> Option<AtomKind> {
        let named = node.part(Part::name)?;
        let figure = node.part(Part::figure);
        if figure.is_none() {
            self.refuse_counting_words(node, named, report)?;
        }
        // All parts are read before any is missed, so that each mistake is reported.
        let threshold = figure.map_or(Some(Amount::ONE), |f| self.above_zero(f, report));
        let name = self.name(named, report);
        let conditions = self.conditions(node, report);
        let weights = match node.part(Part::weights) {
            Some(weights) => weights.all(Part::weight).map(|w| self.weight(w, report)).collect(),
            None => Some(Vec::new()),
        };
        let name = name?;
        if let Some(unit) = unit_of(&name.key) {
            let message = format!("`{}` alone is a length of time, never a use", name.text);
            let help = format!(
                "write it without quotes for a time, or name the use more fully, as in `{} trips`",
                word(unit)
            );
            report.push(Diagnostic::error(Code::UnitAsUsage, name.span, message).help(help));
            return None;
        }
        let figure = figure.map(|figure| self.span(figure));
        let (threshold, conditions, weights) = (threshold?, conditions?, weights?);
        Some(AtomKind::Usage { threshold, figure, name, conditions, weights })
    }

    fn weight(&self, node: &Node, report: &mut Report) -> Option<Weight> {
        let figure = node.part(Part::figure)?;
        let factor = self.number(figure, report);
        let condition = self.name(node.part(Part::weighed)?, report)?;
        let text = self.text(figure);
        if text.split_once('.').is_some_and(|(_, fraction)| fraction.len() > 3) && factor.is_some() {
            let message = format!("the weight `{text}` has more than 3 digits after the point");
            report
                .push(Diagnostic::error(Code::BadNumber, self.span(figure), message).help("write at most 3"));
            return None;
        }
        Some(Weight { condition, factor: factor? })
    }

    fn calendar(&self, node: &Node, report: &mut Report) -> Option<Calendar> {
        match node.part {
            Part::on_date => self.date(node.part(Part::figure)?, report).map(Calendar::On),
            Part::yearly => {
                let month = month_of(self.text(node.part(Part::month)?))?;
                let longest = match month {
                    2 => 29,
                    4 | 6 | 9 | 11 => 30,
                    _ => 31,
                };
                let day = self.day(node, longest, report)?;
                Some(Calendar::Yearly { month, day })
            }
            Part::monthly => self.day(node, 31, report).map(|day| Calendar::Monthly { day }),
            Part::weekly => self.weekday(node).map(Calendar::Weekly),
            _ => Some(Calendar::MonthlyWeekday {
                rank: rank_of(self.text(node.part(Part::rank)?))?,
                weekday: self.weekday(node)?,
            }),
        }
    }

    /// A day of the month.
    fn day(&self, node: &Node, longest: u32, report: &mut Report) -> Option<u32> {
        let figure = node.part(Part::figure)?;
        let text = self.text(figure);
        let plain = text.trim_end_matches(|c: char| c.is_ascii_alphabetic() || c == '.');
        let day = Some(plain).filter(|p| p.len() <= 2).and_then(|p| p.parse().ok());
        let fits = day.is_some_and(|day| (1..=longest).contains(&day));
        if fits && plain == text {
            return day;
        }
        let message = match (day, node.part(Part::month)) {
            _ if fits => format!("`{text}` is not a plain number"),
            (None, _) => format!("`{text}` is not a day of the month"),
            (Some(_), Some(month)) => format!("no {} has a day {text}", self.text(month)),
            (Some(_), None) => format!("no month has a day {text}"),
        };
        let help = if fits { format!("write `{plain}`") } else { format!("write a day from 1 to {longest}") };
        report.push(Diagnostic::error(Code::BadDate, self.span(figure), message).help(help));
        None
    }

    fn weekday(&self, node: &Node) -> Option<Weekday> {
        self.text(node.part(Part::weekday)?).parse().ok()
    }

    /// Refuses `every other trip`, `every second trip`, `every two weeks`.
    fn refuse_counting_words(&self, atom: &Node, name: &Node, report: &mut Report) -> Option<()> {
        let counts = |n: &Node| matches!(n.part, Part::k_every | Part::k_each);
        let after_every =
            |n: &Node| n.part == Part::some && !self.text(n).to_ascii_lowercase().starts_with('a');
        let first = name.first().filter(|n| n.part == Part::word);
        let words = first.and_then(|first| self.code.get(first.start..atom.end)).unwrap_or("");
        let is_each = atom.parts.iter().any(|n| counts(n) || after_every(n));
        if is_each && in_words(words.to_ascii_lowercase().split_whitespace()).is_some() {
            let missed = Missed::CountingWord { atom: atom.clone() };
            report.misread(self.id, missed);
            return None;
        }
        Some(())
    }
}

/// One part as itself, more as a list.
fn joined(mut parts: Vec<Trigger>, list: fn(Vec<Trigger>) -> Trigger) -> Option<Trigger> {
    match parts.len() {
        0 | 1 => parts.pop(),
        _ => Some(list(parts)),
    }
}

/// The comparison a node says.
pub(crate) fn comparison(node: &Node) -> Option<Comparison> {
    Some(match node.first()?.part {
        Part::below => Comparison::Below,
        Part::above => Comparison::Above,
        Part::at_least => Comparison::AtLeast,
        _ => Comparison::AtMost,
    })
}

fn rank_of(text: &str) -> Option<Rank> {
    Some(match text.to_ascii_lowercase().as_str() {
        "first" => Rank::Nth(1),
        "second" => Rank::Nth(2),
        "third" => Rank::Nth(3),
        "fourth" => Rank::Nth(4),
        _ => Rank::Last,
    })
}
