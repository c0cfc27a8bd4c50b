//! Keeps lines within the screen, however long a name is.

use textwrap::core::display_width;
use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm};

/// Breaks every line that is too wide: between words, or within a word that no line can hold, such as a very long
/// id. Colour takes no width.
pub(crate) fn fit(text: &str, width: usize) -> String {
    text.split_inclusive('\n').map(|line| fit_line(line, width)).collect()
}

fn fit_line(line: &str, width: usize) -> String {
    let (line, end) = line.strip_suffix('\n').map_or((line, ""), |line| (line, "\n"));
    if display_width(line) <= width {
        return format!("{line}{end}");
    }
    // The indentation of a line may come after its colour code.
    let is_coloured = line.starts_with('\u{1b}');
    let inside = line.split_once('m').filter(|_| is_coloured).map_or(line, |(_, inside)| inside);
    let blanks = inside.len() - inside.trim_start_matches(' ').len();
    let hang = " ".repeat((blanks + 2).min(width / 2));
    let options = Options::new(width)
        .subsequent_indent(&hang)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    textwrap::wrap(line, options).join("\n") + end
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
                "  due\n    ABCDEFGHIJKLMNOP\n    QRSTUVWXYZ\n    camera\n",
            ),
            // Colour codes take no width.
            (
                "  \u{1b}[1mdue\u{1b}[0m  C1  a good camera\n",
                "  \u{1b}[1mdue\u{1b}[0m  C1  a good\n    camera\n",
            ),
            (
                "\u{1b}[1m  due, C1, a good camera\u{1b}[0m\n",
                "\u{1b}[1m  due, C1, a good\n    camera\u{1b}[0m\n",
            ),
            ("日本語日本語日本語日本語日本語", "日本語日本語日本語\n  日本語日本語"),
        ] {
            assert_eq!(fit(text, 20), fitted);
        }
    }
}
