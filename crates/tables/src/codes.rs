//! The codes of problems that tables report, beside those of the engine (`bad-time`, `missing-id` …).

/// Every code of this crate and what it says. Codes are never reused; `tests/cases` holds an example of each.
pub const CODES: [(&str, &str); 11] = [
    ("bad-json", "a line of jsonl is not one object, or has a key twice; it is left out"),
    ("bad-text", "a row holds bytes that are not UTF-8; it is left out"),
    ("bad-value", "a cell has an error, a formula without its result, or a value that its field cannot have"),
    ("cut-off", "the last row has no line end and fewer values than headings; it is used as it stands"),
    (
        "midnights",
        "many times of a frame's entries are at 00:00 and others are not: they were probably dates",
    ),
    ("more-problems", "so many problems that the rest are only counted"),
    ("no-heading", "a column of an inventory has values and no heading; they are not read"),
    ("percent-cell", "a reading in percent is a number of at most 1: probably a share such as 80 %"),
    ("too-many-values", "a row has more values than there are headings; it is left out"),
    ("unclosed-quote", "a quote goes on over what looks like other rows, or to the end of the file"),
    (
        "unknown-heading",
        "a heading is no field but close to one; an attribute in an inventory, not read in a log",
    ),
];
