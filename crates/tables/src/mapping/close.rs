//! The known word nearest to a mistyped one.

use kitlore_syntax::key;

/// The candidate closest to `word` by key, if it is close enough to have been meant: one slip in
/// words of 3 to 5 letters, two in longer ones.
pub(crate) fn closest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = key(word);
    candidates
        .into_iter()
        .map(|candidate| (distance(&word, &key(candidate)), candidate))
        .filter(|(distance, candidate)| {
            let longer = word.chars().count().max(candidate.chars().count());
            *distance <= (longer / 3).min(2)
        })
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, candidate)| candidate)
}

fn distance(a: &str, b: &str) -> usize {
    // Words of very unequal length are never close; this also bounds the work on hostile headings.
    if a.len().abs_diff(b.len()) > 8 {
        return usize::MAX;
    }
    strsim::damerau_levenshtein(a, b)
}

#[cfg(test)]
mod tests {
    use super::closest;

    #[test]
    fn one_or_two_slips_are_close() {
        let known = ["amount", "event", "in", "ref"];
        assert_eq!(closest("amout", known), Some("amount"));
        assert_eq!(closest("evnt", known), Some("event"));
        assert_eq!(closest("it", known), None);
        assert_eq!(closest("refs", known), Some("ref"));
        assert_eq!(closest("remarks", known), None);
    }
}
