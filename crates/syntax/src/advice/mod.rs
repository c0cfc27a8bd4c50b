//! What to say of a line or part that missed its form: what it probably is, and how to write it.
//!
//! Everything here looks at words that are already known to be wrong; nothing here decides whether
//! they are.

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
mod uses;
mod when;

pub(crate) use atom::atom;
pub(crate) use calendar::{month_named, weekday_of};
pub(crate) use counting::{counting_word, number_of};
pub(crate) use detail::{detail, detail_within, detail_without_rule, like_a_unit};
pub(crate) use example::example_line;
pub(crate) use lengths::{length, season, times_in};
pub(crate) use line::{instead, line, unreadable};
pub(crate) use names::{notice_of_nothing, undeclared, zone};
pub(crate) use task::{no_task, task};

use crate::lower::File;
use crate::parse::{Node, Part};
use crate::source::Span;
use std::ops::Range;

/// Words that begin a part of a trigger.
const STARTS: [&str; 8] = ["after", "every", "each", "at", "before", "when", "on", "age"];

/// Words that no unquoted name may hold.
const RESERVED: [&str; 21] = [
    "a", "an", "and", "any", "after", "at", "before", "each", "every", "for", "if", "in", "instead", "is",
    "not", "on", "or", "the", "unless", "when", "where",
];

/// One word, number, string, bracket or sign.
#[derive(Debug)]
struct Piece<'a> {
    part: Part,
    text: &'a str,
    /// In lower case, without a full stop after it.
    low: String,
    span: Span,
}

/// The pieces of a part that missed its form.
#[derive(Debug)]
struct Pieces<'a> {
    code: &'a str,
    list: Vec<Piece<'a>>,
}

impl<'a> Pieces<'a> {
    /// The pieces of a `bad_…` node, words of names taken apart.
    fn of(file: &File<'a>, node: &Node) -> Self {
        let mut pieces = Self { code: file.code, list: Vec::new() };
        pieces.add(file, node);
        pieces
    }

    fn add(&mut self, file: &File<'a>, node: &Node) {
        for part in &node.parts {
            if part.parts.is_empty() || part.part == Part::bracket {
                let text = file.code.get(part.start..part.end).unwrap_or("");
                self.list.push(Piece {
                    part: part.part,
                    text,
                    low: text.trim_end_matches('.').to_lowercase(),
                    span: file.span(part),
                });
            } else {
                self.add(file, part);
            }
        }
    }

    fn len(&self) -> usize {
        self.list.len()
    }

    fn get(&self, i: usize) -> Option<&Piece<'a>> {
        self.list.get(i)
    }

    /// A piece in lower case; nothing beyond the end.
    fn low(&self, i: usize) -> &str {
        self.list.get(i).map_or("", |p| &p.low)
    }

    /// A piece as written; nothing beyond the end.
    fn raw(&self, i: usize) -> &'a str {
        self.list.get(i).map_or("", |p| p.text)
    }

    fn is(&self, i: usize, part: Part) -> bool {
        self.list.get(i).is_some_and(|p| p.part == part)
    }

    fn is_figure(&self, i: usize) -> bool {
        self.is(i, Part::figure)
    }

    /// Whether a name could begin here.
    fn is_bit(&self, i: usize) -> bool {
        self.is(i, Part::string) || self.is_word(i) && !RESERVED.contains(&self.low(i))
    }

    fn is_word(&self, i: usize) -> bool {
        self.is(i, Part::any_word) || self.is(i, Part::word)
    }

    /// The first place of a word.
    fn find(&self, word: &str) -> Option<usize> {
        self.list.iter().position(|p| p.low == word)
    }

    /// The first place of one of some words.
    fn find_any(&self, words: &[&str]) -> Option<usize> {
        self.list.iter().position(|p| words.contains(&p.low.as_str()))
    }

    /// The first place of one of some words, from a place on.
    fn find_from(&self, from: usize, words: &[&str]) -> Option<usize> {
        (from..self.len()).find(|i| words.contains(&self.low(*i)))
    }

    /// Whether these words stand one after the other from a place on.
    fn stand(&self, from: usize, words: &[&str]) -> bool {
        words.iter().enumerate().all(|(i, w)| self.low(from + i) == *w)
    }

    /// The pieces around one, as far as the nearest of some words or the ends of a range.
    fn around(&self, at: usize, within: Range<usize>, words: &[&str]) -> Range<usize> {
        let stops = |i: &usize| words.contains(&self.low(*i));
        let start = (within.start..at).rev().find(stops).map_or(within.start, |i| i + 1);
        start..(at..within.end).find(stops).unwrap_or(within.end)
    }

    /// As written, blanks and line breaks as one blank each, cut off where it gets long.
    fn text(&self, from: usize, to: usize) -> String {
        let Some(span) = self.span(from, to) else {
            return String::new();
        };
        let text = self.code.get(span.start as usize..span.end as usize).unwrap_or("");
        short(text)
    }

    fn rest(&self, from: usize) -> String {
        self.text(from, self.len())
    }

    /// The place of some pieces.
    fn span(&self, from: usize, to: usize) -> Option<Span> {
        let pieces = self.list.get(from..to)?;
        Some(pieces.first()?.span.to(pieces.last()?.span))
    }

    /// The place of a piece, or of all.
    fn at(&self, i: usize) -> Span {
        self.list.get(i).map_or_else(|| self.whole(), |p| p.span)
    }

    /// The place of all, on its first line.
    fn whole(&self) -> Span {
        let span = self.span(0, self.len()).unwrap_or_default();
        let text = self.code.get(span.start as usize..span.end as usize).unwrap_or("");
        let first = text.lines().next().map_or(0, |l| l.trim_end().len());
        Span { end: span.start + u32::try_from(first).unwrap_or(0), ..span }
    }
}

/// A text on one line, cut off where it gets long.
fn short(text: &str) -> String {
    const MOST: usize = 100;
    let mut out = String::new();
    for word in text.split_whitespace() {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(word);
        if out.chars().count() > MOST {
            return out.chars().take(MOST).chain("…".chars()).collect();
        }
    }
    out
}

/// The candidate that is spelled most alike, if any is alike enough to be meant.
pub(crate) fn closest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let letters = word.chars().count();
    // A long word is compared with nothing: it is no slip of a short one, and would cost much.
    if !(3..=60).contains(&letters) {
        return None;
    }
    let most = (letters / 3).clamp(1, 3);
    let near = candidates.into_iter().filter(|c| c.chars().count().abs_diff(letters) <= most);
    near.map(|c| (strsim::osa_distance(word, c), c))
        .filter(|(distance, _)| (1..=most).contains(distance))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, c)| c)
}
