//! A logical line as words, figures, texts and signs, which rewrites exchange for others.

use crate::diagnostic::Edit;
use crate::lower::File;
use crate::tokens::{blank_between, tokens};
use std::ops::Range;
use std::rc::Rc;

/// Words that no unquoted name may hold.
pub(super) const RESERVED: [&str; 21] = [
    "a", "an", "and", "any", "after", "at", "before", "each", "every", "for", "if", "in", "instead", "is",
    "not", "on", "or", "the", "unless", "when", "where",
];

/// The words that details begin with.
pub(super) const DETAILS: [&str; 11] =
    ["within", "notice", "allow", "no", "do", "at", "needs", "takes", "by", "because", "caution"];

/// Words that begin a part of a trigger.
pub(super) const STARTS: [&str; 8] = ["after", "every", "each", "at", "before", "when", "on", "age"];

/// One token.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Token {
    pub text: Rc<str>,
    /// In lower case.
    pub low: Rc<str>,
    /// Which token of the line it is; none for what a rewrite put in.
    pub from: Option<usize>,
}

impl Token {
    pub fn new(text: &str, from: Option<usize>) -> Self {
        Self { text: text.into(), low: text.to_lowercase().into(), from }
    }

    pub fn is_figure(&self) -> bool {
        self.text.starts_with(|c: char| c.is_ascii_digit())
    }

    pub fn is_string(&self) -> bool {
        self.text.starts_with('"')
    }

    pub fn is_word(&self) -> bool {
        self.text.starts_with(char::is_alphabetic)
    }

    /// Whether a name can hold it.
    pub fn is_bit(&self) -> bool {
        self.is_string() || self.is_word() && !RESERVED.contains(&&*self.low)
    }
}

/// The tokens of a line, with their places in the source.
#[derive(Debug)]
pub(super) struct Line<'a> {
    file: File<'a>,
    pub range: Range<usize>,
    places: Vec<Range<usize>>,
    pub tokens: Vec<Token>,
}

impl<'a> Line<'a> {
    /// The tokens of a stretch of code.
    pub fn of(file: File<'a>, range: Range<usize>) -> Self {
        let mut places = Vec::new();
        for place in tokens(file.code, range.clone()) {
            split_marks(file.code, place, &mut places);
        }
        let text = |place: &Range<usize>| file.code.get(place.clone()).unwrap_or("");
        let tokens = places.iter().enumerate().map(|(i, place)| Token::new(text(place), Some(i))).collect();
        Self { file, range, places, tokens }
    }

    /// The text that the line is in.
    pub fn file(&self) -> &File<'a> {
        &self.file
    }

    /// The place of some tokens of the line as it was written.
    pub fn place(&self, tokens: Range<usize>) -> Range<usize> {
        let start = self.places.get(tokens.start).map_or(self.range.start, |place| place.start);
        let end = tokens.end.checked_sub(1).and_then(|last| self.places.get(last)).map_or(start, |p| p.end);
        start..end.max(start)
    }

    /// The edits that make these tokens of the line; none where a comment would be lost.
    pub fn edits(&self, tokens: &[Token]) -> Option<Vec<Edit>> {
        let mut edits = Vec::new();
        let (mut at, mut put) = (0, Vec::new());
        for token in tokens {
            match kept(token, self.tokens.get(at..).unwrap_or(&[])) {
                Some(skipped) => {
                    edits.extend(self.edit(at..at + skipped, &put)?);
                    put.clear();
                    at += skipped + 1;
                }
                None => put.push(&*token.text),
            }
        }
        edits.extend(self.edit(at..self.tokens.len(), &put)?);
        Some(edits)
    }

    /// The edit that puts texts in place of some tokens; no edit for nothing in place of nothing, and nothing at all
    /// where a comment or a line break would be lost.
    fn edit(&self, tokens: Range<usize>, put: &[&str]) -> Option<Option<Edit>> {
        if tokens.is_empty() && put.is_empty() {
            return Some(None);
        }
        let at = |i: usize| Some((&*self.tokens.get(i)?.text, self.places.get(i)?.clone()));
        let (before, after) = (tokens.start.checked_sub(1).and_then(at), at(tokens.end));
        let gap = |from: usize, to: usize| self.file.code.get(from..to).unwrap_or("");
        let place = match (tokens.is_empty(), &before) {
            (true, Some((_, before))) => before.end..before.end,
            (true, None) => self.range.start..self.range.start,
            (false, _) => self.place(tokens.clone()),
        };
        let broken = before.as_ref().is_some_and(|(_, before)| gap(before.end, place.start).contains('\n'));
        let (first, last) = (put.first().copied(), put.last().copied());
        let (mut start, mut end) = (place.start, place.end);
        match (&before, &after) {
            // The blank before what goes, goes too.
            (Some((text, before)), _) if !broken && first.is_none_or(|first| is_break(text, first)) => {
                start = before.end;
            }
            (_, Some((_, after))) if put.is_empty() => end = after.start,
            _ => {}
        }
        if let (Some((word, _)), Some((next, after))) = (&before, &after)
            && (put.is_empty() && is_break(word, next) || last == Some("\n"))
        {
            end = after.start;
        }
        let mut text = joined(put);
        if let Some((word, before)) = &before
            && first.is_some_and(|first| start == before.end && !is_break(word, first))
        {
            text.insert(0, ' ');
        }
        let next_to = last.or(before.as_ref().map(|(word, _)| *word));
        if let (Some((word, after)), Some(next_to)) = (&after, next_to)
            && end == after.start
            && !is_break(next_to, word)
            && (!put.is_empty()
                || start < place.start
                || tokens.is_empty()
                || start == place.start && before.is_some())
        {
            text.push(' ');
        }
        let whole = self.places.get(tokens).unwrap_or(&[]);
        let lost = whole.windows(2).any(|pair| match pair {
            [one, other] => gap(one.end, other.start).contains('\n'),
            _ => false,
        });
        (!lost).then(|| Some(Edit { span: self.file.place(start, end), text }))
    }
}

/// How many tokens of the line are left out before the one that stands for this one.
fn kept(token: &Token, rest: &[Token]) -> Option<usize> {
    let from = token.from?;
    rest.iter().position(|other| other.from == Some(from) && other.text == token.text)
}

/// Whether nothing stands between two tokens.
fn is_break(before: &str, after: &str) -> bool {
    before == "\n" || after == "\n" || !blank_between(before, after)
}

/// Tokens as one text, with the one spacing.
pub(super) fn joined<T: AsRef<str>>(tokens: &[T]) -> String {
    let mut out = String::new();
    let mut before = "";
    for token in tokens {
        let token = token.as_ref();
        if !is_break(before, token) {
            out.push(' ');
        }
        out.push_str(token);
        before = token;
    }
    out
}

impl AsRef<str> for Token {
    fn as_ref(&self) -> &str {
        &self.text
    }
}

/// A colon behind a word, and signs before it, are tokens of their own.
fn split_marks(code: &str, place: Range<usize>, places: &mut Vec<Range<usize>>) {
    let text = code.get(place.clone()).unwrap_or("");
    if text.starts_with('"') {
        places.push(place);
        return;
    }
    let body = text.trim_end_matches(':');
    let lead =
        body.len() - body.trim_start_matches(['/', '-', '<', '>', '=', '+', '*', '!', '&', '|', '_']).len();
    let parts = [0..lead, lead..body.len(), body.len()..text.len()];
    places.extend(
        parts
            .into_iter()
            .filter(|part| !part.is_empty())
            .map(|part| place.start + part.start..place.start + part.end),
    );
}
