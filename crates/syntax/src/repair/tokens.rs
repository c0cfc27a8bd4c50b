//! The words, numbers and signs of a part that missed its form.

use super::words::RESERVED;
use crate::lower::File;
use crate::parse::{Node, Part};
use crate::source::Span;
use std::ops::Range;

/// One word, number, string, bracket or sign.
#[derive(Debug)]
pub(super) struct Token<'a> {
    pub part: Part,
    pub text: &'a str,
    /// In lower case, without a full stop after it.
    pub low: String,
    pub span: Span,
}

/// The tokens of a part that missed its form.
#[derive(Debug)]
pub(super) struct Tokens<'a> {
    code: &'a str,
    pub list: Vec<Token<'a>>,
}

impl<'a> Tokens<'a> {
    /// The tokens of a `bad_…` node, words of names taken apart.
    pub fn of(file: &File<'a>, node: &Node) -> Self {
        let mut tokens = Self { code: file.code, list: Vec::new() };
        tokens.add(file, node);
        tokens
    }

    fn add(&mut self, file: &File<'a>, node: &Node) {
        for part in &node.parts {
            if part.parts.is_empty() || part.part == Part::bracket {
                let text = file.code.get(part.start..part.end).unwrap_or("");
                self.list.push(Token {
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

    pub fn len(&self) -> usize {
        self.list.len()
    }

    pub fn get(&self, i: usize) -> Option<&Token<'a>> {
        self.list.get(i)
    }

    /// A token in lower case; nothing beyond the end.
    pub fn low(&self, i: usize) -> &str {
        self.list.get(i).map_or("", |p| &p.low)
    }

    /// A token as written; nothing beyond the end.
    pub fn raw(&self, i: usize) -> &'a str {
        self.list.get(i).map_or("", |p| p.text)
    }

    pub fn is(&self, i: usize, part: Part) -> bool {
        self.list.get(i).is_some_and(|p| p.part == part)
    }

    pub fn is_figure(&self, i: usize) -> bool {
        self.is(i, Part::figure)
    }

    /// Whether a name could begin here.
    pub fn is_bit(&self, i: usize) -> bool {
        self.is(i, Part::string) || self.is_word(i) && !RESERVED.contains(&self.low(i))
    }

    pub fn is_word(&self, i: usize) -> bool {
        self.is(i, Part::any_word) || self.is(i, Part::word)
    }

    /// The first place of a word.
    pub fn find(&self, word: &str) -> Option<usize> {
        self.list.iter().position(|p| p.low == word)
    }

    /// The first place of one of some words.
    pub fn find_any(&self, words: &[&str]) -> Option<usize> {
        self.list.iter().position(|p| words.contains(&p.low.as_str()))
    }

    /// The first place of one of some words, from a place on.
    pub fn find_from(&self, from: usize, words: &[&str]) -> Option<usize> {
        (from..self.len()).find(|i| words.contains(&self.low(*i)))
    }

    /// Whether these words follow one another from a place on.
    pub fn stand(&self, from: usize, words: &[&str]) -> bool {
        words.iter().enumerate().all(|(i, w)| self.low(from + i) == *w)
    }

    /// The tokens around one, as far as the nearest of some words or the ends of a range.
    pub fn around(&self, at: usize, within: Range<usize>, words: &[&str]) -> Range<usize> {
        let stops = |i: &usize| words.contains(&self.low(*i));
        let start = (within.start..at).rev().find(stops).map_or(within.start, |i| i + 1);
        start..(at..within.end).find(stops).unwrap_or(within.end)
    }

    /// As written, blanks and line breaks as one blank each, cut off where it gets long.
    pub fn text(&self, from: usize, to: usize) -> String {
        let Some(span) = self.span(from, to) else {
            return String::new();
        };
        let text = self.code.get(span.start as usize..span.end as usize).unwrap_or("");
        short(text)
    }

    pub fn rest(&self, from: usize) -> String {
        self.text(from, self.len())
    }

    /// The place of some tokens.
    pub fn span(&self, from: usize, to: usize) -> Option<Span> {
        let tokens = self.list.get(from..to)?;
        Some(tokens.first()?.span.to(tokens.last()?.span))
    }

    /// The place of a token, or of all.
    pub fn at(&self, i: usize) -> Span {
        self.list.get(i).map_or_else(|| self.whole(), |p| p.span)
    }

    /// The place of all, on its first line.
    pub fn whole(&self) -> Span {
        let span = self.span(0, self.len()).unwrap_or_default();
        let text = self.code.get(span.start as usize..span.end as usize).unwrap_or("");
        let first = text.lines().next().map_or(0, |l| l.trim_end().len());
        Span { end: span.start + u32::try_from(first).unwrap_or(0), ..span }
    }
}

/// A text on one line, cut off where it gets long.
pub(super) fn short(text: &str) -> String {
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
