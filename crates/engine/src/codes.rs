//! The codes of problems: stable words.
//!
//! Each has cases in the project's conformance data that raise it.

kitlore_syntax::code_enum! {
    /// A code: what sort of problem something is. Codes are never reused.
    pub enum Code {
        AmountAndReading "amount-and-reading":
            "a meter of an item comes both as readings and as amounts; both are counted",
        BadExpect "bad-expect":
            "what an entry expects a day is not written as names with amounts; until then nothing is expected",
        BadNumber "bad-number":
            "a number is not written as the language writes numbers; the entry is not used",
        BadTime "bad-time":
            "a time is missing or cannot be read; the entry, or that date of an item, is not used",
        BeforeReceived "before-received":
            "an entry for an item stands before the item was there; it counts",
        DuplicateId "duplicate-id":
            "two entries have one id and differ; the first stands",
        DuplicateItem "duplicate-item":
            "two items have one id; the first stands",
        MeterFell "meter-fell":
            "a meter reading is lower than the one before: taken as a new meter that starts at 0",
        MissingEvent "missing-event":
            "an entry says nothing of what happened; it is not used",
        MissingId "missing-id":
            "an item has no id; it is not used",
        MissingKind "missing-kind":
            "an item has no kind; it is not used",
        MissingReading "missing-reading":
            "an entry of a name that rules only look at as a reading has none",
        NegativeAmount "negative-amount":
            "an amount, or a meter's reading, is below 0; the entry is not used",
        NeverSeen "never-seen":
            "a name of the rules never occurs in the data, and a close one does",
        NoBaseReading "no-base-reading":
            "the first reading of a meter comes after a service, so it adds nothing",
        NoEffect "no-effect":
            "a completion has an amount, or a `finding` found nothing; neither has an effect",
        NoItem "no-item":
            "an entry that must say for which item does not; it, or its reading and findings, is not used",
        NoMember "no-member":
            "an entry for a kit, a model or a kind holds for none of its items on its dates",
        NoStart "no-start":
            "an item has no date that an age or interval could count from",
        NoSuchKind "no-such-kind":
            "no item is of a kind that rules are for",
        NotANumber "not-a-number":
            "a filter asks for a number or a date, and the item has a text there",
        NotYetDone "not-yet-done":
            "a completion is later than now",
        ReadingOverAmount "reading-over-amount":
            "an entry has both an amount and a reading; the reading stands",
        SameDayOrder "same-day-order":
            "a completion without clock time stands on a day with timed uses: taken as before them",
        SameTwice "same-twice":
            "an entry stands twice, alike in every column and without id; both count",
        UnitDiffers "unit-differs":
            "an amount or reading is in another unit than the rules'; it is not counted or looked at",
        UnknownCondition "unknown-condition":
            "a condition of the log is none of those declared, or, where none are, close to one the rules know",
        UnknownEvent "unknown-event":
            "no rule knows an event of the log, and none is declared by that name",
        UnknownFinding "unknown-finding":
            "no rule knows a finding of the log, and none is declared by that name",
        UnknownItem "unknown-item":
            "an entry is for a name that is no id, kit, model or kind of the inventory",
        UnknownKind "unknown-kind":
            "no rule knows a kind of the inventory, and it is close to one they know",
        UnknownTaskForItem "unknown-task-for-item":
            "a completion of a task that no rule asks of that item; it does not count as done",
        UntilBeforeWhen "until-before-when":
            "an entry ends before it begins; it is not used",
        VoidLoop "void-loop":
            "corrections that take out one another in a circle; they take nothing out",
        VoidUnknown "void-unknown":
            "a correction of an id that no entry has; it takes nothing out",
    }
}
