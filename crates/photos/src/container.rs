//! Where a picture keeps its Exif data: found with few reads, whatever the size of the file.
//!
//! The Exif crate reads a JPEG without metadata, and every TIFF and raw file, to its end, and decodes all fields
//! where a dozen are wanted. So JPEG segments are walked here, and of a TIFF only the wanted fields are taken
//! ([`crate::fields`]); where HEIF, PNG and WebP keep theirs the crate knows.

use crate::fields::Fields;
use crate::window::Window;
use std::io::{BufRead, Cursor, ErrorKind, Seek};

/// Why a file gives no metadata.
#[derive(Debug, thiserror::Error)]
pub(crate) enum Fault {
    /// The system does not let it be read.
    #[error("cannot be read: {0}")]
    Io(std::io::Error),
    /// Its content is no kind of picture that is read.
    #[error("is no picture that can be read here, whatever its name says")]
    NotAPicture,
    /// It ends too early, or points outside of itself.
    #[error("is broken or cut off: {0}")]
    Broken(String),
    /// A sound picture, as far as it was read, without Exif data.
    #[error("has no Exif data, so that neither body nor time is known")]
    NoMetadata,
}

impl From<std::io::Error> for Fault {
    fn from(error: std::io::Error) -> Self {
        match error.kind() {
            ErrorKind::UnexpectedEof => Self::Broken("it ends within its metadata".to_owned()),
            ErrorKind::Other | ErrorKind::InvalidInput => Self::Broken(error.to_string()),
            _ => Self::Io(error),
        }
    }
}

impl From<exif::Error> for Fault {
    fn from(error: exif::Error) -> Self {
        match error {
            exif::Error::Io(error) => error.into(),
            exif::Error::NotFound(_) => Self::NoMetadata,
            exif::Error::NotSupported(_) => Self::NotAPicture,
            error => Self::Broken(error.to_string().to_lowercase()),
        }
    }
}

/// The Exif fields of a picture.
pub(crate) fn fields_of(reader: impl BufRead + Seek) -> Result<Fields, Fault> {
    let mut window = Window::new(reader);
    let start = window.fill_buf().map_err(Fault::Io)?;
    if start.is_empty() {
        return Err(Fault::Broken("it is empty".to_owned()));
    }
    if start.starts_with(&[0xFF, 0xD8]) {
        return jpeg(&mut window);
    }
    if start.starts_with(b"II") || start.starts_with(b"MM") {
        let fields = Fields::read(&mut window)?;
        return if fields.is_empty() { Err(Fault::NoMetadata) } else { Ok(fields) };
    }
    if start.starts_with(b"FUJIFILMCCD-RAW") {
        // The place of the JPEG within it, which carries the metadata.
        window.skip(84)?;
        let place = u32::from_be_bytes(window.array()?);
        window.go(place.into())?;
        return jpeg(&mut window);
    }
    let known =
        start.starts_with(b"\x89PNG") || start.starts_with(b"RIFF") || start.get(4..8) == Some(b"ftyp");
    if !known {
        return Err(Fault::NotAPicture);
    }
    let read = exif::Reader::new().continue_on_error(true).read_from_container(&mut window);
    let exif = read.or_else(|error| error.distill_partial_result(|_| {}))?;
    within(&mut Window::new(Cursor::new(exif.buf())), exif.buf().len() as u64)
}

/// The fields of so many bytes of Exif data, which begin here.
fn within(window: &mut Window<impl BufRead + Seek>, length: u64) -> Result<Fields, Fault> {
    Fields::read(window.part(length)).map_err(|fault| match fault {
        Fault::NotAPicture => Fault::Broken("its Exif data do not begin as such".to_owned()),
        fault => fault,
    })
}

/// The fields of the Exif segment of a JPEG, which stands before the picture itself.
fn jpeg(window: &mut Window<impl BufRead + Seek>) -> Result<Fields, Fault> {
    if window.array()? != [0xFF, 0xD8] {
        return Err(Fault::NotAPicture);
    }
    loop {
        // Segments may be padded, and some programs leave stray bytes between them.
        while window.array()? != [0xFF] {}
        let mut marker = 0xFF;
        while marker == 0xFF {
            [marker] = window.array()?;
        }
        match marker {
            0x00 | 0x01 | 0xD0..=0xD8 => continue,
            // End of the picture, or start of the scan.
            0xD9 | 0xDA => return Err(Fault::NoMetadata),
            _ => {}
        }
        let length = u16::from_be_bytes(window.array()?).checked_sub(2);
        let length = length.ok_or_else(|| Fault::Broken("a segment has no length".to_owned()))?;
        match u64::from(length).checked_sub(6) {
            Some(rest) if marker == 0xE1 => {
                if window.array()? == *b"Exif\0\0" {
                    let fields = within(window, rest)?;
                    window.leave()?;
                    return Ok(fields);
                }
                window.skip(rest)?;
            }
            _ => window.skip(length.into())?,
        }
    }
}
