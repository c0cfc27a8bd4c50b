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
