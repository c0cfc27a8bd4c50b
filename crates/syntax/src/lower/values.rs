//! Names, strings, numbers, durations and dates of a node.

use super::file::File;
use crate::amount::{Amount, AmountError};
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::unit_of;
use crate::name::{Name, key};
use crate::parse::{Node, Part};
use crate::report::Report;
use crate::source::Span;
use crate::tree::{Duration, Unit};
use crate::when::{When, WhenError, parse_date};
use chrono::NaiveDate;

/// The longest duration, in days, weeks, months and years: 200 years each.
const LONGEST: [(Unit, u32); 4] =
    [(Unit::Day, 73_049), (Unit::Week, 10_435), (Unit::Month, 2_400), (Unit::Year, 200)];

/// Whether a length of nothing is allowed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Zero {
    Allowed,
    Refused,
}

impl File<'_> {
    /// The name a node's words and strings make.
    pub(crate) fn name(&self, node: &Node, report: &mut Report) -> Option<Name> {
        let mut text = String::new();
        for bit in &node.parts {
            let part = match bit.part {
                Part::word | Part::any_word => self.text(bit).to_owned(),
                Part::string => self.string(bit, report)?,
                _ => continue,
            };
            if !text.is_empty() && !part.is_empty() {
                text.push(' ');
            }
            text.push_str(&part);
        }
        let name = Name { text: text.trim().to_owned(), key: key(&text), span: self.span(node) };
        if name.key.is_empty() {
            let message = "a name must have a letter or a digit";
            report.push(
                Diagnostic::error(Code::EmptyName, name.span, message)
                    .help("write the name between the quotes"),
            );
            return None;
        }
        Some(name)
    }

    /// The direct names of a node, as long as all are good.
    pub(crate) fn names(&self, node: &Node, report: &mut Report) -> Option<Vec<Name>> {
        node.all(Part::name).map(|n| self.name(n, report)).collect()
    }

    /// The text between the quotes of a string; a text without quotes as written.
    pub(crate) fn string(&self, node: &Node, report: &mut Report) -> Option<String> {
        let text = self.text(node);
        let inside = text.strip_prefix('"').and_then(|t| t.strip_suffix('"')).unwrap_or(text);
        let mut out = String::with_capacity(inside.len());
        let mut chars = inside.chars();
        while let Some(c) = chars.next() {
            match (c, c == '\\') {
                (_, false) => out.push(c),
                (_, true) => match chars.next() {
                    Some(escaped @ ('"' | '\\')) => out.push(escaped),
                    other => {
                        let other = other.map(String::from).unwrap_or_default();
                        let message = format!("`\\{other}` means nothing in a quoted text");
                        let remedy = "write `\\\\` for a backslash and `\\\"` for a quote";
                        report.push(
                            Diagnostic::error(Code::UnknownEscape, self.span(node), message).help(remedy),
                        );
                        return None;
                    }
                },
            }
        }
        Some(out)
    }

    /// The string that is a direct part of a node.
    pub(crate) fn quoted(&self, node: &Node, report: &mut Report) -> Option<String> {
        node.part(Part::string).and_then(|s| self.string(s, report))
    }

    /// A number; what is none is reported with what was probably meant.
    pub(crate) fn number(&self, node: &Node, report: &mut Report) -> Option<Amount> {
        let text = self.text(node);
        match text.parse() {
            Ok(amount) => Some(amount),
            Err(error) => {
                report.push(bad_number(text, self.span(node), error));
                None
            }
        }
    }

    /// A threshold.
    pub(crate) fn above_zero(&self, node: &Node, report: &mut Report) -> Option<Amount> {
        let amount = self.number(node, report)?;
        if amount == Amount::ZERO {
            let message = "a threshold must be above 0";
            report.push(
                Diagnostic::error(Code::Zero, self.span(node), message)
                    .help("write `1` for every single time"),
            );
            return None;
        }
        Some(amount)
    }

    /// A number with its sign.
    pub(crate) fn signed(&self, node: &Node, report: &mut Report) -> Option<Amount> {
        let amount = self.number(node.part(Part::figure)?, report)?;
        Some(if node.has(Part::minus) { Amount::from_micros(-amount.micros()) } else { amount })
    }

    /// The duration that is a direct part of a node.
    pub(crate) fn duration_in(&self, node: &Node, zero: Zero, report: &mut Report) -> Option<Duration> {
        match (node.part(Part::duration), node.part(Part::lone_unit)) {
            (Some(duration), _) => self.duration(duration, zero, report),
            (None, Some(lone)) => Some(Duration { count: 1, unit: self.unit(lone)? }),
            (None, None) => None,
        }
    }

    /// A number and a calendar unit.
    pub(crate) fn duration(&self, node: &Node, zero: Zero, report: &mut Report) -> Option<Duration> {
        let unit = self.unit(node.part(Part::lone_unit)?)?;
        let figure = node.part(Part::figure)?;
        let amount = self.number(figure, report)?;
        let (text, span) = (self.text(figure), self.span(node));
        if text.contains('.') {
            let message =
                format!("`{}` is not a whole number of {unit}s", self.text(figure), unit = word(unit));
            let help = "write whole days, weeks, months or years: `36 hours` are `2 days`, `1.5 years` are `18 months`";
            report.push(Diagnostic::error(Code::NotWhole, self.span(figure), message).help(help));
            return None;
        }
        let longest = LONGEST.iter().find(|(u, _)| *u == unit).map_or(0, |(_, most)| *most);
        let count = u32::try_from(amount.micros() / 1_000_000).unwrap_or(u32::MAX);
        if count > longest {
            let message = format!("`{}` is more than 200 years", self.text(node));
            report.push(Diagnostic::error(Code::TooLongAhead, span, message).help("write a shorter time"));
            return None;
        }
        if count == 0 && zero == Zero::Refused {
            let message = format!("`{}` is no time at all: it must be above 0", self.text(node));
            report.push(
                Diagnostic::error(Code::Zero, span, message)
                    .help(format!("write `1 {}` or more", word(unit))),
            );
            return None;
        }
        Some(Duration { count, unit })
    }

    fn unit(&self, lone: &Node) -> Option<Unit> {
        unit_of(self.text(lone))
    }

    /// A date as `2026-03-01`.
    pub(crate) fn date(&self, node: &Node, report: &mut Report) -> Option<NaiveDate> {
        let text = self.text(node);
        match parse_date(text) {
            Ok(date) => Some(date),
            Err(error) => {
                report.push(bad_date(text, self.span(node), error));
                None
            }
        }
    }

    /// A date, or a date with a clock time.
    pub(crate) fn when(&self, node: &Node, report: &mut Report) -> Option<When> {
        let text: Vec<&str> = self.text(node).split_whitespace().collect();
        let text = text.join(" ");
        match When::parse(&text) {
            Ok(when) => Some(when),
            Err(error) => {
                report.push(bad_date(&text, self.span(node), error));
                None
            }
        }
    }
}

/// The word of a unit, for one of it.
pub(crate) fn word(unit: Unit) -> &'static str {
    match unit {
        Unit::Day => "day",
        Unit::Week => "week",
        Unit::Month => "month",
        Unit::Year => "year",
    }
}

/// A figure that is no number, with what was probably meant.
fn bad_number(text: &str, span: Span, error: AmountError) -> Diagnostic {
    let digits = text.find(|c: char| !(c.is_ascii_digit() || c == ',' || c == '.')).unwrap_or(text.len());
    let (head, tail) = text.split_at(digits);
    let help = match (error, tail) {
        (AmountError::Malformed, _) if parse_date(text).is_ok() => {
            "a number is needed here, not a date; what happened on a day belongs in the log, or in an `example`"
                .to_owned()
        }
        (AmountError::Malformed, _) if tail.starts_with(['e', 'E', 'k', 'K']) => {
            "write the number in full, such as `200,000` or `1,500`".to_owned()
        }
        _ if head.parse::<Amount>() == Err(AmountError::Grouping) => comma_help(head),
        (AmountError::TooFine, _) => "write at most 6 digits after the point".to_owned(),
        (AmountError::TooLarge, _) => "write a smaller number".to_owned(),
        _ => "write a number such as `12`, `200,000` or `0.5`".to_owned(),
    };
    Diagnostic::error(Code::BadNumber, span, format!("`{text}` {error}")).help(help)
}

fn comma_help(text: &str) -> String {
    let plain = text.replace(',', "");
    match text.split_once(',') {
        Some((whole, fraction)) if !fraction.contains(',') && !text.contains('.') && fraction.len() < 3 => {
            format!("write `{whole}.{fraction}` for a fraction, or `{plain}` for a whole number")
        }
        _ => format!("write `{plain}`"),
    }
}

fn bad_date(text: &str, span: Span, error: WhenError) -> Diagnostic {
    let message = match error {
        WhenError::Malformed => format!("`{text}` is not a date such as `2026-03-01`"),
        _ => format!("`{text}` {error}"),
    };
    // The dates that its three parts may mean; with points the day comes first.
    let written = |year: &str, month: &str, day: &str| {
        Some(format!("{year}-{month:0>2}-{day:0>2}")).filter(|date| parse_date(date).is_ok())
    };
    let meant = match text.split(['.', '/', '-']).collect::<Vec<_>>()[..] {
        [a, b, c] => {
            [written(a, b, c).or_else(|| written(c, b, a)), written(c, a, b).filter(|_| !text.contains('.'))]
        }
        _ => [None, None],
    };
    let help = match (error, meant) {
        (WhenError::NoSuchDate, _) => "check the day and the month".to_owned(),
        (WhenError::NoSuchTime, _) => "clock times go from `00:00` to `23:59:59`".to_owned(),
        (_, [Some(one), Some(other)]) if one != other => {
            format!("write year, month, day: `{one}` or `{other}`, as is meant")
        }
        (_, [Some(date), _] | [None, Some(date)]) => format!("write `{date}`"),
        (_, [None, None]) => "write the date as `2026-03-01`".to_owned(),
    };
    let diagnostic = Diagnostic::error(Code::BadDate, span, message);
    match help.strip_prefix("write `").and_then(|help| help.strip_suffix('`')) {
        Some(only) if error == WhenError::Malformed && parse_date(only).is_ok() => {
            diagnostic.meant(only).help(help)
        }
        _ => diagnostic.help(help),
    }
}
