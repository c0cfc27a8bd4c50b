//! The codes of what is wrong with a set of pictures, or doubtful about it.

kitlore_syntax::code_enum! {
    /// What a problem of pictures is about: a word that stays the same in every version, and what it means.
    ///
    /// ```
    /// use kitlore_photos::codes::PictureCode;
    /// assert_eq!(PictureCode::NoDate.word(), "no-date");
    /// assert!(PictureCode::ALL.iter().all(|code| !code.about().is_empty()));
    /// ```
    pub enum PictureCode {
        UnreadableFolder "unreadable-folder":
            "a folder that cannot be listed, or that does not exist",
        UnreadablePicture "unreadable-picture":
            "a file that the system does not allow to be read",
        NotAPicture "not-a-picture":
            "a file that is named like a picture but is none, or is in a format that is not read",
        BrokenPicture "broken-picture":
            "a picture that is cut off or points outside of itself",
        NoMetadata "no-metadata":
            "a picture without Exif data",
        NoDate "no-date":
            "a picture that does not say when it was taken, or gives an impossible time",
        NoBody "no-body":
            "a picture that names no body",
        LinkLeftOut "link-left-out":
            "a link that was not followed",
        UnknownGear "unknown-gear":
            "a body or lens that matches no item of the inventory, or more than one",
        ModelDiffers "model-differs":
            "a serial number that belongs to an item of another model",
        MixedOffsets "mixed-offsets":
            "pictures of one body with and without an offset from UTC, and no zone given",
        ClockJumpsBack "clock-jumps-back":
            "successive pictures of one body that go back in time",
        MoreProblems "more-problems":
            "how many problems of one code are not listed one by one",
    }
}
