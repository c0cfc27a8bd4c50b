//! Every code a diagnostic can bear.

/// One code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Code {
    /// The word, never reused.
    pub word: &'static str,
    /// What it says, for people.
    pub about: &'static str,
    /// A text that raises it, and nothing else.
    pub example: &'static str,
}

/// The code of a word.
///
/// ```
/// use kitlore_syntax::{NoIncludes, codes, parse};
/// let code = codes::find("missing-comma").unwrap();
/// let wrong = parse("house.lore", code.example, &NoIncludes).unwrap_err();
/// assert_eq!(wrong.list[0].code, code.word);
/// ```
pub fn find(word: &str) -> Option<&'static Code> {
    ALL.iter().find(|c| c.word == word)
}

/// All codes, in alphabetical order. One without an example is of a bound, and too large to show.
pub const ALL: &[Code] = &[
    Code {
        word: "allow-and-do-not-use",
        about: "`allow` gives more time and `do not use until done` gives none: a rule has one of them.",
        example: "after 20 trips, wipe body; allow 3 days; do not use until done",
    },
    Code {
        word: "and-or",
        about: "`and/or` leaves open whether one or both parts must be reached.",
        example: "after 20 trips and/or 90 days, wipe body",
    },
    Code {
        word: "bad-date",
        about: "A date is written `2026-03-01`, or `1 March` where a year is not wanted, and must exist.",
        example: "on 2026-02-30, wipe body",
    },
    Code {
        word: "bad-example-line",
        about: "A line of an example block is an item, an entry or a claim.",
        example: "example \"x\"\n  camera",
    },
    Code {
        word: "bad-filter",
        about: "What follows `where` is a test of a column, or several joined by `and`, `or` and brackets.",
        example: "for cameras where maker",
    },
    Code {
        word: "bad-number",
        about: "A number has digits, commas that group them in threes, and at most 6 digits after a point; a weight has at most 3.",
        example: "after 1,5 trips, wipe body",
    },
    Code {
        word: "bad-section",
        about: "`for` is followed by kinds, joined by commas or `and`, or by `every item`.",
        example: "for cameras or lenses",
    },
    Code {
        word: "bad-weight",
        about: "Weights stand in brackets after the use they weigh: `(in sand count 3)`.",
        example: "after 60 shoots (sand count 3), tighten clamps",
    },
    Code {
        word: "before-task",
        about: "`before` waits for a planned event; a task is not planned in the log.",
        example: "every 2 years, wet clean\nbefore every wet clean, charge pack",
    },
    Code {
        word: "curly-quotes", about: "Quotes are straight: `\"…\"`.", example: "house “Foxglove Light”"
    },
    Code {
        word: "detail-twice",
        about: "Every detail but `caution` stands once in a rule.",
        example: "after 20 trips, wipe body; notice 3 days; notice 4 days",
    },
    Code {
        word: "detail-without-rule",
        about: "A detail belongs to the rule above it.",
        example: "for cameras\n  notice 14 days",
    },
    Code {
        word: "duration-with-condition",
        about: "A length of time passes whatever the conditions are; uses can have conditions.",
        example: "after 90 days in dust, wipe body",
    },
    Code {
        word: "empty-name",
        about: "A name in quotes must have a letter or a digit.",
        example: "after 20 \"\", wipe body",
    },
    Code { word: "file-too-large", about: "A file of rules has at most 4 MiB.", example: "" },
    Code {
        word: "foreign-character",
        about: "The character has no meaning outside quotes and comments.",
        example: "after 20 trips, wipe body?",
    },
    Code {
        word: "include",
        about: "The file to include cannot be had, or would include itself.",
        example: "include \"more.lore\"",
    },
    Code {
        word: "kind-loop",
        about: "A kind cannot be narrower than itself, nor through other kinds.",
        example: "a camera is a tool\na tool is a camera",
    },
    Code {
        word: "later-of-both",
        about: "Doubt: `and` waits for the later of two lengths of time or dates.",
        example: "after 1 year and 6 months, service shutter",
    },
    Code {
        word: "like-a-comparison",
        about: "Doubt: a filter compares a column with a text that reads like a comparison of numbers.",
        example: "for cameras where slots is more than five\n  after 20 trips, wipe body",
    },
    Code {
        word: "like-a-condition",
        about: "Doubt: words around a condition are read as part of the name before them.",
        example: "after 20 shoots without dust, wipe body",
    },
    Code {
        word: "like-a-date",
        about: "Doubt: the use that is counted has the name of a day, a month or a season.",
        example: "every Monday, wipe body",
    },
    Code {
        word: "like-a-detail",
        about: "Doubt: the name of a task holds the beginning of a detail, which is set off by `;`.",
        example: "after 20 trips, wipe body because \"salt eats brass\"",
    },
    Code {
        word: "like-a-sentence",
        about: "Doubt: a name ends with a full stop, or begins with a word that a sentence would have; both are part of it.",
        example: "after 20 trips, wipe body.",
    },
    Code {
        word: "like-a-task",
        about: "Doubt: a task that no rule asks for has nearly the name of one that a rule asks for.",
        example: "after 20 trips, inspect strap\nwhen inspct strap finds fraying, replace strap",
    },
    Code {
        word: "like-a-unit",
        about: "Doubt: the use that is counted has a name like a unit of time.",
        example: "after 90 dayz, wipe body",
    },
    Code {
        word: "like-an-age",
        about: "Doubt: a reading is called `age`; the age of an item is asked with `at age`.",
        example: "when age is above 12 months, retire battery",
    },
    Code {
        word: "like-many-kinds",
        about: "Doubt: the name of a kind looks like a slip: `all cameras`, `camera's`.",
        example: "for all cameras\n  after 20 trips, wipe body",
    },
    Code {
        word: "like-thousands",
        about: "Doubt: a point with three zeros after it looks like a group of digits, or a name begins with a number in words.",
        example: "after 200.000 frames, service shutter",
    },
    Code {
        word: "limit-form",
        about: "After `no later than` stands a use, an interval, a reading, a finding or a delay; an age only where the rule waits for an age alone.",
        example: "after 20 trips, wipe body; no later than every year on 1 March",
    },
    Code { word: "line-too-long", about: "A statement has at most 64 KiB.", example: "" },
    Code {
        word: "missing-comma",
        about: "A comma stands between trigger and task, and after `instead`.",
        example: "after 90 days inspect sensor",
    },
    Code {
        word: "missing-semicolon",
        about: "`;` sets a detail off on the same line.",
        example: "after 20 trips, wipe body, notice 14 days",
    },
    Code {
        word: "missing-task",
        about: "A rule says when, and then what is to be done.",
        example: "after 20 trips",
    },
    Code {
        word: "mixed-list",
        about: "One list is joined by `or` alone or by `and` alone.",
        example: "after 20 trips in dust or sand and cold, wipe body",
    },
    Code {
        word: "needless-words",
        about: "Words that the language does without.",
        example: "after more than 20 trips, wipe body",
    },
    Code { word: "nested-too-deep", about: "Brackets are nested at most 64 deep.", example: "" },
    Code {
        word: "never-reached",
        about: "Doubt: the rule waits for its own task, or one that counts as it, and each time that starts its count anew.",
        example: "when clean sensor finds dust, clean sensor",
    },
    Code {
        word: "not-whole",
        about: "A length of time is a whole number of days, weeks, months or years.",
        example: "after 1.5 days, wipe body",
    },
    Code {
        word: "notice-of-nothing",
        about: "A notice in uses is of a use that the trigger counts.",
        example: "after 20 trips, wipe body; notice 2 shoots",
    },
    Code {
        word: "notice-too-large",
        about: "A notice in uses is below the threshold it announces.",
        example: "after 20 trips, wipe body; notice 20 trips",
    },
    Code {
        word: "number-in-words",
        about: "Numbers are written in digits.",
        example: "every other week, wipe body",
    },
    Code { word: "number-missing", about: "A number is missing.", example: "after trips, wipe body" },
    Code {
        word: "other-newer",
        about: "`unless a newer` is followed by the event that the delay waits after.",
        example: "7 days after each release unless a newer recall, install firmware",
    },
    Code {
        word: "part-without-number",
        about: "Each part of a trigger says how often or when.",
        example: "after 20 lens changes or battery changes, wipe body",
    },
    Code { word: "quotes-missing", about: "The text stands in quotes.", example: "house Foxglove Light" },
    Code {
        word: "reserved-event",
        about: "`received`, `in service`, `retired`, `finding` and `void` have a meaning of their own in the log.",
        example: "after 20 trips, retired",
    },
    Code {
        word: "reserved-word",
        about: "A word of the language stands in a name only if the name is quoted.",
        example: "after 2 walks on ice, wipe body",
    },
    Code {
        word: "several-tasks",
        about: "A rule has one task.",
        example: "after 20 trips, wipe body and check mount",
    },
    Code {
        word: "statement-twice",
        about: "A house has one name, one time zone and one date to count from.",
        example: "time zone UTC\ntime zone UTC",
    },
    Code {
        word: "too-long-ahead",
        about: "A length of time is at most 200 years.",
        example: "every 201 years, wipe body",
    },
    Code {
        word: "too-many-links",
        about: "A house has at most 1,000 statements of narrower kinds, and 1,000 tasks after `covers`.",
        example: "",
    },
    Code { word: "too-many-mistakes", about: "Only the first mistakes are shown.", example: "" },
    Code { word: "too-many-rules", about: "A house has at most 100,000 rules.", example: "" },
    Code {
        word: "two-rules",
        about: "Every rule begins on a line of its own.",
        example: "after 20 trips, wipe body after 30 trips, check mount",
    },
    Code {
        word: "unclosed-bracket",
        about: "A bracket that is opened is closed.",
        example: "after (20 trips, wipe body",
    },
    Code {
        word: "unclosed-quote",
        about: "A quote that is opened is closed on the same line.",
        example: "house \"Foxglove",
    },
    Code {
        word: "undeclared-name",
        about: "Where a house lists its events, conditions or findings, its rules use no others.",
        example: "events trip\nafter 20 shoots, wipe body",
    },
    Code {
        word: "unit-as-usage",
        about: "A unit of time alone is never the name of a use.",
        example: "after 20 \"days\", wipe body",
    },
    Code {
        word: "unknown-comparison",
        about: "Readings are compared with `below`, `above`, `at least` and `at most`.",
        example: "when capacity is under 80 percent, retire battery",
    },
    Code {
        word: "unknown-detail",
        about: "The detail has none of the forms.",
        example: "after 20 trips, wipe body; soonish 2 days",
    },
    Code {
        word: "unknown-escape",
        about: "In quotes, `\\\\` stands for a backslash and `\\\"` for a quote; nothing else follows a backslash.",
        example: "house \"a\\nb\"",
    },
    Code {
        word: "unknown-statement",
        about: "The line has none of the forms of a statement.",
        example: "wipe body",
    },
    Code {
        word: "unknown-task",
        about: "What stands after the comma is no task.",
        example: "after 20 trips, 90 days, wipe body",
    },
    Code {
        word: "unknown-trigger",
        about: "The part of a trigger has none of the forms.",
        example: "when dusty, wipe body",
    },
    Code {
        word: "unknown-unit",
        about: "The units of time are days, weeks, months and years; `takes` has minutes and hours.",
        example: "after 20 trips, wipe body; allow 3 hrs",
    },
    Code {
        word: "unknown-zone",
        about: "Time zones have the names of the IANA time zone database.",
        example: "time zone Europe/Lisboa",
    },
    Code {
        word: "unopened-bracket",
        about: "A bracket that is closed was opened.",
        example: "after 20 trips), wipe body",
    },
    Code {
        word: "within-without-before",
        about: "`within` says how long before a planned event; the trigger needs a `before`.",
        example: "after 20 trips, wipe body; within 3 days",
    },
    Code {
        word: "zero",
        about: "A threshold, and the length of an interval or age, is above 0.",
        example: "after 0 trips, wipe body",
    },
];
