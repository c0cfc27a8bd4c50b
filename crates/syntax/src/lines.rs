//! The second stage: cutting a text into logical lines.
//!
//! Comments and line breaks inside a statement become blanks of the same length, so that a place in
//! a line is a place in the text. What would keep a line from being read at all (an open quote or
//! bracket, a foreign character, a bound passed) is reported here and the line marked as broken.

use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::limits;
use crate::source::{SourceId, Span};
use std::ops::Range;

/// One statement's place in the text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Line {
    /// Bytes of the text.
    pub range: Range<usize>,
    /// Reported already: not to be read.
    pub broken: bool,
}

/// A text cut up.
#[derive(Debug, Default)]
pub(crate) struct Lines {
    /// The text with comments blanked, byte for byte in place.
    pub code: String,
    /// The logical lines.
    pub list: Vec<Line>,
    /// The comments, `#` included.
    pub comments: Vec<Range<usize>>,
    /// What keeps lines from being read.
    pub mistakes: Vec<Diagnostic>,
}

/// Cuts a normalised text.
pub(crate) fn cut(text: &str, source: SourceId) -> Lines {
    let mut cutter = Cutter {
        text,
        source,
        lines: Lines::default(),
        at: 0,
        start: None,
        end: 0,
        broken: false,
        open: Vec::new(),
        goes_on: false,
    };
    loop {
        while cutter.at < text.len() && !cutter.is_full() {
            cutter.step();
        }
        // An open bracket sends the cutter back to the end of its physical line.
        cutter.finish_line();
        if cutter.at >= text.len() || cutter.is_full() {
            break;
        }
    }
    cutter.lines.code = blank(text, &cutter.lines.comments);
    cutter.lines
}

/// The text with the given parts as spaces of the same length.
fn blank(text: &str, parts: &[Range<usize>]) -> String {
    let mut out = String::with_capacity(text.len());
    for part in parts {
        out.push_str(text.get(out.len()..part.start).unwrap_or(""));
        out.extend(std::iter::repeat_n(' ', part.len()));
    }
    out.push_str(text.get(out.len()..).unwrap_or(""));
    out
}

/// Whether a character may be part of a word.
fn inner(c: char) -> bool {
    c.is_alphanumeric() || "-_'/.".contains(c) || is_mark(c)
}

/// Combining marks that belong to a letter (several scripts need them).
fn is_mark(c: char) -> bool {
    unicode_normalization::char::is_combining_mark(c)
}

struct Cutter<'a> {
    text: &'a str,
    source: SourceId,
    lines: Lines,
    /// The next byte to look at.
    at: usize,
    /// Where the current line began.
    start: Option<usize>,
    /// The end of its last token.
    end: usize,
    broken: bool,
    /// Places of open brackets.
    open: Vec<usize>,
    /// Whether the last token lets the line go on after a line break.
    goes_on: bool,
}

impl Cutter<'_> {
    fn rest(&self) -> &str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn span(&self, start: usize, end: usize) -> Span {
        let small = |n: usize| u32::try_from(n).unwrap_or(u32::MAX);
        Span { source: self.source, start: small(start), end: small(end) }
    }

    /// Reads one token, blank, comment or line end.
    fn step(&mut self) {
        let Some(c) = self.rest().chars().next() else {
            return;
        };
        match c {
            '\n' => self.line_break(),
            '#' => self.comment(),
            c if c.is_whitespace() => self.at += c.len_utf8(),
            '"' => self.string(),
            '(' => {
                self.open.push(self.at);
                self.token(1, true);
                if self.open.len() > limits::NESTING {
                    let span = self.span(self.at - 1, self.at);
                    let message = format!("brackets are nested more than {} deep", limits::NESTING);
                    self.broken_by(
                        Diagnostic::error(Code::NestedTooDeep, span, message).help("split the rule in two"),
                    );
                    self.skip_line();
                }
            }
            ')' => {
                if self.open.pop().is_none() && !self.broken {
                    let span = self.span(self.at, self.at + 1);
                    let message = "`)` closes a bracket that was never opened";
                    self.broken_by(
                        Diagnostic::error(Code::UnopenedBracket, span, message).help("remove it, or add `(`"),
                    );
                }
                self.token(1, false);
            }
            ',' => self.token(1, true),
            ';' | '-' | '_' | '\'' | '/' | '.' | ':' | '+' => self.token(1, false),
            c if c.is_alphabetic() => {
                let length = self.run(inner);
                let word = self.rest().get(..length).unwrap_or("");
                let goes_on = word.eq_ignore_ascii_case("or") || word.eq_ignore_ascii_case("and");
                self.token(length, goes_on);
            }
            c if c.is_ascii_digit() => {
                let length = self.run(|c| inner(c) || ":+%".contains(c));
                self.token(length, false);
            }
            c => self.foreign(c),
        }
        if let Some(start) = self.start
            && self.at - start > limits::LINE_BYTES
        {
            self.too_long(start);
        }
    }

    /// How many bytes from here on are of one sort.
    fn run(&self, belongs: impl Fn(char) -> bool) -> usize {
        let rest = self.rest();
        rest.find(|c| !belongs(c)).unwrap_or(rest.len())
    }

    fn token(&mut self, length: usize, goes_on: bool) {
        self.start.get_or_insert(self.at);
        self.at += length;
        self.end = self.at;
        self.goes_on = goes_on;
    }

    /// Whether so many mistakes were found that reading on is of no use.
    fn is_full(&self) -> bool {
        self.lines.mistakes.len() >= limits::MISTAKES
    }

    fn broken_by(&mut self, diagnostic: Diagnostic) {
        if !self.broken {
            self.lines.mistakes.push(diagnostic);
        }
        self.broken = true;
    }

    /// Steps over the rest of the physical line.
    fn skip_line(&mut self) {
        let rest = self.rest();
        self.at += rest.find('\n').unwrap_or(rest.len());
        self.end = self.at;
        self.open.clear();
        self.goes_on = false;
    }

    fn comment(&mut self) {
        let rest = self.rest();
        let length = rest.find('\n').unwrap_or(rest.len());
        let length = rest.get(..length).map_or(length, |c| c.trim_end().len());
        self.lines.comments.push(self.at..self.at + length);
        self.at += length;
    }

    fn string(&mut self) {
        let mut escaped = false;
        for (i, c) in self.rest().char_indices().skip(1) {
            match c {
                '\n' => break,
                _ if escaped => escaped = false,
                '\\' => escaped = true,
                '"' => return self.token(i + 1, false),
                _ => {}
            }
        }
        let start = self.at;
        self.start.get_or_insert(start);
        self.skip_line();
        let text = self.text.get(start..self.end).unwrap_or("").trim_end();
        let span = self.span(start, start + text.len());
        let message = "the quote opened here is not closed on its line";
        let shown: String = text.chars().take(60).collect();
        self.broken_by(
            Diagnostic::error(Code::UnclosedQuote, span, message)
                .help(format!("end it with `\"`: `{shown}\"`"))
                .meant(format!("{text}\"")),
        );
    }

    fn foreign(&mut self, c: char) {
        let start = self.at;
        let length = match c {
            '“' | '”' | '„' | '«' | '‘' | '‚' => self.curly_length(),
            _ => c.len_utf8(),
        };
        self.token(length, false);
        let span = self.span(start, start + length);
        let text = self.text.get(start..start + length).unwrap_or("");
        let followed_by_digit = self.rest().starts_with(|c: char| c.is_ascii_digit());
        self.broken_by(foreign_character(c, text, followed_by_digit, span));
    }

    /// A text in typographic quotes, to its closing one on the same line.
    fn curly_length(&self) -> usize {
        let rest = self.rest();
        let line = rest.lines().next().unwrap_or("");
        let closing = line.char_indices().skip(1).find(|(_, c)| "”“»‘'\"".contains(*c));
        let first = line.chars().next().map_or(1, char::len_utf8);
        closing.map_or(first, |(i, c)| i + c.len_utf8())
    }

    fn line_break(&mut self) {
        if self.start.is_none() || !self.goes_on && self.open.is_empty() {
            self.finish_line();
        }
        self.at += 1;
    }

    fn too_long(&mut self, start: usize) {
        if self.open.is_empty() {
            let kib = limits::LINE_BYTES / 1024;
            let first = self.text.get(start..).and_then(|t| t.chars().next()).map_or(1, char::len_utf8);
            let span = self.span(start, start + first);
            let message = format!("this statement is longer than {kib} KiB");
            self.broken_by(
                Diagnostic::error(Code::LineTooLong, span, message).help("split it into several statements"),
            );
            self.skip_line();
            self.finish_line();
        } else {
            self.unclosed_bracket();
        }
    }

    /// Reports the open bracket, ends the line where the bracket's physical line ends, goes on after it.
    fn unclosed_bracket(&mut self) {
        let Some(place) = self.open.first().copied() else {
            return;
        };
        let span = self.span(place, place + 1);
        let message = "the bracket opened here is not closed";
        self.broken_by(Diagnostic::error(Code::UnclosedBracket, span, message).help("add `)` where it ends"));
        self.at = place;
        self.skip_line();
        self.lines.comments.retain(|c| c.start < self.at);
        self.finish_line();
    }

    fn finish_line(&mut self) {
        if !self.open.is_empty() {
            return self.unclosed_bracket();
        }
        if let Some(start) = self.start.take() {
            self.lines.list.push(Line { range: start..self.end, broken: self.broken });
        }
        self.broken = false;
        self.goes_on = false;
    }
}

/// Explains a character that no word, number or sign of the language has.
fn foreign_character(c: char, text: &str, followed_by_digit: bool, span: Span) -> Diagnostic {
    let inside = text.trim_matches(|c| "“”„«»‘‚'\"".contains(c));
    match c {
        '“' | '”' | '„' | '«' | '»' | '‘' | '‚' => {
            let message = format!("`{text}` has typographic quotes");
            Diagnostic::error(Code::CurlyQuotes, span, message)
                .help(format!("write straight ones: `\"{inside}\"`"))
                .meant(format!("\"{inside}\""))
        }
        '&' => Diagnostic::error(Code::ForeignCharacter, span, "`&` is not a word of the language")
            .help("write `and`"),
        '|' => Diagnostic::error(Code::ForeignCharacter, span, "`|` is not a word of the language")
            .help("write `or`")
            .meant("or"),
        '−' | '–' | '—' if followed_by_digit => {
            let message = format!("`{c}` is a dash, not a minus sign");
            Diagnostic::error(Code::ForeignCharacter, span, message)
                .help("write `-` before the number")
                .meant("-")
        }
        '−' | '–' | '—' => {
            let message = format!("`{c}` is a dash; a name joins its words with `-`");
            Diagnostic::error(Code::ForeignCharacter, span, message)
                .help("write `-`, or a blank between words")
                .meant("-")
        }
        '%' => Diagnostic::error(Code::ForeignCharacter, span, "`%` is not a word of the language")
            .help("write `percent`"),
        '<' | '>' | '=' | '≤' | '≥' => {
            let message = format!("`{c}` has no meaning in a rule");
            Diagnostic::error(Code::ForeignCharacter, span, message)
                .help("write it in words: `is below`, `is above`, `is at least` or `is at most`")
        }
        '½' | '¼' | '¾' => {
            let message = format!("`{c}` is not a number of the language");
            Diagnostic::error(Code::BadNumber, span, message).help("write `0.5`, `0.25` or `0.75`")
        }
        '[' | ']' | '{' | '}' => {
            let message = format!("`{c}` has no meaning in a rule");
            Diagnostic::error(Code::ForeignCharacter, span, message).help("write round brackets `( )`")
        }
        '*' | '•' | '·' => {
            let message = format!("`{c}` has no meaning in a rule");
            Diagnostic::error(Code::ForeignCharacter, span, message)
                .help("a rule begins with its first word, without a bullet")
                .meant("")
        }
        c if c.is_control() || ('\u{200b}'..='\u{200f}').contains(&c) || c == '\u{feff}' || c == '\u{ad}' => {
            let message = format!("there is an invisible character (U+{:04X}) here", u32::from(c));
            Diagnostic::error(Code::ForeignCharacter, span, message)
                .help("delete it, or type the line again")
                .meant("")
        }
        c => {
            let message = format!("`{c}` has no meaning in a name, a number or a rule");
            Diagnostic::error(Code::ForeignCharacter, span, message)
                .help("put a name that needs it in quotes, or begin a comment with `#`")
        }
    }
}
