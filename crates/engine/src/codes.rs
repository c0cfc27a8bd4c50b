//! The codes of problems: stable words.
//!
//! Each has cases in the project's conformance data that raise it.

use std::borrow::Cow;
use std::fmt;

/// A code: what sort of problem something is. Codes are never reused.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[non_exhaustive]
pub enum Code {
    /// A meter of an item comes both as readings and as amounts; both are counted.
    AmountAndReading,
    /// What an entry expects a day is not written as names with amounts; until then nothing is expected.
    BadExpect,
    /// A number is not written as the language writes numbers; the entry is not used.
    BadNumber,
    /// A time is missing or cannot be read; the entry, or that date of an item, is not used.
    BadTime,
    /// Two entries have one id and differ; the first stands.
    DuplicateId,
    /// Two items have one id; the first stands.
    DuplicateItem,
    /// A meter reading is lower than the one before: taken as a new meter that starts at 0.
    MeterFell,
    /// An entry says nothing of what happened; it is not used.
    MissingEvent,
    /// An item has no id; it is not used.
    MissingId,
    /// An item has no kind; it is not used.
    MissingKind,
    /// An entry of a name that rules only look at as a reading has none.
    MissingReading,
    /// An amount, or a meter's reading, is below 0; the entry is not used.
    NegativeAmount,
    /// A name of the rules never occurs in the data, and a close one does.
    NeverSeen,
    /// The first reading of a meter comes after a service, so it adds nothing.
    NoBaseReading,
    /// An item has no date that an age or interval could count from.
    NoStart,
    /// A filter asks for a number or a date, and the item has a text there.
    NotANumber,
    /// An entry has both an amount and a reading; the reading stands.
    ReadingOverAmount,
    /// A completion without clock time stands on a day with timed uses: taken as before them.
    SameDayOrder,
    /// An amount or reading is in another unit than the rules'; it is not counted or looked at.
    UnitDiffers,
    /// No rule knows a condition of the log, and it is close to one they know.
    UnknownCondition,
    /// No rule knows an event of the log, and none is declared by that name.
    UnknownEvent,
    /// No rule knows a finding of the log, and it is close to one they know.
    UnknownFinding,
    /// An entry is for a name that is no id, kit, model or kind of the inventory.
    UnknownItem,
    /// No rule knows a kind of the inventory, and it is close to one they know.
    UnknownKind,
    /// A completion of a task that no rule asks of that item; it does not count as done.
    UnknownTaskForItem,
    /// An entry ends before it begins; it is not used.
    UntilBeforeWhen,
    /// Corrections that take out one another in a circle; they take nothing out.
    VoidLoop,
    /// A correction of an id that no entry has; it takes nothing out.
    VoidUnknown,
}

impl Code {
    /// Every code, by its word.
    pub const ALL: &[Self] = &[
        Self::AmountAndReading,
        Self::BadExpect,
        Self::BadNumber,
        Self::BadTime,
        Self::DuplicateId,
        Self::DuplicateItem,
        Self::MeterFell,
        Self::MissingEvent,
        Self::MissingId,
        Self::MissingKind,
        Self::MissingReading,
        Self::NegativeAmount,
        Self::NeverSeen,
        Self::NoBaseReading,
        Self::NoStart,
        Self::NotANumber,
        Self::ReadingOverAmount,
        Self::SameDayOrder,
        Self::UnitDiffers,
        Self::UnknownCondition,
        Self::UnknownEvent,
        Self::UnknownFinding,
        Self::UnknownItem,
        Self::UnknownKind,
        Self::UnknownTaskForItem,
        Self::UntilBeforeWhen,
        Self::VoidLoop,
        Self::VoidUnknown,
    ];

    /// Its word, such as `amount-and-reading`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::AmountAndReading => "amount-and-reading",
            Self::BadExpect => "bad-expect",
            Self::BadNumber => "bad-number",
            Self::BadTime => "bad-time",
            Self::DuplicateId => "duplicate-id",
            Self::DuplicateItem => "duplicate-item",
            Self::MeterFell => "meter-fell",
            Self::MissingEvent => "missing-event",
            Self::MissingId => "missing-id",
            Self::MissingKind => "missing-kind",
            Self::MissingReading => "missing-reading",
            Self::NegativeAmount => "negative-amount",
            Self::NeverSeen => "never-seen",
            Self::NoBaseReading => "no-base-reading",
            Self::NoStart => "no-start",
            Self::NotANumber => "not-a-number",
            Self::ReadingOverAmount => "reading-over-amount",
            Self::SameDayOrder => "same-day-order",
            Self::UnitDiffers => "unit-differs",
            Self::UnknownCondition => "unknown-condition",
            Self::UnknownEvent => "unknown-event",
            Self::UnknownFinding => "unknown-finding",
            Self::UnknownItem => "unknown-item",
            Self::UnknownKind => "unknown-kind",
            Self::UnknownTaskForItem => "unknown-task-for-item",
            Self::UntilBeforeWhen => "until-before-when",
            Self::VoidLoop => "void-loop",
            Self::VoidUnknown => "void-unknown",
        }
    }

    /// What it means, for people.
    pub const fn about(self) -> &'static str {
        match self {
            Self::AmountAndReading => {
                "a meter of an item comes both as readings and as amounts; both are counted"
            }
            Self::BadExpect => {
                "what an entry expects a day is not written as names with amounts; until then nothing is expected"
            }
            Self::BadNumber => {
                "a number is not written as the language writes numbers; the entry is not used"
            }
            Self::BadTime => {
                "a time is missing or cannot be read; the entry, or that date of an item, is not used"
            }
            Self::DuplicateId => "two entries have one id and differ; the first stands",
            Self::DuplicateItem => "two items have one id; the first stands",
            Self::MeterFell => {
                "a meter reading is lower than the one before: taken as a new meter that starts at 0"
            }
            Self::MissingEvent => "an entry says nothing of what happened; it is not used",
            Self::MissingId => "an item has no id; it is not used",
            Self::MissingKind => "an item has no kind; it is not used",
            Self::MissingReading => "an entry of a name that rules only look at as a reading has none",
            Self::NegativeAmount => "an amount, or a meter's reading, is below 0; the entry is not used",
            Self::NeverSeen => "a name of the rules never occurs in the data, and a close one does",
            Self::NoBaseReading => "the first reading of a meter comes after a service, so it adds nothing",
            Self::NoStart => "an item has no date that an age or interval could count from",
            Self::NotANumber => "a filter asks for a number or a date, and the item has a text there",
            Self::ReadingOverAmount => "an entry has both an amount and a reading; the reading stands",
            Self::SameDayOrder => {
                "a completion without clock time stands on a day with timed uses: taken as before them"
            }
            Self::UnitDiffers => {
                "an amount or reading is in another unit than the rules'; it is not counted or looked at"
            }
            Self::UnknownCondition => {
                "no rule knows a condition of the log, and it is close to one they know"
            }
            Self::UnknownEvent => "no rule knows an event of the log, and none is declared by that name",
            Self::UnknownFinding => "no rule knows a finding of the log, and it is close to one they know",
            Self::UnknownItem => "an entry is for a name that is no id, kit, model or kind of the inventory",
            Self::UnknownKind => "no rule knows a kind of the inventory, and it is close to one they know",
            Self::UnknownTaskForItem => {
                "a completion of a task that no rule asks of that item; it does not count as done"
            }
            Self::UntilBeforeWhen => "an entry ends before it begins; it is not used",
            Self::VoidLoop => "corrections that take out one another in a circle; they take nothing out",
            Self::VoidUnknown => "a correction of an id that no entry has; it takes nothing out",
        }
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
