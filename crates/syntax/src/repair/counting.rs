//! Numbers as words: `every other trip`, `every second trip`, `after two weeks`.

use super::lengths::said;
use super::tokens::{Tokens, short};
use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lexicon::{in_words, ordinal, unit_of};
use crate::lower::File;
use crate::parse::{Node, Part};

/// Explains `every` followed by a word that counts.
pub(super) fn counting_word(file: &File<'_>, atom: &Node, name: &Node) -> Diagnostic {
    let first = name.first().map_or(name.start, |first| first.start);
    let text = file.code.get(first..atom.end).unwrap_or("");
    let low = text.to_ascii_lowercase();
    let (number, count) = in_words(low.split_whitespace()).unwrap_or((1, 0));
    // `six to twelve months`: the earlier of two numbers.
    let words: Vec<&str> = low.split_whitespace().collect();
    let second = matches!(words.get(count), Some(&("to" | "or")))
        .then(|| in_words(words.get(count + 1..).unwrap_or(&[]).iter().copied()))
        .flatten();
    let count = count + second.map_or(0, |(_, more)| 1 + more);
    let said: Vec<&str> = low.split_whitespace().take(count).collect();
    let rest = short(&text.split_whitespace().skip(count).collect::<Vec<_>>().join(" "));
    let end = count.checked_sub(1).and_then(|last| name.parts.get(last)).map_or(name.end, |n| n.end);
    let wrong = short(file.code.get(atom.start..name.end).unwrap_or(""));
    let diagnostic = counted(&wrong, &said.join(" "), number, &rest, file.place(atom.start, end));
    if atom.part == Part::before {
        let one = if rest.is_empty() { "trip" } else { &rest };
        return diagnostic.help(format!("`before` waits for each one: write `before every {one}`"));
    }
    if atom.part == Part::delay
        && let Some(length) = atom.first()
    {
        let one = if rest.is_empty() { "firmware release" } else { &rest };
        let help =
            format!("a delay counts from each one: write `{} after each {one}`", short(file.text(length)));
        return diagnostic.help(help);
    }
    diagnostic
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
    Diagnostic::error(Code::NumberInWords, span, message).help(format!("write `{start} {number} {plural}`"))
}

/// `after three trips`, `after a week`, `in half a year`: words in place of a number.
pub(super) fn words_for_number(p: &Tokens<'_>, start: usize) -> Option<Diagnostic> {
    if let Some((length, end)) = said(p, start) {
        let message = format!("`{}` is not how a length of time is written", p.text(start, end));
        let help = format!("write `{}`", format!("{} {length} {}", p.text(0, start), p.rest(end)).trim());
        return Some(Diagnostic::error(Code::NumberInWords, p.span(start, end)?, message).help(help));
    }
    let article = matches!(p.low(start), "a" | "an");
    let first = start + usize::from(article);
    let vague = ["few", "several", "some", "many", "couple", "half"];
    if vague.contains(&p.low(first)) {
        let message = format!("`{}` is not a number", p.text(start, first + 1));
        let help = "write how many, in digits: `after 3 trips`, `after 6 months`";
        return Some(Diagnostic::error(Code::NumberInWords, p.span(start, first + 1)?, message).help(help));
    }
    // `a second trip` is one trip.
    let said = in_words((first..p.len()).map(|i| p.low(i))).filter(|_| !article || !ordinal(p.low(first)));
    let (number, count) = said.or(article.then_some((1, 0)))?;
    let end = first + count;
    // `every other week on Monday`
    if count > 0 && unit_of(p.low(end)).is_some() && p.low(end + 1) == "on" {
        let message = "only every single week, month or year can have a day";
        let every = format!("every {number} {}", pluralised(p.low(end), number));
        let help = format!("write `every {}`, or `{every}` without the day", p.rest(end));
        return Some(Diagnostic::error(Code::NumberInWords, p.span(start, end)?, message).help(help));
    }
    let rest = pluralised(&p.rest(end), number);
    let message = match count {
        0 => format!("`{}` is where a number should be", p.text(start, end)),
        _ => format!("`{}` is a number in words", p.text(start, end)),
    };
    let help = format!("write it in digits: `{}`", format!("{} {number} {rest}", p.text(0, start)).trim());
    Some(Diagnostic::error(Code::NumberInWords, p.span(start, end)?, message).help(help))
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
