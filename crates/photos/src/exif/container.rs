//! Finds the Exif data in a file, with few reads whatever its size.
//!
//! The Exif crate reads TIFF and raw files, and a JPEG without metadata, to their end, and decodes every field
//! although only a dozen are wanted. So this file walks the segments of a JPEG itself, and [`super::tiff`] takes
//! only the wanted fields of a TIFF. HEIF, PNG and WebP are left to the crate.

use super::bounded_reader::BoundedReader;
use super::error::MetadataError;
use super::tiff::TiffFields;
use std::io::{BufRead, Cursor, Seek};

/// The Exif fields of a picture.
pub(crate) fn fields_of(file: impl BufRead + Seek) -> Result<TiffFields, MetadataError> {
    let mut reader = BoundedReader::new(file);
    let start = reader.fill_buf().map_err(MetadataError::Io)?;
    if start.is_empty() {
        return Err(MetadataError::Broken("it is empty".to_owned()));
    }
    if start.starts_with(&[0xFF, 0xD8]) {
        return jpeg(&mut reader);
    }
    if start.starts_with(b"II") || start.starts_with(b"MM") {
        let fields = TiffFields::read(&mut reader)?;
        return if fields.is_empty() { Err(MetadataError::NoMetadata) } else { Ok(fields) };
    }
    if start.starts_with(b"FUJIFILMCCD-RAW") {
        // The offset of the JPEG inside it, which carries the metadata.
        reader.skip(84)?;
        let offset = u32::from_be_bytes(reader.array()?);
        reader.seek_to(offset.into())?;
        return jpeg(&mut reader);
    }
    let is_read =
        start.starts_with(b"\x89PNG") || start.starts_with(b"RIFF") || start.get(4..8) == Some(b"ftyp");
    if !is_read {
        return Err(MetadataError::NotAPicture);
    }
    let read = exif::Reader::new().continue_on_error(true).read_from_container(&mut reader);
    let exif = read.or_else(|error| error.distill_partial_result(|_| {}))?;
    fields_within(&mut BoundedReader::new(Cursor::new(exif.buf())), exif.buf().len() as u64)
}

/// The fields of `length` bytes of Exif data that begin at the reader's position.
fn fields_within(
    reader: &mut BoundedReader<impl BufRead + Seek>,
    length: u64,
) -> Result<TiffFields, MetadataError> {
    TiffFields::read(reader.part(length)).map_err(|error| match error {
        MetadataError::NotAPicture => MetadataError::Broken("its Exif data do not begin as such".to_owned()),
        error => error,
    })
}

/// The fields of the Exif segment of a JPEG, which comes before the image data.
fn jpeg(reader: &mut BoundedReader<impl BufRead + Seek>) -> Result<TiffFields, MetadataError> {
    if reader.array()? != [0xFF, 0xD8] {
        return Err(MetadataError::NotAPicture);
    }
    loop {
        // Segments may be padded, and some programs leave stray bytes between them.
        while reader.array()? != [0xFF] {}
        let mut marker = 0xFF;
        while marker == 0xFF {
            [marker] = reader.array()?;
        }
        match marker {
            0x00 | 0x01 | 0xD0..=0xD8 => continue,
            // End of the image, or start of the scan.
            0xD9 | 0xDA => return Err(MetadataError::NoMetadata),
            _ => {}
        }
        let length = u16::from_be_bytes(reader.array()?).checked_sub(2);
        let length = length.ok_or_else(|| MetadataError::Broken("a segment has no length".to_owned()))?;
        match u64::from(length).checked_sub(6) {
            Some(rest) if marker == 0xE1 => {
                if reader.array()? == *b"Exif\0\0" {
                    let fields = fields_within(reader, rest)?;
                    reader.leave()?;
                    return Ok(fields);
                }
                reader.skip(rest)?;
            }
            _ => reader.skip(length.into())?,
        }
    }
}
