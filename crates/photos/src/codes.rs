//! The codes of what is wrong with, or doubtful about, a set of pictures. Words, never reused.

/// Each code with what it means.
pub const CODES: [(&str, &str); 13] = [
    ("unreadable-folder", "a folder that cannot be listed, or that does not exist"),
    ("unreadable-picture", "a file that the system does not let be read"),
    ("not-a-picture", "a file that is named like a picture and is none, or is of a form that is not read"),
    ("broken-picture", "a picture that is cut off or points outside of itself"),
    ("no-metadata", "a picture without Exif data"),
    ("no-date", "a picture that does not say, or not truly, when it was taken"),
    ("no-body", "a picture that names no body"),
    ("link-left-out", "a link that was not followed"),
    ("unknown-gear", "a body or lens that no item of the inventory fits, or not with certainty"),
    ("model-differs", "a serial number that fits an item of another model"),
    ("mixed-offsets", "pictures of one body with and without an offset from UTC, and no zone given"),
    ("clock-jumps-back", "successive pictures of one body that go back in time"),
    ("more-problems", "how many problems of one sort are not listed one by one"),
];
