//! Writing for people: colour, width, foreign text made harmless.

use crate::stop::Stop;
use anstyle::{AnsiColor, Style};
pub(crate) use kitlore::render::{plain, plain_lines};
use kitlore::{Instant, Standing};
use std::io::Write;
use unicode_width::UnicodeWidthStr;

/// Where a command writes, and what it may ask of the world.
///
/// Standard output and error are given, so that other programs (Python) can be the terminal.
pub struct Host<'a> {
    /// Results.
    pub out: &'a mut dyn Write,
    /// Messages.
    pub err: &'a mut dyn Write,
    /// The present.
    pub now: Instant,
    /// How many columns a screen has.
    pub width: usize,
    /// Whether results may be coloured.
    pub colour_out: bool,
    /// Whether messages may be coloured.
    pub colour_err: bool,
}

pub(crate) const BOLD: Style = Style::new().bold();
pub(crate) const FAINT: Style = Style::new().dimmed();
pub(crate) const CAUTION: Style = AnsiColor::Yellow.on_default();

/// How a standing is set off where colour is allowed; its word always stands there too.
pub(crate) fn style_of(standing: Standing) -> Style {
    match standing {
        Standing::Grounded => AnsiColor::Red.on_default().bold().invert(),
        Standing::Overdue => AnsiColor::Red.on_default().bold(),
        Standing::Due => AnsiColor::Yellow.on_default().bold(),
        Standing::Soon => AnsiColor::Cyan.on_default(),
        Standing::Unknown => AnsiColor::Magenta.on_default(),
        Standing::Clear => AnsiColor::Green.on_default(),
    }
}

impl Host<'_> {
    /// Results, whole lines.
    pub(crate) fn print(&mut self, text: &str) -> Result<(), Stop> {
        Ok(self.out.write_all(text.as_bytes())?)
    }

    /// A message, one line or more.
    pub(crate) fn say(&mut self, text: &str) {
        // Nobody is left to be told where this fails.
        let _ = writeln!(self.err, "{text}");
    }

    /// The width that running text gets: a long line is hard to read.
    pub(crate) fn text_width(&self) -> usize {
        self.width.clamp(40, 140)
    }
}

/// Text in a style, if colour is on.
pub(crate) fn paint(on: bool, style: Style, text: &str) -> String {
    if on && !text.is_empty() { format!("{style}{text}{style:#}") } else { text.to_owned() }
}

/// How many columns a text takes.
pub(crate) fn columns(text: &str) -> usize {
    text.width()
}

/// The text with blanks up to a width.
pub(crate) fn pad(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(columns(text))))
}

/// The lines of a text, the first after `first`, the others after as many blanks.
pub(crate) fn wrap(text: &str, width: usize, first: &str) -> Vec<String> {
    let hang = " ".repeat(columns(first));
    let options = textwrap::Options::new(width.max(columns(first) + 20))
        .initial_indent(first)
        .subsequent_indent(&hang)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::wrap(text, options).into_iter().map(|line| line.into_owned()).collect()
}
