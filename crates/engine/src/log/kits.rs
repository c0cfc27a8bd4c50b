//! The kits of an item and the dates on which it is in each: `travel kit; dive kit from 2026-06-01 to 2026-08-31`.

use super::dates::Dates;
use crate::codes::Code;
use crate::problem::{Argument, Problem};
use chrono::{Month, NaiveDate};
use kitlore_syntax::parse_date;

/// A kit and the dates on which an item is in it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct InKit {
    pub kit: Box<str>,
    pub dates: Dates,
}

/// What a cell says of one kit.
struct Part<'a> {
    kit: &'a str,
    from: Option<NaiveDate>,
    to: Option<NaiveDate>,
    /// What is wrong with its dates, which are then left out.
    wrong: Vec<Problem>,
}

/// The parts of a cell, joined by `;` or `,`.
pub(crate) fn split(cell: &str) -> impl Iterator<Item = &str> {
    cell.split([';', ',']).map(str::trim).filter(|part| !part.is_empty())
}

/// The names of the kits in a cell.
pub(crate) fn names(cell: &str) -> impl Iterator<Item = &str> {
    split(cell).map(|part| Part::read(part).kit).filter(|kit| !kit.is_empty())
}

/// The kits that some parts of cells name, each once, and what is wrong with them.
pub(crate) fn read(parts: &[String]) -> (Vec<InKit>, Vec<Problem>) {
    let (mut kits, mut wrong) = (Vec::<InKit>::new(), Vec::new());
    for part in parts {
        let mut part = Part::read(part);
        wrong.append(&mut part.wrong);
        if part.kit.is_empty() {
            continue;
        }
        let dates = Dates::between(part.from, part.to);
        match kits.iter_mut().find(|known| *known.kit == *part.kit) {
            Some(known) => known.dates.add(dates.ranges()),
            None => kits.push(InKit { kit: part.kit.into(), dates }),
        }
    }
    (kits, wrong)
}

impl<'a> Part<'a> {
    fn read(text: &'a str) -> Self {
        let mut wrong = Vec::new();
        let problem = |sentence: &'static str| Problem::new(Code::BadTime, sentence).with("text", text);
        let mut date = |name: &'a str, word: &str| match cut(name, word) {
            None => (name, None),
            Some((before, date)) => match parse_date(date) {
                Ok(date) => (before, Some(date)),
                Err(error) => {
                    let problem =
                        problem("`kit` `{text}`: `{word}` {error}; it is left out").with("word", word);
                    wrong.push(problem.with("error", Argument::Words(error.to_string().into())));
                    (before, None)
                }
            },
        };
        let (kit, to) = date(text, "to");
        let (kit, from) = date(kit, "from");
        if kit.is_empty() {
            wrong.push(problem("`kit` `{text}` says no kit; write such as `dive kit {text}`"));
        }
        if from.zip(to).is_some_and(|(from, to)| to < from) {
            wrong.push(problem("`kit` `{text}` ends before it begins; its dates are left out"));
            return Self { kit, from: None, to: None, wrong };
        }
        Self { kit, from, to, wrong }
    }
}

/// A text before the last of some word that stands before what looks like a date, and what comes after it.
fn cut<'a>(text: &'a str, word: &str) -> Option<(&'a str, &'a str)> {
    let mut head = text;
    while !head.is_empty() {
        let (before, last) = head.rsplit_once(char::is_whitespace).unwrap_or(("", head));
        let (before, after) = (before.trim_end(), text.get(head.len()..)?.trim_start());
        if last.eq_ignore_ascii_case(word) && looks_like_a_date(after) {
            return Some((before, after));
        }
        head = before;
    }
    None
}

fn looks_like_a_date(text: &str) -> bool {
    let first = text.split_whitespace().next().unwrap_or("");
    first.starts_with(|letter: char| letter.is_ascii_digit()) || first.parse::<Month>().is_ok()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a panic is a failed test")]

    use super::*;

    /// The kits of a cell with their dates, and how many faults it has.
    fn shown(cell: &str) -> (Vec<String>, usize) {
        let (kits, wrong) = read(&split(cell).map(str::to_owned).collect::<Vec<_>>());
        (kits.iter().map(|kit| format!("{} {}", kit.kit, kit.dates)).collect(), wrong.len())
    }

    #[test]
    fn kits_have_dates_or_none() {
        for (cell, kits) in [
            ("travel kit", &["travel kit always"][..]),
            (" travel ;, dive ", &["travel always", "dive always"]),
            ("dive from 2026-06-01", &["dive from 2026-06-01"]),
            ("dive To 2026-06-01", &["dive to 2026-06-01"]),
            ("dive FROM 2026-06-01  to\t2026-06-30", &["dive 2026-06-01 to 2026-06-30"]),
            ("dive from 2026-06-01 to 2026-06-01", &["dive 2026-06-01 to 2026-06-01"]),
            ("a to 2026-01-31, b, a from 2026-03-01", &["a to 2026-01-31, from 2026-03-01", "b always"]),
            // Each day once, and days that follow each other are one time.
            ("a to 2026-01-31; a from 2026-02-01", &["a always"]),
            (
                "a from 2026-01-01 to 2026-01-05; a from 2026-01-03 to 2026-01-09",
                &["a 2026-01-01 to 2026-01-09"],
            ),
            // Words that stand before no date belong to the name.
            ("gift from Ines", &["gift from Ines always"]),
            ("road to Évora from 2026-01-01", &["road to Évora from 2026-01-01"]),
            ("from", &["from always"]),
            ("to to", &["to to always"]),
            ("boîte à from 2026-01-01", &["boîte à from 2026-01-01"]),
        ] {
            assert_eq!(shown(cell), (kits.iter().map(|kit| (*kit).to_owned()).collect(), 0), "{cell}");
        }
    }

    #[test]
    fn dates_that_are_none_are_told() {
        for (cell, kits) in [
            ("dive from 2026-6-1", "dive always"),
            ("dive from 2026-02-30 to 2026-06-30", "dive to 2026-06-30"),
            ("dive from June", "dive always"),
            ("dive until to Sep", "dive until always"),
            ("dive from 1 June 2026", "dive always"),
            ("dive from 2026-06-01 onwards", "dive always"),
            ("dive to 2026-06-30 from 2026-06-01", "dive always"),
            ("dive from 2026-06-30 to 2026-06-01", "dive always"),
        ] {
            assert_eq!(shown(cell), (vec![kits.to_owned()], 1), "{cell}");
        }
        assert_eq!(shown("from 2026-06-01"), (Vec::new(), 1));
        assert_eq!(shown("from 5 to 6").1, 3);
    }
}
