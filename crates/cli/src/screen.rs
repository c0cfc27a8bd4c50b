//! Output for people: colour, width, text made harmless.

use crate::stop::Stop;
use anstyle::{AnsiColor, Style};
pub(crate) use kitlore::render::{plain, plain_lines};
use kitlore::{Instant, Standing};
use std::io::Write;
use unicode_width::UnicodeWidthStr;

/// What a command needs from its surroundings: where to write, the time, the screen.
///
/// The streams are given, so that another program (Python) can take the place of the terminal.
pub struct Host<'a> {
    /// Results.
    pub out: &'a mut dyn Write,
    /// Messages.
    pub err: &'a mut dyn Write,
    /// The current time.
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

/// The style of a standing where colour is allowed; its word is always there as well.
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
    /// Prints results, in whole lines.
    pub(crate) fn print(&mut self, text: &str) -> Result<(), Stop> {
        Ok(self.out.write_all(text.as_bytes())?)
    }

    /// Writes a message of one line or more.
    pub(crate) fn say(&mut self, text: &str) {
        // If this fails there is nobody left to report it to.
        let _ = writeln!(self.err, "{text}");
    }

    /// The width for running text: long lines are hard to read.
    pub(crate) fn text_width(&self) -> usize {
        self.width.clamp(40, 140)
    }
}

/// Text in a style, if colour is on.
pub(crate) fn paint(on: bool, style: Style, text: &str) -> String {
    if on && !text.is_empty() { format!("{style}{text}{style:#}") } else { text.to_owned() }
}

/// The number of columns that a text takes.
pub(crate) fn columns(text: &str) -> usize {
    text.width()
}

/// The text, padded with blanks to a width.
pub(crate) fn pad(text: &str, width: usize) -> String {
    format!("{text}{}", " ".repeat(width.saturating_sub(columns(text))))
}

/// Wraps a text; the first line begins with `first`, the others with as many blanks.
pub(crate) fn wrap(text: &str, width: usize, first: &str) -> Vec<String> {
    let hang = " ".repeat(columns(first));
    let options = textwrap::Options::new(width.max(columns(first) + 20))
        .initial_indent(first)
        .subsequent_indent(&hang)
        .word_splitter(textwrap::WordSplitter::NoHyphenation);
    textwrap::wrap(text, options).into_iter().map(|line| line.into_owned()).collect()
}
