//! Words that mean what words of the language mean, and words that mean nothing.

use super::words::Put::Text;
use super::words::{Step, Words};
use crate::codes::Code;
use crate::lexicon::{NEEDLESS, NEEDLESS_AT_END, NEEDLESS_BEFORE_NUMBERS, SYNONYMS, adverb, number_of};

/// `whenever` → `when`, `require` → `needs`, `monthly` → `every month`
pub(super) fn synonyms(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        let low = words.low(i);
        if let Some(trigger) = adverb(low) {
            let message = format!("`{low}` is not a word of the language");
            steps.push(words.step(i..i + 1, &[Text(&trigger)], 1, Code::UnknownStatement, message));
        }
        for (phrase, meant) in SYNONYMS {
            // `is found` is the language's own.
            let item = phrase.starts_with("for ")
                && (matches!(words.low(words.stand(i, phrase).unwrap_or(0)), "item" | "items")
                    || words.find(i, &[","]).is_some());
            let own = item
                || *phrase == "found"
                    && matches!(words.before(i), "is" | "are" | "was" | "were" | "been" | "often" | "gets");
            if let Some(end) = words.stand(i, phrase).filter(|_| !own) {
                let message = format!("`{}` is not how this is written", words.text(i..end));
                for (rank, meant) in (0..).zip(*meant) {
                    let code = code_of(meant);
                    steps.push(words.step(i..end, &[Text(meant)], 1 + rank / 8, code, message.clone()));
                }
            }
        }
    }
}

/// What sort of mistake it is to write something else for a word.
fn code_of(meant: &str) -> Code {
    match meant {
        "," => Code::MissingComma,
        "needs" | "takes" | "notice" | "caution" | "allow" | "because" | "do not use until done" => {
            Code::UnknownDetail
        }
        "or" | "and" => Code::AndOr,
        _ => Code::UnknownTrigger,
    }
}

/// `please`, `roughly`, `whichever comes first`
pub(super) fn needless(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        let ends = |end: usize| matches!(words.low(end), "" | "," | ";" | ")" | "or" | "and");
        let counts = words.low(0) != "for"
            && !(words.is_detail() && words.find(0, &[","]).is_none())
            && matches!(words.before(i), "" | "after" | "every" | "each" | "or" | "and" | "(" | "at");
        let number = |end: usize| {
            words.is_figure(end)
                || matches!(words.low(end), "every" | "each" | "about")
                || number_of(words.low(end)).is_some_and(|_| words.low(end) != "once")
        };
        for phrase in NEEDLESS_BEFORE_NUMBERS.iter().filter(|_| counts) {
            if let Some(end) = words
                .stand(i, phrase)
                .filter(|end| number(*end) && (!phrase.starts_with("no") || words.is_figure(*end)))
            {
                let message =
                    format!("`{}` is not needed: a rule is reached when the count is", words.text(i..end));
                steps.push(words.step(i..end, &[], 2, Code::NeedlessWords, message));
            }
        }
        let anywhere = NEEDLESS.iter().map(|phrase| (phrase, false));
        for (phrase, at_end) in anywhere.chain(NEEDLESS_AT_END.iter().map(|phrase| (phrase, true))) {
            if let Some(end) =
                words.stand(i, phrase).filter(|end| (!at_end || ends(*end)) && words.low(*end) != "newer")
            {
                let message = match phrase.starts_with("which") {
                    true => "`or` already means whichever comes first".to_owned(),
                    false => format!("`{}` is not needed here", words.text(i..end)),
                };
                steps.push(words.step(i..end, &[], 2, Code::NeedlessWords, message));
            }
        }
    }
}
