//! Words, figures, strings and signs of a stretch of code, and the one spacing between them.

use std::ops::Range;

/// Splits code (comments blanked) into tokens, as ranges of bytes.
pub(crate) fn tokens(code: &str, range: Range<usize>) -> Vec<Range<usize>> {
    let text = code.get(range.clone()).unwrap_or("");
    let mut list = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|r| !r.is_empty()) {
        let blank = rest.len() - rest.trim_start().len();
        if blank > 0 {
            at += blank;
            continue;
        }
        let length = length(rest);
        list.push(range.start + at..range.start + at + length);
        at += length;
    }
    list
}

/// The length of the token that a text begins with.
fn length(rest: &str) -> usize {
    let mut chars = rest.char_indices().peekable();
    let Some((_, first)) = chars.next() else {
        return 0;
    };
    if first == '"' {
        let mut escaped = false;
        for (i, c) in chars {
            match c {
                _ if escaped => escaped = false,
                '\\' => escaped = true,
                '"' => return i + 1,
                _ => {}
            }
        }
        return rest.len();
    }
    let sign = first == '-' && chars.peek().is_some_and(|(_, next)| next.is_ascii_digit());
    if sign || ",;()".contains(first) {
        return 1;
    }
    while let Some((i, c)) = chars.next() {
        // A comma between digits groups them.
        let grouping =
            c == ',' && first.is_ascii_digit() && chars.peek().is_some_and(|(_, next)| next.is_ascii_digit());
        if c.is_whitespace() || ",;()\"".contains(c) && !grouping {
            return i;
        }
    }
    rest.len()
}

/// Whether there is a blank between two tokens.
pub(crate) fn blank_between(before: &str, after: &str) -> bool {
    let sign = before == "-" && after.starts_with(|c: char| c.is_ascii_digit());
    !(before.is_empty() || before == "(" || sign || matches!(after, "," | ";" | ")"))
}

/// A stretch of code with the one spacing, on one line.
pub(crate) fn spaced(code: &str, range: Range<usize>) -> String {
    let mut out = String::new();
    let mut before = "";
    for token in tokens(code, range) {
        let token = code.get(token).unwrap_or("");
        if blank_between(before, token) {
            out.push(' ');
        }
        out.push_str(token);
        before = token;
    }
    out
}
