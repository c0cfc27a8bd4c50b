//! Numbers as words: `every other trip`, `every second trip`, `after two weeks`.

use super::lengths::said;
use super::{Pieces, short};
use crate::diagnostic::Diagnostic;
use crate::lower::{File, unit_of};
use crate::parse::{Node, Part};

/// Words that count, with the number they mean.
const COUNTING: [(&str, u32); 46] = [
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
    ("million", 1_000_000),
    ("dozen", 12),
    ("once", 1),
    ("twice", 2),
];

/// The number a word means.
pub(crate) fn number_of(word: &str) -> Option<u32> {
    COUNTING.iter().find(|(w, _)| *w == word).map(|(_, n)| *n)
}

/// Whether a word is an ordinal: `every second trip` counts trips, `two trips` too.
fn ordinal(word: &str) -> bool {
    word == "other" || word == "second" || word == "third" || word.ends_with("th")
}

/// The number that words begin with, and how many words say it: `two hundred and fifty`.
pub(super) fn in_words<'w>(words: impl IntoIterator<Item = &'w str>) -> Option<(u32, usize)> {
    let mut said = None;
    for (i, word) in words.into_iter().enumerate() {
        let sum = said.map_or(0, |(sum, _)| sum);
        if word == "and" && sum >= 100 {
            continue;
        }
        // `thirty second exposures` last thirty seconds.
        let later = |word| said.is_some() && matches!(word, "second" | "other");
        let numbers = word.split('-').map(|w| Some((w, number_of(w).filter(|_| !later(w))?)));
        let Some(numbers) = numbers.collect::<Option<Vec<_>>>() else {
            break;
        };
        said = Some((numbers.into_iter().fold(sum, |sum, (word, number)| with(sum, word, number)), i + 1));
    }
    said
}

/// A number said so far, with one more word: `two` and `dozen`, `two hundred` and `fifty`.
fn with(sum: u32, word: &str, number: u32) -> u32 {
    let times = match word {
        "dozen" | "hundred" => sum % 1000,
        "thousand" | "million" => sum,
        _ => return sum.saturating_add(number),
    };
    (sum - times).saturating_add(times.max(1).saturating_mul(number))
}

/// What to say of `every` followed by a word that counts, if it is one.
pub(crate) fn counting_word(file: &File<'_>, atom: &Node, name: &Node) -> Option<Diagnostic> {
    let counts = |n: &Node| matches!(n.part, Part::k_every | Part::k_each);
    let after_every = |n: &Node| n.part == Part::some && !file.text(n).to_ascii_lowercase().starts_with('a');
    if !atom.parts.iter().any(|n| counts(n) || after_every(n)) {
        return None;
    }
    let first = name.first().filter(|n| n.part == Part::word)?;
    let text = file.code.get(first.start..atom.end).unwrap_or("");
    let low = text.to_ascii_lowercase();
    let (number, count) = in_words(low.split_whitespace())?;
    // `six to twelve months`: the earlier of two numbers.
    let words: Vec<&str> = low.split_whitespace().collect();
    let second = matches!(words.get(count), Some(&("to" | "or")))
        .then(|| in_words(words.get(count + 1..).unwrap_or(&[]).iter().copied()))
        .flatten();
    let count = count + second.map_or(0, |(_, more)| 1 + more);
    let said: Vec<&str> = low.split_whitespace().take(count).collect();
    let rest = short(&text.split_whitespace().skip(count).collect::<Vec<_>>().join(" "));
    let end = name.parts.get(count - 1).map_or(name.end, |n| n.end);
    let wrong = short(file.code.get(atom.start..name.end).unwrap_or(""));
    let diagnostic = counted(&wrong, &said.join(" "), number, &rest, file.place(atom.start, end));
    if atom.part == Part::before {
        let one = if rest.is_empty() { "trip" } else { &rest };
        return Some(diagnostic.help(format!("`before` waits for each one: write `before every {one}`")));
    }
    if atom.part == Part::delay
        && let Some(length) = atom.first()
    {
        let one = if rest.is_empty() { "firmware release" } else { &rest };
        let help =
            format!("a delay counts from each one: write `{} after each {one}`", short(file.text(length)));
        return Some(diagnostic.help(help));
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
    if let Some((length, end)) = said(p, start) {
        let message = format!("`{}` is not how a length of time is written", p.text(start, end));
        let help = format!("write `{}`", format!("{} {length} {}", p.text(0, start), p.rest(end)).trim());
        return Some(Diagnostic::error("number-in-words", p.span(start, end)?, message).help(help));
    }
    let article = matches!(p.low(start), "a" | "an");
    let first = start + usize::from(article);
    let vague = ["few", "several", "some", "many", "couple", "half"];
    if vague.contains(&p.low(first)) {
        let message = format!("`{}` is no number", p.text(start, first + 1));
        let help = "write how many, in digits: `after 3 trips`, `after 6 months`";
        return Some(Diagnostic::error("number-in-words", p.span(start, first + 1)?, message).help(help));
    }
    // `a second trip` is one trip.
    let said = in_words((first..p.len()).map(|i| p.low(i))).filter(|_| !article || !ordinal(p.low(first)));
    let (number, count) = said.or(article.then_some((1, 0)))?;
    let end = first + count;
    // `every other week on Monday`
    if count > 0 && unit_of(p.low(end)).is_some() && p.low(end + 1) == "on" {
        let message = "a day of the week, month or year comes with each of them";
        let every = format!("every {number} {}", pluralised(p.low(end), number));
        let help = format!("write `every {}`, or `{every}` without the day", p.rest(end));
        return Some(Diagnostic::error("number-in-words", p.span(start, end)?, message).help(help));
    }
    let rest = pluralised(&p.rest(end), number);
    let message = match count {
        0 => format!("`{}` stands where a number should", p.text(start, end)),
        _ => format!("`{}` is a number in words", p.text(start, end)),
    };
    let help = format!("write it in digits: `{}`", format!("{} {number} {rest}", p.text(0, start)).trim());
    Some(Diagnostic::error("number-in-words", p.span(start, end)?, message).help(help))
}
