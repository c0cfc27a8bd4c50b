//! Numbers as words: `every other trip`, `every second trip`, `after two weeks`.

use super::{Pieces, short};
use crate::diagnostic::Diagnostic;
use crate::lower::{File, unit_of};
use crate::parse::{Node, Part};

/// Words that count, with the number they mean.
const COUNTING: [(&str, u32); 45] = [
    ("other", 2),
    ("second", 2),
    ("third", 3),
    ("fourth", 4),
    ("fifth", 5),
    ("sixth", 6),
    ("seventh", 7),
    ("eighth", 8),
    ("ninth", 9),
    ("tenth", 10),
    ("eleventh", 11),
    ("twelfth", 12),
    ("twentieth", 20),
    ("one", 1),
    ("two", 2),
    ("three", 3),
    ("four", 4),
    ("five", 5),
    ("six", 6),
    ("seven", 7),
    ("eight", 8),
    ("nine", 9),
    ("ten", 10),
    ("eleven", 11),
    ("twelve", 12),
    ("thirteen", 13),
    ("fourteen", 14),
    ("fifteen", 15),
    ("sixteen", 16),
    ("seventeen", 17),
    ("eighteen", 18),
    ("nineteen", 19),
    ("twenty", 20),
    ("thirty", 30),
    ("forty", 40),
    ("fifty", 50),
    ("sixty", 60),
    ("seventy", 70),
    ("eighty", 80),
    ("ninety", 90),
    ("hundred", 100),
    ("thousand", 1000),
    ("dozen", 12),
    ("once", 1),
    ("twice", 2),
];

/// The number a word means.
pub(super) fn number_of(word: &str) -> Option<u32> {
    COUNTING.iter().find(|(w, _)| *w == word).map(|(_, n)| *n)
}

/// Whether a word is an ordinal: `every second trip` counts trips, `two trips` too.
fn ordinal(word: &str) -> bool {
    word == "other" || word == "second" || word == "third" || word.ends_with("th")
}

/// What to say of `every` followed by a word that counts, if it is one.
pub(crate) fn counting_word(file: &File<'_>, atom: &Node, name: &Node) -> Option<Diagnostic> {
    let counts = |n: &Node| matches!(n.part, Part::k_every | Part::k_each);
    let after_every = |n: &Node| n.part == Part::some && !file.text(n).to_ascii_lowercase().starts_with('a');
    if !atom.parts.iter().any(|n| counts(n) || after_every(n)) {
        return None;
    }
    let first = name.first().filter(|n| n.part == Part::word)?;
    let word = file.text(first).to_ascii_lowercase();
    let number = number_of(&word)?;
    let rest = file.code.get(first.end..atom.end).map(short).unwrap_or_default();
    let span = file.place(atom.start, first.end);
    let wrong = short(file.code.get(atom.start..name.end).unwrap_or(""));
    let diagnostic = counted(&wrong, &word, number, &rest, span);
    if atom.part == Part::before {
        let one = rest.split(' ').next().unwrap_or("trip");
        return Some(diagnostic.help(format!("`before` waits for each one: write `before every {one}`")));
    }
    Some(diagnostic)
}

/// The message for words that count, with the rest that follows them.
fn counted(wrong: &str, word: &str, number: u32, rest: &str, span: crate::source::Span) -> Diagnostic {
    let rest = if rest.is_empty() { "trips" } else { rest };
    let plural = pluralised(rest, number);
    let first = rest.split_whitespace().next().unwrap_or("");
    let start = if unit_of(first).is_some() { "every" } else { "after" };
    let message = match ordinal(word) {
        true => format!("`{wrong}` does not count: `{word}` would be part of a name"),
        false => format!("`{word}` is a number in words"),
    };
    Diagnostic::error("number-in-words", span, message).help(format!("write `{start} {number} {plural}`"))
}

/// The first words of a part as a plural, where that is a single plain word.
fn pluralised(rest: &str, number: u32) -> String {
    let (first, more) = rest.split_once(' ').map_or((rest, ""), |(a, b)| (a, b));
    let plain =
        more.is_empty() || ["in", "not", "or", "and"].iter().any(|w| more.starts_with(&format!("{w} ")));
    if number == 1 || !plain || first.ends_with('s') || !first.chars().all(char::is_alphabetic) {
        return rest.to_owned();
    }
    let gap = if more.is_empty() { "" } else { " " };
    format!("{first}s{gap}{more}")
}

/// `after three trips`, `after a week`, `in half a year`: words where a number should stand.
pub(super) fn words_for_number(p: &Pieces<'_>, start: usize) -> Option<Diagnostic> {
    let mut at = start;
    let low = |i: usize| p.low(i).to_owned();
    let mut number = number_of(&low(at));
    // `a hundred trips`, `twenty five trips`, `five hundred frames`
    let vague = ["few", "several", "some", "many", "couple", "half"];
    let article = low(at) == "a" || low(at) == "an";
    if vague.contains(&low(at + usize::from(article)).as_str()) {
        let end = at + 1 + usize::from(article);
        let message = format!("`{}` is no number", p.text(at, end));
        let help = "write how many, in digits: `after 3 trips`, `after 6 months`";
        return Some(Diagnostic::error("number-in-words", p.span(at, end)?, message).help(help));
    }
    if article {
        number = number_of(&low(at + 1)).filter(|_| !ordinal(&low(at + 1))).or(Some(1));
        if number != Some(1) || low(at + 1) == "one" {
            at += 1;
        }
    } else if let (Some(first), Some(second)) =
        (number, number_of(&low(at + 1)).filter(|_| !ordinal(&low(at + 1))))
    {
        number = Some(if second >= 100 { first * second } else { first + second });
        at += 1;
    } else if let Some((tens, ones)) = low(at).split_once('-')
        && let (Some(tens), Some(ones)) = (number_of(tens), number_of(ones))
    {
        number = Some(tens + ones);
    }
    let number = number?;
    let span = p.span(start, at + 1)?;
    let rest = pluralised(&p.rest(at + 1), number);
    let before = p.text(0, start);
    let gap = if before.is_empty() { "" } else { " " };
    let message = match article && at == start {
        true => format!("`{}` stands where a number should", p.raw(at)),
        false => format!("`{}` is a number in words", p.text(start, at + 1)),
    };
    let help = format!("write it in digits: `{before}{gap}{number} {rest}`");
    Some(Diagnostic::error("number-in-words", span, message).help(help))
}
