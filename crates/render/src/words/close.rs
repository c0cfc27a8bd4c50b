//! The name that was probably meant.

/// The candidate closest to a word that was typed in, if close enough to be a slip of it.
///
/// Less careful than with the names of a log, where a slip may be of an item that is elsewhere: this one was typed in
/// to be answered.
///
/// ```
/// assert_eq!(kitlore_words::closest("cam-1", ["CAM-01", "LEN-01"]), Some("CAM-01"));
/// assert_eq!(kitlore_words::closest("tripod", ["CAM-01", "LEN-01"]), None);
/// ```
pub fn closest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', '_', ' '], "");
    let wanted = plain(word);
    let most = (wanted.chars().count() / 3).min(3);
    let near = candidates.into_iter().filter_map(|candidate| {
        let known = plain(candidate);
        // A letter has at most four bytes; texts of very unequal length are not compared.
        let comparable = known.len().abs_diff(wanted.len()) <= 4 * most;
        let distance = comparable.then(|| strsim::damerau_levenshtein(&wanted, &known))?;
        (distance <= most).then_some((distance, candidate))
    });
    near.min_by_key(|(distance, _)| *distance).map(|(_, candidate)| candidate)
}

/// ` (did you mean ...?)`, or nothing.
pub fn did_you_mean(meant: Option<&str>) -> String {
    meant.map_or_else(String::new, |meant| format!(" (did you mean `{meant}`?)"))
}
