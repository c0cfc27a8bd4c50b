//! Lines no wider than the screen, however long a name is.

use crate::screen::columns;
use unicode_width::UnicodeWidthChar;

/// The text with every line that is too wide broken: between words, and within a word that no line can hold,
/// such as a very long id. Colour takes no room.
pub(crate) fn fit(text: &str, width: usize) -> String {
    text.split_inclusive('\n').map(|line| fit_line(line, width)).collect()
}

fn fit_line(line: &str, width: usize) -> String {
    let (line, end) = line.strip_suffix('\n').map_or((line, ""), |line| (line, "\n"));
    if shown(line) <= width {
        return format!("{line}{end}");
    }
    // The blanks that set a line in may stand within its colour.
    let is_coloured = line.starts_with('\u{1b}');
    let (style, line) = line.split_at(line.find('m').filter(|_| is_coloured).map_or(0, |end| end + 1));
    let blanks = line.len() - line.trim_start_matches(' ').len();
    let mut fitted = Fitted { done: String::new(), line: style.to_owned(), used: 0, width, hang: 0 };
    fitted.blanks(blanks);
    fitted.hang = (blanks + 2).min(width / 2);
    for word in line.trim_start_matches(' ').split_inclusive(' ') {
        let (word, blank) = word.strip_suffix(' ').map_or((word, 0), |word| (word, 1));
        fitted.word(word);
        fitted.blanks(blank);
    }
    format!("{}{}{end}", fitted.done, fitted.line.trim_end())
}

/// How many columns a text takes with its colour left out.
fn shown(text: &str) -> usize {
    let mut parts = text.split('\u{1b}');
    let first = parts.next().map_or(0, columns);
    first + parts.map(|part| columns(part.split_once('m').map_or("", |(_, rest)| rest))).sum::<usize>()
}

/// A line that is being broken.
struct Fitted {
    done: String,
    line: String,
    used: usize,
    width: usize,
    /// How far the lines after the first are set in.
    hang: usize,
}

impl Fitted {
    fn blanks(&mut self, count: usize) {
        // Nothing begins a line but its hang.
        let starts = !self.done.is_empty() && self.line.trim().is_empty();
        if !starts && self.used + count <= self.width {
            self.line.push_str(&" ".repeat(count));
            self.used += count;
        }
    }

    fn word(&mut self, word: &str) {
        let wide = shown(word);
        if self.used + wide <= self.width {
            self.line.push_str(word);
            self.used += wide;
        } else if self.hang + wide <= self.width {
            self.next_line();
            self.line.push_str(word);
            self.used += wide;
        } else {
            self.letters(word);
        }
    }

    /// A word that is too long for any line, letter by letter.
    fn letters(&mut self, word: &str) {
        let mut colour = false;
        for letter in word.chars() {
            colour |= letter == '\u{1b}';
            let wide = if colour { 0 } else { letter.width().unwrap_or(0) };
            if self.used + wide > self.width {
                self.next_line();
            }
            self.line.push(letter);
            self.used += wide;
            colour &= letter != 'm';
        }
    }

    fn next_line(&mut self) {
        self.done.push_str(self.line.trim_end());
        self.done.push('\n');
        self.line = " ".repeat(self.hang);
        self.used = self.hang;
    }
}

#[cfg(test)]
mod tests {
    use super::fit;

    #[test]
    fn lines_are_broken_between_words_and_long_words_within() {
        for (text, fitted) in [
            ("  due  C1  camera\n", "  due  C1  camera\n"),
            ("  due  C1  a very old camera\n", "  due  C1  a very\n    old camera\n"),
            (
                "  due  ABCDEFGHIJKLMNOPQRSTUVWXYZ  camera\n",
                "  due  ABCDEFGHIJKLM\n    NOPQRSTUVWXYZ\n    camera\n",
            ),
            // Four columns less what is in it, in colour.
            (
                "  \u{1b}[1mdue\u{1b}[0m  C1  a good camera\n",
                "  \u{1b}[1mdue\u{1b}[0m  C1  a good\n    camera\n",
            ),
            (
                "\u{1b}[1m  due, C1, a good camera\u{1b}[0m\n",
                "\u{1b}[1m  due, C1, a good\n    camera\u{1b}[0m\n",
            ),
            ("日本語日本語日本語日本語日本語", "日本語日本語日本語日\n  本語日本語"),
        ] {
            assert_eq!(fit(text, 20), fitted);
        }
    }
}
