//! Every code a diagnostic can bear.

use std::borrow::Cow;
use std::fmt;

/// A code: what sort of problem something is. Codes are never reused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Code {
    /// `allow` gives more time and `do not use until done` gives none: a rule has one of them.
    AllowAndDoNotUse,
    /// `and/or` leaves open whether one or both parts must be reached.
    AndOr,
    /// A date is written `2026-03-01`, or `1 March` where a year is not wanted, and must exist.
    BadDate,
    /// A line of an example block is an item, an entry or a claim.
    BadExampleLine,
    /// What follows `where` is a test of a column, or several joined by `and`, `or` and brackets.
    BadFilter,
    /// A number has digits, commas that group them in threes, and at most 6 digits after a point; a weight has at most 3.
    BadNumber,
    /// `for` is followed by kinds, joined by commas or `and`, or by `every item`.
    BadSection,
    /// Weights stand in brackets after the use they weigh: `(in sand count 3)`.
    BadWeight,
    /// `before` waits for a planned event; a task is not planned in the log.
    BeforeTask,
    /// Quotes are straight: `"…"`.
    CurlyQuotes,
    /// Every detail but `caution` stands once in a rule.
    DetailTwice,
    /// A detail belongs to the rule above it.
    DetailWithoutRule,
    /// A length of time passes whatever the conditions are; uses can have conditions.
    DurationWithCondition,
    /// A name in quotes must have a letter or a digit.
    EmptyName,
    /// An example says other than the rules do; it is raised where examples are run.
    ExampleFails,
    /// A file of rules has at most 4 MiB.
    FileTooLarge,
    /// The character has no meaning outside quotes and comments.
    ForeignCharacter,
    /// The file to include cannot be had, or would include itself.
    Include,
    /// A kind cannot be narrower than itself, nor through other kinds.
    KindLoop,
    /// Doubt: `and` waits for the later of two lengths of time or dates.
    LaterOfBoth,
    /// Doubt: a filter compares a column with a text that reads like a comparison of numbers.
    LikeAComparison,
    /// Doubt: words around a condition are read as part of the name before them.
    LikeACondition,
    /// Doubt: the use that is counted has the name of a day, a month or a season.
    LikeADate,
    /// Doubt: the name of a task holds the beginning of a detail, which is set off by `;`.
    LikeADetail,
    /// Doubt: a name ends with a full stop, or begins with a word that a sentence would have; both are part of it.
    LikeASentence,
    /// Doubt: a task that no rule asks for has nearly the name of one that a rule asks for.
    LikeATask,
    /// Doubt: the use that is counted has a name like a unit of time.
    LikeAUnit,
    /// Doubt: a reading is called `age`; the age of an item is asked with `at age`.
    LikeAnAge,
    /// Doubt: the name of a kind looks like a slip: `all cameras`, `camera's`.
    LikeManyKinds,
    /// Doubt: a point with three zeros after it looks like a group of digits, or a name begins with a number in words.
    LikeThousands,
    /// After `no later than` stands a use, an interval, a reading, a finding or a delay; an age only where the rule waits for an age alone.
    LimitForm,
    /// A statement has at most 64 KiB.
    LineTooLong,
    /// A comma stands between trigger and task, and after `instead`.
    MissingComma,
    /// `;` sets a detail off on the same line.
    MissingSemicolon,
    /// A rule says when, and then what is to be done.
    MissingTask,
    /// One list is joined by `or` alone or by `and` alone.
    MixedList,
    /// Words that the language does without.
    NeedlessWords,
    /// Brackets are nested at most 64 deep.
    NestedTooDeep,
    /// Doubt: the rule waits for its own task, or one that counts as it, and each time that starts its count anew.
    NeverReached,
    /// A length of time is a whole number of days, weeks, months or years.
    NotWhole,
    /// A notice in uses is of a use that the trigger counts.
    NoticeOfNothing,
    /// A notice in uses is below the threshold it announces.
    NoticeTooLarge,
    /// Numbers are written in digits.
    NumberInWords,
    /// A number is missing.
    NumberMissing,
    /// `unless a newer` is followed by the event that the delay waits after.
    OtherNewer,
    /// Each part of a trigger says how often or when.
    PartWithoutNumber,
    /// The text stands in quotes.
    QuotesMissing,
    /// `received`, `in service`, `retired`, `finding` and `void` have a meaning of their own in the log.
    ReservedEvent,
    /// A word of the language stands in a name only if the name is quoted.
    ReservedWord,
    /// A rule has one task.
    SeveralTasks,
    /// A house has one name, one time zone and one date to count from.
    StatementTwice,
    /// A length of time is at most 200 years.
    TooLongAhead,
    /// A house has at most 1,000 statements of narrower kinds, and 1,000 tasks after `covers`.
    TooManyLinks,
    /// Only the first mistakes are shown.
    TooManyMistakes,
    /// A house has at most 100,000 rules.
    TooManyRules,
    /// Every rule begins on a line of its own.
    TwoRules,
    /// A bracket that is opened is closed.
    UnclosedBracket,
    /// A quote that is opened is closed on the same line.
    UnclosedQuote,
    /// Where a house lists its events, conditions or findings, its rules use no others.
    UndeclaredName,
    /// A unit of time alone is never the name of a use.
    UnitAsUsage,
    /// Readings are compared with `below`, `above`, `at least` and `at most`.
    UnknownComparison,
    /// The detail has none of the forms.
    UnknownDetail,
    /// In quotes, `\\\\` stands for a backslash and `\\"` for a quote; nothing else follows a backslash.
    UnknownEscape,
    /// The line has none of the forms of a statement.
    UnknownStatement,
    /// What stands after the comma is no task.
    UnknownTask,
    /// The part of a trigger has none of the forms.
    UnknownTrigger,
    /// The units of time are days, weeks, months and years; `takes` has minutes and hours.
    UnknownUnit,
    /// Time zones have the names of the IANA time zone database.
    UnknownZone,
    /// A bracket that is closed was opened.
    UnopenedBracket,
    /// `within` says how long before a planned event; the trigger needs a `before`.
    WithinWithoutBefore,
    /// A threshold, and the length of an interval or age, is above 0.
    Zero,
}

impl Code {
    /// Every code, by its word.
    pub const ALL: &[Self] = &[
        Self::AllowAndDoNotUse,
        Self::AndOr,
        Self::BadDate,
        Self::BadExampleLine,
        Self::BadFilter,
        Self::BadNumber,
        Self::BadSection,
        Self::BadWeight,
        Self::BeforeTask,
        Self::CurlyQuotes,
        Self::DetailTwice,
        Self::DetailWithoutRule,
        Self::DurationWithCondition,
        Self::EmptyName,
        Self::ExampleFails,
        Self::FileTooLarge,
        Self::ForeignCharacter,
        Self::Include,
        Self::KindLoop,
        Self::LaterOfBoth,
        Self::LikeAComparison,
        Self::LikeACondition,
        Self::LikeADate,
        Self::LikeADetail,
        Self::LikeASentence,
        Self::LikeATask,
        Self::LikeAUnit,
        Self::LikeAnAge,
        Self::LikeManyKinds,
        Self::LikeThousands,
        Self::LimitForm,
        Self::LineTooLong,
        Self::MissingComma,
        Self::MissingSemicolon,
        Self::MissingTask,
        Self::MixedList,
        Self::NeedlessWords,
        Self::NestedTooDeep,
        Self::NeverReached,
        Self::NotWhole,
        Self::NoticeOfNothing,
        Self::NoticeTooLarge,
        Self::NumberInWords,
        Self::NumberMissing,
        Self::OtherNewer,
        Self::PartWithoutNumber,
        Self::QuotesMissing,
        Self::ReservedEvent,
        Self::ReservedWord,
        Self::SeveralTasks,
        Self::StatementTwice,
        Self::TooLongAhead,
        Self::TooManyLinks,
        Self::TooManyMistakes,
        Self::TooManyRules,
        Self::TwoRules,
        Self::UnclosedBracket,
        Self::UnclosedQuote,
        Self::UndeclaredName,
        Self::UnitAsUsage,
        Self::UnknownComparison,
        Self::UnknownDetail,
        Self::UnknownEscape,
        Self::UnknownStatement,
        Self::UnknownTask,
        Self::UnknownTrigger,
        Self::UnknownUnit,
        Self::UnknownZone,
        Self::UnopenedBracket,
        Self::WithinWithoutBefore,
        Self::Zero,
    ];

    /// Its word, such as `allow-and-do-not-use`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::AllowAndDoNotUse => "allow-and-do-not-use",
            Self::AndOr => "and-or",
            Self::BadDate => "bad-date",
            Self::BadExampleLine => "bad-example-line",
            Self::BadFilter => "bad-filter",
            Self::BadNumber => "bad-number",
            Self::BadSection => "bad-section",
            Self::BadWeight => "bad-weight",
            Self::BeforeTask => "before-task",
            Self::CurlyQuotes => "curly-quotes",
            Self::DetailTwice => "detail-twice",
            Self::DetailWithoutRule => "detail-without-rule",
            Self::DurationWithCondition => "duration-with-condition",
            Self::EmptyName => "empty-name",
            Self::ExampleFails => "example-fails",
            Self::FileTooLarge => "file-too-large",
            Self::ForeignCharacter => "foreign-character",
            Self::Include => "include",
            Self::KindLoop => "kind-loop",
            Self::LaterOfBoth => "later-of-both",
            Self::LikeAComparison => "like-a-comparison",
            Self::LikeACondition => "like-a-condition",
            Self::LikeADate => "like-a-date",
            Self::LikeADetail => "like-a-detail",
            Self::LikeASentence => "like-a-sentence",
            Self::LikeATask => "like-a-task",
            Self::LikeAUnit => "like-a-unit",
            Self::LikeAnAge => "like-an-age",
            Self::LikeManyKinds => "like-many-kinds",
            Self::LikeThousands => "like-thousands",
            Self::LimitForm => "limit-form",
            Self::LineTooLong => "line-too-long",
            Self::MissingComma => "missing-comma",
            Self::MissingSemicolon => "missing-semicolon",
            Self::MissingTask => "missing-task",
            Self::MixedList => "mixed-list",
            Self::NeedlessWords => "needless-words",
            Self::NestedTooDeep => "nested-too-deep",
            Self::NeverReached => "never-reached",
            Self::NotWhole => "not-whole",
            Self::NoticeOfNothing => "notice-of-nothing",
            Self::NoticeTooLarge => "notice-too-large",
            Self::NumberInWords => "number-in-words",
            Self::NumberMissing => "number-missing",
            Self::OtherNewer => "other-newer",
            Self::PartWithoutNumber => "part-without-number",
            Self::QuotesMissing => "quotes-missing",
            Self::ReservedEvent => "reserved-event",
            Self::ReservedWord => "reserved-word",
            Self::SeveralTasks => "several-tasks",
            Self::StatementTwice => "statement-twice",
            Self::TooLongAhead => "too-long-ahead",
            Self::TooManyLinks => "too-many-links",
            Self::TooManyMistakes => "too-many-mistakes",
            Self::TooManyRules => "too-many-rules",
            Self::TwoRules => "two-rules",
            Self::UnclosedBracket => "unclosed-bracket",
            Self::UnclosedQuote => "unclosed-quote",
            Self::UndeclaredName => "undeclared-name",
            Self::UnitAsUsage => "unit-as-usage",
            Self::UnknownComparison => "unknown-comparison",
            Self::UnknownDetail => "unknown-detail",
            Self::UnknownEscape => "unknown-escape",
            Self::UnknownStatement => "unknown-statement",
            Self::UnknownTask => "unknown-task",
            Self::UnknownTrigger => "unknown-trigger",
            Self::UnknownUnit => "unknown-unit",
            Self::UnknownZone => "unknown-zone",
            Self::UnopenedBracket => "unopened-bracket",
            Self::WithinWithoutBefore => "within-without-before",
            Self::Zero => "zero",
        }
    }

    /// What it means, for people.
    pub const fn about(self) -> &'static str {
        match self {
            Self::AllowAndDoNotUse => {
                "`allow` gives more time and `do not use until done` gives none: a rule has one of them."
            }
            Self::AndOr => "`and/or` leaves open whether one or both parts must be reached.",
            Self::BadDate => {
                "A date is written `2026-03-01`, or `1 March` where a year is not wanted, and must exist."
            }
            Self::BadExampleLine => "A line of an example block is an item, an entry or a claim.",
            Self::BadFilter => {
                "What follows `where` is a test of a column, or several joined by `and`, `or` and brackets."
            }
            Self::BadNumber => {
                "A number has digits, commas that group them in threes, and at most 6 digits after a point; a weight has at most 3."
            }
            Self::BadSection => "`for` is followed by kinds, joined by commas or `and`, or by `every item`.",
            Self::BadWeight => "Weights stand in brackets after the use they weigh: `(in sand count 3)`.",
            Self::BeforeTask => "`before` waits for a planned event; a task is not planned in the log.",
            Self::CurlyQuotes => "Quotes are straight: `\"…\"`.",
            Self::DetailTwice => "Every detail but `caution` stands once in a rule.",
            Self::DetailWithoutRule => "A detail belongs to the rule above it.",
            Self::DurationWithCondition => {
                "A length of time passes whatever the conditions are; uses can have conditions."
            }
            Self::EmptyName => "A name in quotes must have a letter or a digit.",
            Self::ExampleFails => {
                "An example says other than the rules do; it is raised where examples are run."
            }
            Self::FileTooLarge => "A file of rules has at most 4 MiB.",
            Self::ForeignCharacter => "The character has no meaning outside quotes and comments.",
            Self::Include => "The file to include cannot be had, or would include itself.",
            Self::KindLoop => "A kind cannot be narrower than itself, nor through other kinds.",
            Self::LaterOfBoth => "Doubt: `and` waits for the later of two lengths of time or dates.",
            Self::LikeAComparison => {
                "Doubt: a filter compares a column with a text that reads like a comparison of numbers."
            }
            Self::LikeACondition => {
                "Doubt: words around a condition are read as part of the name before them."
            }
            Self::LikeADate => "Doubt: the use that is counted has the name of a day, a month or a season.",
            Self::LikeADetail => {
                "Doubt: the name of a task holds the beginning of a detail, which is set off by `;`."
            }
            Self::LikeASentence => {
                "Doubt: a name ends with a full stop, or begins with a word that a sentence would have; both are part of it."
            }
            Self::LikeATask => {
                "Doubt: a task that no rule asks for has nearly the name of one that a rule asks for."
            }
            Self::LikeAUnit => "Doubt: the use that is counted has a name like a unit of time.",
            Self::LikeAnAge => "Doubt: a reading is called `age`; the age of an item is asked with `at age`.",
            Self::LikeManyKinds => "Doubt: the name of a kind looks like a slip: `all cameras`, `camera's`.",
            Self::LikeThousands => {
                "Doubt: a point with three zeros after it looks like a group of digits, or a name begins with a number in words."
            }
            Self::LimitForm => {
                "After `no later than` stands a use, an interval, a reading, a finding or a delay; an age only where the rule waits for an age alone."
            }
            Self::LineTooLong => "A statement has at most 64 KiB.",
            Self::MissingComma => "A comma stands between trigger and task, and after `instead`.",
            Self::MissingSemicolon => "`;` sets a detail off on the same line.",
            Self::MissingTask => "A rule says when, and then what is to be done.",
            Self::MixedList => "One list is joined by `or` alone or by `and` alone.",
            Self::NeedlessWords => "Words that the language does without.",
            Self::NestedTooDeep => "Brackets are nested at most 64 deep.",
            Self::NeverReached => {
                "Doubt: the rule waits for its own task, or one that counts as it, and each time that starts its count anew."
            }
            Self::NotWhole => "A length of time is a whole number of days, weeks, months or years.",
            Self::NoticeOfNothing => "A notice in uses is of a use that the trigger counts.",
            Self::NoticeTooLarge => "A notice in uses is below the threshold it announces.",
            Self::NumberInWords => "Numbers are written in digits.",
            Self::NumberMissing => "A number is missing.",
            Self::OtherNewer => "`unless a newer` is followed by the event that the delay waits after.",
            Self::PartWithoutNumber => "Each part of a trigger says how often or when.",
            Self::QuotesMissing => "The text stands in quotes.",
            Self::ReservedEvent => {
                "`received`, `in service`, `retired`, `finding` and `void` have a meaning of their own in the log."
            }
            Self::ReservedWord => "A word of the language stands in a name only if the name is quoted.",
            Self::SeveralTasks => "A rule has one task.",
            Self::StatementTwice => "A house has one name, one time zone and one date to count from.",
            Self::TooLongAhead => "A length of time is at most 200 years.",
            Self::TooManyLinks => {
                "A house has at most 1,000 statements of narrower kinds, and 1,000 tasks after `covers`."
            }
            Self::TooManyMistakes => "Only the first mistakes are shown.",
            Self::TooManyRules => "A house has at most 100,000 rules.",
            Self::TwoRules => "Every rule begins on a line of its own.",
            Self::UnclosedBracket => "A bracket that is opened is closed.",
            Self::UnclosedQuote => "A quote that is opened is closed on the same line.",
            Self::UndeclaredName => {
                "Where a house lists its events, conditions or findings, its rules use no others."
            }
            Self::UnitAsUsage => "A unit of time alone is never the name of a use.",
            Self::UnknownComparison => {
                "Readings are compared with `below`, `above`, `at least` and `at most`."
            }
            Self::UnknownDetail => "The detail has none of the forms.",
            Self::UnknownEscape => {
                "In quotes, `\\\\\\\\` stands for a backslash and `\\\\\"` for a quote; nothing else follows a backslash."
            }
            Self::UnknownStatement => "The line has none of the forms of a statement.",
            Self::UnknownTask => "What stands after the comma is no task.",
            Self::UnknownTrigger => "The part of a trigger has none of the forms.",
            Self::UnknownUnit => {
                "The units of time are days, weeks, months and years; `takes` has minutes and hours."
            }
            Self::UnknownZone => "Time zones have the names of the IANA time zone database.",
            Self::UnopenedBracket => "A bracket that is closed was opened.",
            Self::WithinWithoutBefore => {
                "`within` says how long before a planned event; the trigger needs a `before`."
            }
            Self::Zero => "A threshold, and the length of an interval or age, is above 0.",
        }
    }

    /// A text that raises it, and nothing else; empty for a bound, whose text is too large to show, and for what only running shows.
    ///
    /// ```
    /// use kitlore_syntax::codes::Code;
    /// use kitlore_syntax::{NoIncludes, parse};
    /// let wrong = parse("house.lore", Code::MissingComma.example(), &NoIncludes).unwrap_err();
    /// assert_eq!(wrong.list[0].code, Code::MissingComma);
    /// ```
    pub const fn example(self) -> &'static str {
        match self {
            Self::AllowAndDoNotUse => "after 20 trips, wipe body; allow 3 days; do not use until done",
            Self::AndOr => "after 20 trips and/or 90 days, wipe body",
            Self::BadDate => "on 2026-02-30, wipe body",
            Self::BadExampleLine => "example \"x\"\n  camera",
            Self::BadFilter => "for cameras where maker",
            Self::BadNumber => "after 1,5 trips, wipe body",
            Self::BadSection => "for cameras or lenses",
            Self::BadWeight => "after 60 shoots (sand count 3), tighten clamps",
            Self::BeforeTask => "every 2 years, wet clean\nbefore every wet clean, charge pack",
            Self::CurlyQuotes => "house “Foxglove Light”",
            Self::DetailTwice => "after 20 trips, wipe body; notice 3 days; notice 4 days",
            Self::DetailWithoutRule => "for cameras\n  notice 14 days",
            Self::DurationWithCondition => "after 90 days in dust, wipe body",
            Self::EmptyName => "after 20 \"\", wipe body",
            Self::ExampleFails => "",
            Self::FileTooLarge => "",
            Self::ForeignCharacter => "after 20 trips, wipe body?",
            Self::Include => "include \"more.lore\"",
            Self::KindLoop => "a camera is a tool\na tool is a camera",
            Self::LaterOfBoth => "after 1 year and 6 months, service shutter",
            Self::LikeAComparison => "for cameras where slots is more than five\n  after 20 trips, wipe body",
            Self::LikeACondition => "after 20 shoots without dust, wipe body",
            Self::LikeADate => "every Monday, wipe body",
            Self::LikeADetail => "after 20 trips, wipe body because \"salt eats brass\"",
            Self::LikeASentence => "after 20 trips, wipe body.",
            Self::LikeATask => {
                "after 20 trips, inspect strap\nwhen inspct strap finds fraying, replace strap"
            }
            Self::LikeAUnit => "after 90 dayz, wipe body",
            Self::LikeAnAge => "when age is above 12 months, retire battery",
            Self::LikeManyKinds => "for all cameras\n  after 20 trips, wipe body",
            Self::LikeThousands => "after 200.000 frames, service shutter",
            Self::LimitForm => "after 20 trips, wipe body; no later than every year on 1 March",
            Self::LineTooLong => "",
            Self::MissingComma => "after 90 days inspect sensor",
            Self::MissingSemicolon => "after 20 trips, wipe body, notice 14 days",
            Self::MissingTask => "after 20 trips",
            Self::MixedList => "after 20 trips in dust or sand and cold, wipe body",
            Self::NeedlessWords => "after more than 20 trips, wipe body",
            Self::NestedTooDeep => "",
            Self::NeverReached => "when clean sensor finds dust, clean sensor",
            Self::NotWhole => "after 1.5 days, wipe body",
            Self::NoticeOfNothing => "after 20 trips, wipe body; notice 2 shoots",
            Self::NoticeTooLarge => "after 20 trips, wipe body; notice 20 trips",
            Self::NumberInWords => "every other week, wipe body",
            Self::NumberMissing => "after trips, wipe body",
            Self::OtherNewer => "7 days after each release unless a newer recall, install firmware",
            Self::PartWithoutNumber => "after 20 lens changes or battery changes, wipe body",
            Self::QuotesMissing => "house Foxglove Light",
            Self::ReservedEvent => "after 20 trips, retired",
            Self::ReservedWord => "after 2 walks on ice, wipe body",
            Self::SeveralTasks => "after 20 trips, wipe body and check mount",
            Self::StatementTwice => "time zone UTC\ntime zone UTC",
            Self::TooLongAhead => "every 201 years, wipe body",
            Self::TooManyLinks => "",
            Self::TooManyMistakes => "",
            Self::TooManyRules => "",
            Self::TwoRules => "after 20 trips, wipe body after 30 trips, check mount",
            Self::UnclosedBracket => "after (20 trips, wipe body",
            Self::UnclosedQuote => "house \"Foxglove",
            Self::UndeclaredName => "events trip\nafter 20 shoots, wipe body",
            Self::UnitAsUsage => "after 20 \"days\", wipe body",
            Self::UnknownComparison => "when capacity is under 80 percent, retire battery",
            Self::UnknownDetail => "after 20 trips, wipe body; soonish 2 days",
            Self::UnknownEscape => "house \"a\\nb\"",
            Self::UnknownStatement => "wipe body",
            Self::UnknownTask => "after 20 trips, 90 days, wipe body",
            Self::UnknownTrigger => "when dusty, wipe body",
            Self::UnknownUnit => "after 20 trips, wipe body; allow 3 hrs",
            Self::UnknownZone => "time zone Europe/Lisboa",
            Self::UnopenedBracket => "after 20 trips), wipe body",
            Self::WithinWithoutBefore => "after 20 trips, wipe body; within 3 days",
            Self::Zero => "after 0 trips, wipe body",
        }
    }

    /// The code of a word.
    pub fn find(word: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|code| code.word() == word)
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

impl From<Code> for Cow<'static, str> {
    fn from(code: Code) -> Self {
        Cow::Borrowed(code.word())
    }
}
