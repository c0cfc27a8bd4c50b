//! Words of the grammar that suggestions look for.

/// Words that begin a part of a trigger.
pub(super) const STARTS: [&str; 8] = ["after", "every", "each", "at", "before", "when", "on", "age"];

/// Words that no unquoted name may hold.
pub(super) const RESERVED: [&str; 21] = [
    "a", "an", "and", "any", "after", "at", "before", "each", "every", "for", "if", "in", "instead", "is",
    "not", "on", "or", "the", "unless", "when", "where",
];

/// How details begin.
pub(super) const OPENINGS: [&str; 11] = [
    "within",
    "notice",
    "allow",
    "no later than",
    "do not use until done",
    "at most every",
    "needs",
    "takes",
    "by",
    "because",
    "caution",
];

/// The words that details begin with.
pub(super) const FIRST: [&str; 11] =
    ["within", "notice", "allow", "no", "do", "at", "needs", "takes", "by", "because", "caution"];

/// What a trigger part can look like.
pub(super) const TRIGGER_FORMS: &str = "write for example `after 20 trips`, `after 90 days`, `every year on 1 March`, `before every trip` or \
                     `when inspect strap finds fraying`";
