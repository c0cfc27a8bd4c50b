//! How many names are compared: enough for people, and few enough that no text makes the comparing long.

/// Suggestions are looked for among this many different unknown names.
pub(super) const SUGGESTIONS: usize = 200;

/// So many names of the rules that the data never has are compared with those it has.
pub(super) const NAMES: usize = 2_000;
