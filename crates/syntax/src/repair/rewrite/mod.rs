//! The slips that people make, as exchanges of tokens.

mod comparisons;
mod dates;
mod figures;
mod joints;
mod missing;
mod order;
mod quotes;
mod spelling;
mod synonyms;
mod words;

pub(super) use words::{Step, Why, Words};

/// Every line that one rewrite makes of a line.
pub(super) fn rewrites(words: &Words<'_>) -> Vec<Step> {
    let mut steps = Vec::new();
    for rewrite in [
        spelling::spelling,
        synonyms::synonyms,
        synonyms::needless,
        figures::figures,
        figures::in_words,
        comparisons::comparisons,
        dates::dates,
        joints::joints,
        missing::missing,
        order::order,
        quotes::quotes,
    ] {
        rewrite(words, &mut steps);
    }
    steps
}
