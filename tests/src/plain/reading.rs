//! The order in which a house is read: what is included stands where it was included.

use kitlore_syntax::{Sources, Span};

/// Where a place stands in that order: places compare as these do.
pub fn place(sources: &Sources, span: Span) -> Vec<usize> {
    let texts: Vec<&str> = sources.iter().map(|source| &*source.text).collect();
    let mut places = vec![Vec::new()];
    walk(&texts, 0, &mut places);
    let mut place = places.get(span.source.0 as usize).cloned().unwrap_or_default();
    place.push(span.start as usize);
    place
}

/// Texts are numbered as their `include` lines are read, each with all that it includes before the next.
fn walk(texts: &[&str], number: usize, places: &mut Vec<Vec<usize>>) {
    let mut start = 0;
    for line in texts.get(number).copied().unwrap_or_default().split_inclusive('\n') {
        if line.trim_start().to_lowercase().starts_with("include ") {
            let place = [&places[number][..], &[start]].concat();
            places.push(place);
            walk(texts, places.len() - 1, places);
        }
        start += line.len();
    }
}
