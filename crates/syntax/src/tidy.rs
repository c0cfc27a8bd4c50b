//! The canonical layout of a rule text.
//!
//! Rules are indented under their section, details under their rule and on lines of their own;
//! words of the language are in lower case; one blank between words; a line longer than
//! [`WIDTH`] goes on after a comma, `or` or `and`. Comments stay beside what they belong to, and
//! every group of blank lines becomes one.

use crate::diagnostic::Diagnostics;
use crate::house;
use crate::lines::{self, Line, Lines};
use crate::normalise::normalise;
use crate::parse::{self, Node, Part};
use crate::source::SourceId;
use crate::tokens::{blank_between, tokens};
use std::ops::Range;

/// Characters after which a line is broken, where it can be.
const WIDTH: usize = 100;

/// Rewrites a rule text in the one canonical layout; what it includes is not looked at.
///
/// Comments are kept, the meaning is the same, and a tidy text stays as it is.
///
/// ```
/// let tidy = kitlore_syntax::tidy("house.lore", "FOR cameras\nAfter  90 days,inspect sensor;takes 10 minutes").unwrap();
/// assert_eq!(tidy, "for cameras\n  after 90 days, inspect sensor\n    takes 10 minutes\n");
/// ```
///
/// # Errors
/// The mistakes of the text; one with mistakes is not rewritten.
pub fn tidy(name: &str, text: &str) -> Result<String, Diagnostics> {
    house::read(name, text, None)?;
    let text = normalise(text);
    let lines = lines::cut(&text, SourceId::default());
    let mut writer = Writer {
        text: &text,
        lines: &lines,
        out: String::new(),
        in_section: false,
        in_example: false,
        written_to: 0,
    };
    writer.write();
    Ok(writer.out)
}

struct Writer<'a> {
    text: &'a str,
    lines: &'a Lines,
    out: String,
    in_section: bool,
    in_example: bool,
    /// Up to where the text has been written, for the blank lines between.
    written_to: usize,
}

impl Writer<'_> {
    fn write(&mut self) {
        let mut comments = self.lines.comments.iter().peekable();
        for line in &self.lines.list {
            let mut above = Vec::new();
            while let Some(comment) = comments.next_if(|c| c.start < line.range.start) {
                above.push(comment);
            }
            // Comments inside the line, and one after it.
            let mut inside = Vec::new();
            while let Some(comment) =
                comments.next_if(|c| c.start < line.range.end || self.same_line(line.range.end, c.start))
            {
                inside.push(comment.clone());
            }
            let (indent, node) = self.read(line);
            for comment in above {
                self.own_line(comment, indent);
            }
            self.gap(line.range.start);
            self.statement(line, indent, &node, inside);
        }
        for comment in comments {
            self.own_line(comment, 0);
        }
    }

    fn same_line(&self, from: usize, to: usize) -> bool {
        self.text.get(from..to).is_some_and(|t| !t.contains('\n'))
    }

    /// One empty line where the text has some.
    fn gap(&mut self, next: usize) {
        let between = self.text.get(self.written_to..next).unwrap_or("");
        if !self.out.is_empty() && between.bytes().filter(|b| *b == b'\n').count() > 1 {
            self.out.push('\n');
        }
    }

    fn own_line(&mut self, comment: &Range<usize>, indent: usize) {
        self.gap(comment.start);
        self.out.extend(std::iter::repeat_n(' ', indent));
        self.out.push_str(self.text.get(comment.clone()).unwrap_or(""));
        self.out.push('\n');
        self.written_to = comment.end;
    }

    /// The line's indentation, and what it is.
    fn read(&mut self, line: &Line) -> (usize, Option<Node>) {
        let code = &self.lines.code;
        if self.in_example
            && let Some(node) = parse::example_line(code, line)
        {
            return (2, Some(node));
        }
        let node = parse::statement(code, line);
        let part = node.as_ref().map(|n| n.part);
        self.in_example = part == Some(Part::example);
        self.in_section |= part == Some(Part::section);
        let rules = if self.in_section { 2 } else { 0 };
        let indent = match part {
            Some(Part::rule) => rules,
            Some(Part::details) => rules + 2,
            _ => 0,
        };
        (indent, node)
    }

    fn statement(&mut self, line: &Line, indent: usize, node: &Option<Node>, comments: Vec<Range<usize>>) {
        let splits = matches!(node.as_ref().map(|n| n.part), Some(Part::rule | Part::details));
        let below = if node.as_ref().is_some_and(|n| n.part == Part::rule) { indent + 2 } else { indent };
        let mut words = Vec::new();
        if let Some(node) = node {
            keywords(node, &mut words);
        }
        let mut words = words.into_iter().peekable();
        let mut comments = comments.into_iter().peekable();
        let mut filler = Filler::new(indent);
        let mut depth = 0_usize;
        let mut end = line.range.start;
        for token in tokens(&self.lines.code, line.range.clone()) {
            while let Some(comment) = comments.next_if(|c| c.start < token.start) {
                self.comment(&mut filler, end, &comment);
                end = comment.end;
            }
            let text = self.lines.code.get(token.clone()).unwrap_or("");
            let keyword = words.next_if(|w| w.0 <= token.start).filter(|w| w.0 == token.start);
            match text {
                ";" if depth == 0 && splits => {
                    filler.end_line(&mut self.out);
                    filler = Filler::new(below);
                }
                _ => filler.token(&cased(text, keyword.map(|w| w.1)), &mut self.out),
            }
            depth = match text {
                "(" => depth + 1,
                ")" => depth.saturating_sub(1),
                _ => depth,
            };
            end = token.end;
        }
        for comment in comments {
            self.comment(&mut filler, end, &comment);
            end = comment.end;
        }
        filler.end_line(&mut self.out);
        self.written_to = end;
    }

    /// A comment inside a statement, which goes on below it.
    fn comment(&mut self, filler: &mut Filler, end: usize, comment: &Range<usize>) {
        let text = self.text.get(comment.clone()).unwrap_or("");
        filler.comment(text, self.same_line(end, comment.start), &mut self.out);
    }
}

/// Writes the tokens of one statement or detail, broken into lines where they get long.
struct Filler {
    indent: usize,
    /// The text of the current line, without its indentation.
    line: String,
    /// Tokens since the last place where a line may be broken.
    chunk: String,
    before: String,
    first: bool,
}

impl Filler {
    fn new(indent: usize) -> Self {
        Self { indent, line: String::new(), chunk: String::new(), before: String::new(), first: true }
    }

    fn token(&mut self, token: &str, out: &mut String) {
        if blank_between(&self.before, token) {
            self.chunk.push(' ');
        }
        self.chunk.push_str(token);
        token.clone_into(&mut self.before);
        if matches!(token, "," | "or" | "and") {
            self.end_chunk(out);
        }
    }

    fn end_chunk(&mut self, out: &mut String) {
        let width = self.margin() + self.line.chars().count() + self.chunk.trim_end().chars().count();
        if width > WIDTH && !self.line.is_empty() {
            self.flush(out);
        }
        let chunk = std::mem::take(&mut self.chunk);
        self.line.push_str(if self.line.is_empty() { chunk.trim_start() } else { &chunk });
    }

    fn margin(&self) -> usize {
        self.indent + if self.first { 0 } else { 4 }
    }

    fn flush(&mut self, out: &mut String) {
        if self.line.is_empty() {
            return;
        }
        out.extend(std::iter::repeat_n(' ', self.margin()));
        out.push_str(&self.line);
        out.push('\n');
        self.line.clear();
        self.first = false;
    }

    fn comment(&mut self, text: &str, behind: bool, out: &mut String) {
        self.end_chunk(out);
        if behind && !self.line.is_empty() {
            self.line.push_str("  ");
            self.line.push_str(text);
            self.flush(out);
        } else {
            self.flush(out);
            self.line.push_str(text);
            self.flush(out);
        }
    }

    fn end_line(&mut self, out: &mut String) {
        self.end_chunk(out);
        self.flush(out);
    }
}

/// The places of the words of the language in a node, in order.
fn keywords(node: &Node, out: &mut Vec<(usize, Part)>) {
    use Part::{
        any_word, clock, comma, figure, id, instead_comma, minus, other, semicolon, string, word, zone_name,
    };
    if !node.parts.is_empty() {
        return node.parts.iter().for_each(|n| keywords(n, out));
    }
    let own = matches!(
        node.part,
        any_word
            | clock
            | comma
            | figure
            | id
            | instead_comma
            | minus
            | other
            | semicolon
            | string
            | word
            | zone_name
    );
    if !own {
        out.push((node.start, node.part));
    }
}

/// A token as it is written: words of the language in lower case, months and weekdays with a capital.
fn cased(text: &str, keyword: Option<Part>) -> String {
    match keyword {
        None => text.to_owned(),
        Some(Part::month | Part::weekday) => {
            let (first, rest) = text.split_at_checked(1).unwrap_or((text, ""));
            first.to_uppercase() + &rest.to_lowercase()
        }
        Some(_) => text.to_lowercase(),
    }
}
