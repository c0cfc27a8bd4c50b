//! Numbers: with something behind them, grouped otherwise, or in words.

use super::words::Put::Text;
use super::words::{Step, Words};
use crate::amount::Amount;
use crate::codes::Code;
use crate::lexicon::{in_words as said_in, ordinal, unit_of};
use crate::name::key;

/// `20x`, `90days`, `80%`, `10k`, `1 000`, `15th`, `5.`
pub(super) fn figures(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        let Some(token) = words.tokens.get(i).filter(|token| token.is_figure()) else { continue };
        let mut put = |end: usize, meant: String| {
            let message = format!("`{}` is not how a number is written", words.text(i..end));
            steps.push(words.step(i..end, &[Text(&meant)], 1, Code::BadNumber, message));
        };
        let text = &*token.text;
        let digits = text.find(|c: char| !(c.is_ascii_digit() || c == ',' || c == '.')).unwrap_or(text.len());
        let (head, tail) = text.split_at(digits);
        if head.strip_suffix('.').is_some_and(|head| head.parse::<Amount>().is_ok()) && tail.is_empty() {
            put(i + 1, head.trim_end_matches('.').to_owned());
        }
        let entry = words.low(0).contains('-');
        let groups = !entry && tail.is_empty() && !head.contains('.') && words.is_figure(i + 1) && {
            let next = words.low(i + 1);
            next.len() == 3 && next.bytes().all(|byte| byte.is_ascii_digit())
        };
        if groups {
            put(i + 2, format!("{head},{}", words.low(i + 1)));
        }
        if head.parse::<Amount>().is_err() {
            continue;
        }
        match tail.to_lowercase().as_str() {
            "" if words.low(i + 1) == "times"
                && !words.is_unit(i + 2)
                && words.is_bit(i + 2)
                && words.low(i + 2) != "per" =>
            {
                put(i + 2, head.to_owned())
            }
            "" if words.low(i + 1) == "%" => put(i + 2, format!("{head} percent")),
            "" => {}
            "x" | "st" | "nd" | "rd" | "th" => put(i + 1, head.to_owned()),
            "%" => put(i + 1, format!("{head} percent")),
            "k" if !head.contains(['.', ',']) => put(i + 1, format!("{head},000")),
            low if low.chars().all(char::is_alphabetic) && low != "k" => put(i + 1, format!("{head} {tail}")),
            _ => {}
        }
    }
}

/// Words that count, and do not say how many.
const VAGUE: [&str; 7] = ["few", "several", "some", "many", "couple", "half", "lot"];

/// `three`, `two hundred and fifty`, `a dozen`, `a week`, `every other`
pub(super) fn in_words(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        let article = matches!(words.low(i), "a" | "an");
        let first = i + usize::from(article);
        let counts = matches!(words.before(i), "every" | "each");
        let lows: Vec<String> = (first..words.len()).map(|i| words.low(i).to_owned()).collect();
        let said = said_in(lows.iter().map(String::as_str)).filter(|(number, count)| {
            *number > 0
                && !matches!(words.low(first), "once" | "twice")
                && !matches!(words.low(first + count), "times" | "and" | "to")
        });
        // `a second trip` is one trip.
        let said = said.filter(|_| !(article && ordinal(words.low(first))));
        // `every second trip` counts trips; `before every second trip` cannot.
        let is_ordinal = ordinal(words.low(first));
        if let Some((number, count)) =
            said.filter(|_| !is_ordinal || counts && words.low(i.wrapping_sub(2)) != "before")
        {
            let end = first + count;
            let message = format!("`{}` is a number in words", words.text(i..end));
            let named = words.is_bit(end).then(|| match words.is_bit(end + 1) {
                true => words.text(end..end + 1),
                false => plural(words.low(end), number, &words.text(end..end + 1)),
            });
            let unit = unit_of(words.low(end)).is_some();
            let lead = if counts && !unit { i - 1 } else { i };
            let lead = if counts && !unit && words.before(i - 1) == "after" { lead - 1 } else { lead };
            let start = if lead < i { "after" } else { "" };
            let number = Amount::from(number).to_string();
            let text = format!("{start} {number} {}", named.as_deref().unwrap_or(""));
            let end = end + usize::from(named.is_some());
            steps.push(words.step(lead..end, &[Text(text.trim())], 1, Code::NumberInWords, message));
        } else if article && unit_of(words.low(i + 1)).is_some() {
            let message = format!("`{}` is where a number should be", words.text(i..i + 1));
            steps.push(words.step(i..i + 1, &[Text("1")], 1, Code::NumberInWords, message));
        } else if article
            && matches!(words.before(i), "after" | "(")
            && words.is_bit(i + 1)
            && !VAGUE.contains(&words.low(i + 1))
        {
            let message = format!("`{}` is where a number should be", words.text(i..i + 1));
            steps.push(words.step(i..i + 1, &[Text("1")], 2, Code::NumberInWords, message));
        }
    }
}

/// A word for so many, where a plain `s` makes its plural.
fn plural(low: &str, number: u32, written: &str) -> String {
    let many = format!("{written}s");
    let plain = number != 1 && !low.ends_with('s') && key(&many) == key(written);
    if plain { many } else { written.to_owned() }
}
