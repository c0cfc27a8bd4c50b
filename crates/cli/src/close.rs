//! The name that was probably meant.

/// The candidate closest to a word, if close enough to be a slip of it.
pub(crate) fn closest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', '_', ' '], "");
    let wanted = plain(word);
    let limit = (wanted.chars().count() / 3).min(3);
    candidates
        .into_iter()
        .map(|candidate| (strsim::damerau_levenshtein(&wanted, &plain(candidate)), candidate))
        .filter(|(distance, _)| *distance <= limit)
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

/// ` (did you mean ...?)`, or nothing.
pub(crate) fn did_you_mean(meant: Option<&str>) -> String {
    meant.map_or_else(String::new, |meant| format!(" (did you mean `{meant}`?)"))
}
