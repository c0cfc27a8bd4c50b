//! Why a file gives no metadata.

use crate::codes::PictureCode;
use std::io::ErrorKind;

/// Why a file gives no metadata.
#[derive(Debug, thiserror::Error)]
pub(crate) enum MetadataError {
    /// The system does not allow reading it.
    #[error("cannot be read: {0}")]
    Io(std::io::Error),
    /// Its content is in no picture format that is read.
    #[error("is no picture that can be read here, whatever its name says")]
    NotAPicture,
    /// It ends too early, or points outside of itself.
    #[error("is broken or cut off: {0}")]
    Broken(String),
    /// A sound picture, as far as it was read, without Exif data.
    #[error("has no Exif data, so that neither body nor time is known")]
    NoMetadata,
}

impl MetadataError {
    /// The code under which it is reported.
    pub fn code(&self) -> PictureCode {
        match self {
            Self::Io(_) => PictureCode::UnreadablePicture,
            Self::NotAPicture => PictureCode::NotAPicture,
            Self::Broken(_) => PictureCode::BrokenPicture,
            Self::NoMetadata => PictureCode::NoMetadata,
        }
    }
}

impl From<std::io::Error> for MetadataError {
    fn from(error: std::io::Error) -> Self {
        match error.kind() {
            ErrorKind::UnexpectedEof => Self::Broken("it ends within its metadata".to_owned()),
            ErrorKind::Other | ErrorKind::InvalidInput => Self::Broken(error.to_string()),
            _ => Self::Io(error),
        }
    }
}

impl From<exif::Error> for MetadataError {
    fn from(error: exif::Error) -> Self {
        match error {
            exif::Error::Io(error) => error.into(),
            exif::Error::NotFound(_) => Self::NoMetadata,
            exif::Error::NotSupported(_) => Self::NotAPicture,
            error => Self::Broken(error.to_string().to_lowercase()),
        }
    }
}
