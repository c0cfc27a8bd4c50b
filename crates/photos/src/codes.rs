//! The codes of what is wrong with a set of pictures, or doubtful about it.

use std::borrow::Cow;

/// What a problem of pictures is about: a word that stays the same in every version, and what it means.
///
/// ```
/// use kitlore_photos::codes::PictureCode;
/// assert_eq!(PictureCode::NoDate.word(), "no-date");
/// assert!(PictureCode::ALL.iter().all(|code| !code.meaning().is_empty()));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[non_exhaustive]
#[expect(missing_docs, reason = "`meaning` says what each is")]
pub enum PictureCode {
    UnreadableFolder,
    UnreadablePicture,
    NotAPicture,
    BrokenPicture,
    NoMetadata,
    NoDate,
    NoBody,
    LinkLeftOut,
    UnknownGear,
    ModelDiffers,
    MixedOffsets,
    ClockJumpsBack,
    MoreProblems,
}

impl PictureCode {
    /// Every code.
    pub const ALL: [Self; 13] = [
        Self::UnreadableFolder,
        Self::UnreadablePicture,
        Self::NotAPicture,
        Self::BrokenPicture,
        Self::NoMetadata,
        Self::NoDate,
        Self::NoBody,
        Self::LinkLeftOut,
        Self::UnknownGear,
        Self::ModelDiffers,
        Self::MixedOffsets,
        Self::ClockJumpsBack,
        Self::MoreProblems,
    ];

    /// The word that stands in a [`kitlore_engine::Problem`].
    pub fn word(self) -> &'static str {
        self.entry().0
    }

    /// What it means, for people.
    pub fn meaning(self) -> &'static str {
        self.entry().1
    }

    fn entry(self) -> (&'static str, &'static str) {
        match self {
            Self::UnreadableFolder => {
                ("unreadable-folder", "a folder that cannot be listed, or that does not exist")
            }
            Self::UnreadablePicture => {
                ("unreadable-picture", "a file that the system does not allow to be read")
            }
            Self::NotAPicture => (
                "not-a-picture",
                "a file that is named like a picture but is none, or is in a format that is not read",
            ),
            Self::BrokenPicture => {
                ("broken-picture", "a picture that is cut off or points outside of itself")
            }
            Self::NoMetadata => ("no-metadata", "a picture without Exif data"),
            Self::NoDate => {
                ("no-date", "a picture that does not say when it was taken, or gives an impossible time")
            }
            Self::NoBody => ("no-body", "a picture that names no body"),
            Self::LinkLeftOut => ("link-left-out", "a link that was not followed"),
            Self::UnknownGear => {
                ("unknown-gear", "a body or lens that matches no item of the inventory, or more than one")
            }
            Self::ModelDiffers => {
                ("model-differs", "a serial number that belongs to an item of another model")
            }
            Self::MixedOffsets => (
                "mixed-offsets",
                "pictures of one body with and without an offset from UTC, and no zone given",
            ),
            Self::ClockJumpsBack => {
                ("clock-jumps-back", "successive pictures of one body that go back in time")
            }
            Self::MoreProblems => {
                ("more-problems", "how many problems of one code are not listed one by one")
            }
        }
    }
}

impl From<PictureCode> for Cow<'static, str> {
    fn from(code: PictureCode) -> Self {
        Self::Borrowed(code.word())
    }
}
