//! Foreign text made harmless.

/// Foreign text on one line, without what a terminal or a page would act on.
pub fn plain(text: &str) -> String {
    text.chars().map(|c| if is_harmful(c) { '?' } else { c }).collect()
}

/// As [`plain`], but lines stay lines.
pub fn plain_lines(text: &str) -> String {
    text.chars().map(|c| if c != '\n' && is_harmful(c) { '?' } else { c }).collect()
}

/// Controls, and the marks that turn the direction of writing.
fn is_harmful(c: char) -> bool {
    c.is_control() || matches!(c, '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}')
}
