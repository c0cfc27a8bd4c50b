//! The tokens of a line, as rewrites look at them, and what a rewrite makes of them.

use crate::codes::Code;
use crate::lexicon::unit_of;
use crate::repair::tokens::{DETAILS, Line, STARTS, Token, joined};
use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::ops::Range;
use std::rc::Rc;

/// What was wrong, and where in the line as it was written.
#[derive(Debug, Clone)]
pub(in crate::repair) struct Why {
    pub code: Code,
    pub message: String,
    pub at: Range<usize>,
}

/// A line with one thing exchanged.
#[derive(Debug)]
pub(in crate::repair) struct Step {
    pub tokens: Vec<Token>,
    /// The larger, the less likely it was meant.
    pub cost: u32,
    pub why: Why,
}

/// What is put in place of something.
#[derive(Debug, Clone)]
pub(super) enum Put<'p> {
    /// Words of the language.
    Text(&'p str),
    /// Tokens of the line.
    Kept(Range<usize>),
}

use Put::{Kept, Text};

/// The tokens of a line that rewrites look at.
#[derive(Debug, Clone)]
pub(in crate::repair) struct Words<'a> {
    pub tokens: Vec<Token>,
    /// The keys of the tasks that rules of the house ask for.
    pub(super) tasks: &'a HashSet<&'a str>,
    /// What words were looked up as words of the language that are misspelt.
    pub(super) spelled: Rc<RefCell<HashMap<Rc<str>, Option<&'static str>>>>,
}

impl<'a> Words<'a> {
    /// The tokens of a line in a house with these tasks.
    pub(in crate::repair) fn new(line: &Line<'_>, tasks: &'a HashSet<&'a str>) -> Self {
        Self { tokens: line.tokens.clone(), tasks, spelled: Rc::default() }
    }

    /// Other tokens in the same house.
    pub(in crate::repair) fn with(&self, tokens: &[Token]) -> Self {
        Self { tokens: tokens.to_vec(), ..self.clone() }
    }

    pub(super) fn len(&self) -> usize {
        self.tokens.len()
    }

    pub(super) fn low(&self, i: usize) -> &str {
        self.tokens.get(i).map_or("", |token| &token.low)
    }

    /// The token before one, in lower case.
    pub(super) fn before(&self, i: usize) -> &str {
        i.checked_sub(1).map_or("", |i| self.low(i))
    }

    pub(super) fn is_figure(&self, i: usize) -> bool {
        self.tokens.get(i).is_some_and(Token::is_figure)
    }

    pub(super) fn is_string(&self, i: usize) -> bool {
        self.tokens.get(i).is_some_and(Token::is_string)
    }

    pub(super) fn is_bit(&self, i: usize) -> bool {
        self.tokens.get(i).is_some_and(Token::is_bit)
    }

    pub(super) fn is_unit(&self, i: usize) -> bool {
        unit_of(self.low(i)).is_some()
    }

    /// How many words of a phrase stand at a place: all of them, or none.
    pub(super) fn stand(&self, at: usize, phrase: &str) -> Option<usize> {
        let mut end = at;
        for word in phrase.split(' ') {
            (self.low(end) == word).then_some(())?;
            end += 1;
        }
        Some(end)
    }

    /// The first place of a word from one on.
    pub(super) fn find(&self, from: usize, words: &[&str]) -> Option<usize> {
        (from..self.len()).find(|i| words.contains(&self.low(*i)))
    }

    /// Some tokens as they are written.
    pub(super) fn text(&self, range: Range<usize>) -> String {
        joined(self.tokens.get(range).unwrap_or(&[]))
    }

    /// Whether a part of a trigger begins at a place.
    pub(super) fn starts(&self, i: usize) -> bool {
        STARTS.contains(&self.low(i)) || self.is_figure(i) || self.low(i) == "("
    }

    /// Whether a detail begins at a place, as surely as its words say.
    pub(super) fn opens(&self, i: usize) -> bool {
        match self.low(i) {
            "within" | "notice" | "allow" | "takes" => self.is_figure(i + 1),
            "no" => self.low(i + 1) == "later",
            "do" => self.low(i + 1) == "not",
            "at" => self.low(i + 1) == "most",
            "by" | "because" | "caution" => self.is_string(i + 1),
            "needs" => i + 1 < self.len(),
            _ => false,
        }
    }

    /// Whether the line begins with a rule's trigger.
    pub(super) fn is_rule(&self) -> bool {
        self.low(0) == "instead" || self.starts(0)
    }

    /// Whether the line begins with a detail.
    pub(super) fn is_detail(&self) -> bool {
        DETAILS.contains(&self.low(0)) && !(self.low(0) == "at" && self.low(1) != "most")
    }

    /// The tokens with something else in place of some.
    pub(super) fn exchanged(&self, range: Range<usize>, puts: &[Put<'_>]) -> Vec<Token> {
        let mut tokens: Vec<Token> = self.tokens.get(..range.start).unwrap_or(&[]).to_vec();
        for put in puts {
            match put {
                Text("\n") => tokens.push(Token::new("\n", None)),
                Text(text) if text.starts_with('"') => tokens.push(Token::new(text, None)),
                Text(text) => tokens.extend(text.split_whitespace().map(|word| Token::new(word, None))),
                Kept(kept) => tokens.extend(self.tokens.get(kept.clone()).unwrap_or(&[]).iter().cloned()),
            }
        }
        tokens.extend(self.tokens.get(range.end..).unwrap_or(&[]).iter().cloned());
        tokens
    }

    /// A step that puts something in place of some tokens.
    pub(super) fn step(
        &self,
        range: Range<usize>,
        puts: &[Put<'_>],
        cost: u32,
        code: Code,
        message: String,
    ) -> Step {
        let froms = self.tokens.get(range.clone()).unwrap_or(&[]).iter().filter_map(|token| token.from);
        let next = || self.tokens.get(range.end)?.from;
        let near = || {
            self.tokens.get(..range.start.max(1)).and_then(|before| before.iter().rev().find_map(|t| t.from))
        };
        let first = froms.clone().min().or_else(next).or_else(near).unwrap_or(0);
        let last = froms.max().unwrap_or(first);
        let why = Why { code, message, at: first..last + 1 };
        Step { tokens: self.exchanged(range, puts), cost, why }
    }
}
