//! Every code a diagnostic can have.

/// Each code once: its variant, its word, what it means, a text that raises it.
macro_rules! codes {
    ($($variant:ident $word:literal: $about:literal => $example:literal,)*) => {
        code_enum! {
            /// A code: what sort of problem something is. Codes are never reused.
            pub enum Code {
                $($variant $word: $about,)*
            }
        }

        impl Code {
            /// A text that raises it, and nothing else; empty for a bound, whose text is too large to show, and for
            /// what only running shows.
            ///
            /// ```
            /// use kitlore_syntax::codes::Code;
            /// use kitlore_syntax::{NoIncludes, parse};
            /// let wrong = parse("house.lore", Code::MissingComma.example(), &NoIncludes).unwrap_err();
            /// assert_eq!(wrong.list[0].code, Code::MissingComma);
            /// ```
            pub const fn example(self) -> &'static str {
                match self {
                    $(Self::$variant => $example,)*
                }
            }
        }
    };
}

codes! {
    AllowAndDoNotUse "allow-and-do-not-use":
        "`allow` gives more time and `do not use until done` gives none: a rule has one of them."
        => "after 20 trips, wipe body; allow 3 days; do not use until done",
    AndOr "and-or":
        "`and/or` leaves open whether one or both parts must be reached."
        => "after 20 trips and/or 90 days, wipe body",
    BadDate "bad-date":
        "A date is written `2026-03-01`, or `1 March` where no year is wanted, and must exist."
        => "on 2026-02-30, wipe body",
    BadExampleLine "bad-example-line":
        "A line of an example block is an item, an entry or a claim."
        => "example \"x\"\n  camera",
    BadFilter "bad-filter":
        "What follows `where` is a test of a column, or several joined by `and`, `or` and brackets."
        => "for cameras where maker",
    BadNumber "bad-number":
        "A number has digits, commas that group them in threes, and at most 6 digits after the point; a weight has at most 3."
        => "after 1,5 trips, wipe body",
    BadSection "bad-section":
        "`for` is followed by kinds, joined by commas or `and`, or by `every item`."
        => "for cameras or lenses",
    BadWeight "bad-weight":
        "Weights are written in brackets after the use they belong to: `(in sand count 3)`."
        => "after 60 shoots (sand count 3), tighten clamps",
    BeforeTask "before-task":
        "`before` waits for a planned event; the log does not plan tasks."
        => "every 2 years, wet clean\nbefore every wet clean, charge pack",
    CurlyQuotes "curly-quotes":
        "Quotes are straight: `\"…\"`."
        => "house “Foxglove Light”",
    DetailTwice "detail-twice":
        "Every detail but `caution` appears once in a rule."
        => "after 20 trips, wipe body; notice 3 days; notice 4 days",
    DetailWithoutRule "detail-without-rule":
        "A detail belongs to the rule above it."
        => "for cameras\n  notice 14 days",
    DurationWithCondition "duration-with-condition":
        "A length of time passes under any conditions; only uses can have conditions."
        => "after 90 days in dust, wipe body",
    EmptyName "empty-name":
        "A name in quotes must have a letter or a digit."
        => "after 20 \"\", wipe body",
    ExampleFails "example-fails":
        "An example claims something else than its rules give; reported where examples are run."
        => "",
    FileTooLarge "file-too-large":
        "A file of rules has at most 4 MiB."
        => "",
    ForeignCharacter "foreign-character":
        "This character has no meaning outside quotes and comments."
        => "after 20 trips, wipe body?",
    Include "include":
        "The file to include is not available, or would include itself."
        => "include \"more.lore\"",
    KindLoop "kind-loop":
        "A kind cannot be narrower than itself, directly or through other kinds."
        => "a camera is a tool\na tool is a camera",
    LaterOfBoth "later-of-both":
        "Doubt: `and` waits for the later of two lengths of time or dates."
        => "after 1 year and 6 months, service shutter",
    LikeAComparison "like-a-comparison":
        "Doubt: a filter compares a column with a text that reads like a comparison of numbers."
        => "for cameras where slots is more than five\n  after 20 trips, wipe body",
    LikeACondition "like-a-condition":
        "Doubt: words that belong to a condition are read as part of the name before them."
        => "after 20 shoots without dust, wipe body",
    LikeADate "like-a-date":
        "Doubt: the use to count has the name of a day, a month or a season."
        => "every Monday, wipe body",
    LikeADetail "like-a-detail":
        "Doubt: the name of a task contains the beginning of a detail; details are separated by `;`."
        => "after 20 trips, wipe body because \"salt eats brass\"",
    LikeASentence "like-a-sentence":
        "Doubt: a name ends with a full stop, or begins with a word that belongs to a sentence; both are read as part of it."
        => "after 20 trips, wipe body.",
    LikeATask "like-a-task":
        "Doubt: a task that no rule asks for is named almost like one that a rule asks for."
        => "after 20 trips, inspect strap\nwhen inspct strap finds fraying, replace strap",
    LikeAUnit "like-a-unit":
        "Doubt: the use to count is named like a unit of time."
        => "after 90 dayz, wipe body",
    LikeAnAge "like-an-age":
        "Doubt: a reading is named `age`; the age of an item is written `at age`."
        => "when age is above 12 months, retire battery",
    LikeManyKinds "like-many-kinds":
        "Doubt: the name of a kind looks misspelt: `all cameras`, `camera's`."
        => "for all cameras\n  after 20 trips, wipe body",
    LikeThousands "like-thousands":
        "Doubt: a point followed by three zeros looks like a separator of thousands, or a name begins with a number in words."
        => "after 200.000 frames, service shutter",
    LimitForm "limit-form":
        "`no later than` is followed by a use, an interval, a reading, a finding or a delay; by an age only where the rule waits for an age alone."
        => "after 20 trips, wipe body; no later than every year on 1 March",
    LineTooLong "line-too-long":
        "A statement has at most 64 KiB."
        => "",
    MissingComma "missing-comma":
        "A comma separates trigger and task, and follows `instead`."
        => "after 90 days inspect sensor",
    MissingSemicolon "missing-semicolon":
        "`;` separates a detail from what is before it on the line."
        => "after 20 trips, wipe body, notice 14 days",
    MissingTask "missing-task":
        "A rule says when, and then what to do."
        => "after 20 trips",
    MixedList "mixed-list":
        "A list is joined by `or` alone or by `and` alone."
        => "after 20 trips in dust or sand and cold, wipe body",
    NeedlessWords "needless-words":
        "Words that the language does not use."
        => "after more than 20 trips, wipe body",
    NestedTooDeep "nested-too-deep":
        "Brackets are nested at most 64 deep."
        => "",
    NeverReached "never-reached":
        "Doubt: the rule waits for its own task, or one that counts as it, and each time that restarts its count."
        => "when clean sensor finds dust, clean sensor",
    NotWhole "not-whole":
        "A length of time is a whole number of days, weeks, months or years."
        => "after 1.5 days, wipe body",
    NoticeOfNothing "notice-of-nothing":
        "A notice in uses names a use that the trigger counts."
        => "after 20 trips, wipe body; notice 2 shoots",
    NoticeTooLarge "notice-too-large":
        "A notice in uses is smaller than the threshold it announces."
        => "after 20 trips, wipe body; notice 20 trips",
    NumberInWords "number-in-words":
        "Numbers are written in digits."
        => "every other week, wipe body",
    NumberMissing "number-missing":
        "A number is missing."
        => "after trips, wipe body",
    OtherNewer "other-newer":
        "`unless a newer` is followed by the event that the delay counts from."
        => "7 days after each release unless a newer recall, install firmware",
    PartWithoutNumber "part-without-number":
        "Each part of a trigger says how often or when."
        => "after 20 lens changes or battery changes, wipe body",
    QuotesMissing "quotes-missing":
        "This text is written in quotes."
        => "house Foxglove Light",
    ReservedEvent "reserved-event":
        "`received`, `in service`, `retired`, `finding` and `void` have a meaning of their own in the log."
        => "after 20 trips, retired",
    ReservedWord "reserved-word":
        "A word of the language appears in a name only if the name is quoted."
        => "after 2 walks on ice, wipe body",
    SeveralTasks "several-tasks":
        "A rule has one task."
        => "after 20 trips, wipe body and check mount",
    StatementTwice "statement-twice":
        "A house has one name, one time zone and one date to count from."
        => "time zone UTC\ntime zone UTC",
    TooLongAhead "too-long-ahead":
        "A length of time is at most 200 years."
        => "every 201 years, wipe body",
    TooManyLinks "too-many-links":
        "A house has at most 1,000 narrower kinds and 1,000 tasks after `covers`."
        => "",
    TooManyMistakes "too-many-mistakes":
        "Only the first mistakes are shown."
        => "",
    TooManyRules "too-many-rules":
        "A house has at most 100,000 rules."
        => "",
    TwoRules "two-rules":
        "Every rule begins on its own line."
        => "after 20 trips, wipe body after 30 trips, check mount",
    UnclosedBracket "unclosed-bracket":
        "Every opening bracket needs a closing one."
        => "after (20 trips, wipe body",
    UnclosedQuote "unclosed-quote":
        "Every opening quote needs a closing one on the same line."
        => "house \"Foxglove",
    UndeclaredName "undeclared-name":
        "Where a house lists its events, conditions or findings, its rules use no others."
        => "events trip\nafter 20 shoots, wipe body",
    UnitAsUsage "unit-as-usage":
        "A unit of time alone is never the name of a use."
        => "after 20 \"days\", wipe body",
    UnknownComparison "unknown-comparison":
        "Readings are compared with `below`, `above`, `at least` and `at most`."
        => "when capacity is under 80 percent, retire battery",
    UnknownDetail "unknown-detail":
        "The detail has none of the known forms."
        => "after 20 trips, wipe body; soonish 2 days",
    UnknownEscape "unknown-escape":
        "In quotes, `\\\\` stands for a backslash and `\\\"` for a quote; nothing else follows a backslash."
        => "house \"a\\nb\"",
    UnknownStatement "unknown-statement":
        "The line has none of the forms of a statement."
        => "wipe body",
    UnknownTask "unknown-task":
        "What follows the comma is not a task."
        => "after 20 trips, 90 days, wipe body",
    UnknownTrigger "unknown-trigger":
        "This part of a trigger has none of the known forms."
        => "when dusty, wipe body",
    UnknownUnit "unknown-unit":
        "The units of time are days, weeks, months and years; `takes` also has minutes and hours."
        => "after 20 trips, wipe body; allow 3 hrs",
    UnknownZone "unknown-zone":
        "Time zones are named as in the IANA time zone database."
        => "time zone Europe/Lisboa",
    UnlessItself "unless-itself":
        "A delay is cancelled by another event, or by a newer one of its own."
        => "7 days after each firmware release unless firmware release, install firmware",
    UnopenedBracket "unopened-bracket":
        "Every closing bracket needs an opening one."
        => "after 20 trips), wipe body",
    WithinWithoutBefore "within-without-before":
        "`within` says how long before a planned event; the trigger needs a `before`."
        => "after 20 trips, wipe body; within 3 days",
    Zero "zero":
        "A threshold is above 0, and so is the length of an interval, an age, of disuse and of `at most every`."
        => "after 0 trips, wipe body",
}

impl Code {
    /// The code of a word.
    pub fn find(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|code| code.word() == word)
    }
}
