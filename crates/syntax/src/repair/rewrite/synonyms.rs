//! Words that mean what words of the language mean, and words that mean nothing.

use super::{Step, Text, Words};
use crate::codes::Code;
use crate::lexicon::{NEEDLESS, NEEDLESS_AT_END, SYNONYMS, adverb};

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
            let own = *phrase == "found" && matches!(words.before(i), "is" | "are" | "was" | "were" | "been" | "often" | "gets");
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
        "needs" | "takes" | "notice" | "caution" | "allow" | "because" | "do not use until done" => Code::UnknownDetail,
        "or" | "and" => Code::AndOr,
        _ => Code::UnknownTrigger,
    }
}

/// `please`, `roughly`, `whichever comes first`
pub(super) fn needless(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        let ends = |end: usize| matches!(words.low(end), "" | "," | ";" | ")" | "or" | "and");
        let anywhere = NEEDLESS.iter().map(|phrase| (phrase, false));
        for (phrase, at_end) in anywhere.chain(NEEDLESS_AT_END.iter().map(|phrase| (phrase, true))) {
            if let Some(end) = words.stand(i, phrase).filter(|end| (!at_end || ends(*end)) && words.low(*end) != "newer") {
                let message = match phrase.starts_with("which") {
                    true => "`or` already means whichever comes first".to_owned(),
                    false => format!("`{}` is not needed here", words.text(i..end)),
                };
                steps.push(words.step(i..end, &[], 2, Code::NeedlessWords, message));
            }
        }
    }
}
