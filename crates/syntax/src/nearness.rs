//! How nearly one name is another: the one matcher for all suggestions.

/// The candidate that is spelled most alike, if any is alike enough to be meant.
pub(crate) fn closest<'c>(word: &str, candidates: impl IntoIterator<Item = &'c str>) -> Option<&'c str> {
    let letters = word.chars().count();
    // A long word is compared with nothing: it is no slip of a short one, and would cost much.
    if !(3..=60).contains(&letters) {
        return None;
    }
    let most = (letters / 3).clamp(1, 3);
    let near = candidates.into_iter().filter(|c| c.chars().count().abs_diff(letters) <= most);
    near.map(|c| (distance(word, c), c))
        .filter(|(distance, _)| (1..=most).contains(distance))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, c)| c)
}

/// How many letters must be put in, left out, changed or swapped with a neighbour.
pub(crate) fn distance(one: &str, other: &str) -> usize {
    strsim::osa_distance(one, other)
}

/// The candidate closest to a name that was typed in, if close enough to be a slip of it; capitals and joints
/// do not count.
///
/// Less careful than with the names of a log, where a slip may be of an item that is elsewhere: this one was typed in
/// to be answered.
///
/// ```
/// assert_eq!(kitlore_syntax::closest_typed("cam-1", ["CAM-01", "LEN-01"]), Some("CAM-01"));
/// assert_eq!(kitlore_syntax::closest_typed("tripod", ["CAM-01", "LEN-01"]), None);
/// ```
pub fn closest_typed<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| text.to_lowercase().replace(['-', '_', ' '], "");
    let wanted = plain(word);
    let most = (wanted.chars().count() / 3).min(3);
    let near = candidates.into_iter().filter_map(|candidate| {
        let known = plain(candidate);
        // A letter has at most four bytes; texts of very unequal length are not compared.
        let comparable = known.len().abs_diff(wanted.len()) <= 4 * most;
        let distance = comparable.then(|| distance(&wanted, &known))?;
        (distance <= most).then_some((distance, candidate))
    });
    near.min_by_key(|(distance, _)| *distance).map(|(_, candidate)| candidate)
}
