//! The codes of problems that tables report, beside those of the engine (`bad-time`, `missing-id` …).
//!
//! `tests/cases` holds an example of each.

kitlore_syntax::code_enum! {
    /// A code: what sort of problem something is. Codes are never reused.
    pub enum Code {
        BadJson "bad-json":
            "a line of jsonl is not one object, or has a key twice; it is left out",
        BadText "bad-text":
            "a row holds bytes that are not UTF-8; it is left out",
        BadValue "bad-value":
            "a cell has an error, a formula without its result, or a value that its field cannot have",
        CutOff "cut-off":
            "the last row has no line end and fewer values than headings; it is used as it stands",
        Midnights "midnights":
            "many times of a frame's entries are at 00:00 and others are not: they were probably dates",
        MoreProblems "more-problems":
            "so many problems that the rest are only counted",
        NoHeading "no-heading":
            "a column of an inventory has values and no heading; they are not read",
        PercentCell "percent-cell":
            "a reading in percent is a number of at most 1: probably a share such as 80 %",
        PointOrGroup "point-or-group":
            "a number has one point and three digits after it where cells are separated by `;`; read as a decimal",
        TooManyValues "too-many-values":
            "a row has more values than there are headings; it is left out",
        UnclosedQuote "unclosed-quote":
            "a quote goes on over what looks like other rows, or to the end of the file",
        UnknownHeading "unknown-heading":
            "a heading of an inventory is no field but close to one; taken as an attribute",
        UnreadColumn "unread-column":
            "a heading of a log is no field but close to one, or another word for one; its column is not read",
    }
}
