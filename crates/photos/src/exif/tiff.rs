//! The wanted fields of a TIFF, of a raw file built like one, or of the Exif data in another format.
//!
//! Follows TIFF 6.0, section 2: a header, directories of 12-byte fields, and values anywhere in the file. Only
//! the directories and the wanted values are read.

use super::bounded_reader::BoundedReader;
use super::error::MetadataError;
use std::io::{BufRead, Seek};

/// Make, Model.
const OF_PICTURE: [u16; 2] = [0x010F, 0x0110];
/// The directory of Exif fields.
const EXIF_POINTER: u16 = 0x8769;
/// Original time, its offset and sub-seconds; temperature, humidity, pressure, depth; body serial number;
/// lens make, model and serial number.
const OF_EXIF: [u16; 11] =
    [0x9003, 0x9011, 0x9291, 0x9400, 0x9401, 0x9402, 0x9403, 0xA431, 0xA433, 0xA434, 0xA435];

/// The most fields a directory may have; those of real files have a few dozen.
const FIELDS: u16 = 1_000;
/// The most bytes a value may have; real values of these fields have a few dozen.
const VALUE: usize = 4_096;

/// The byte order of numbers.
#[derive(Debug, Clone, Copy)]
struct ByteOrder {
    little: bool,
}

impl ByteOrder {
    fn u16(self, bytes: [u8; 2]) -> u16 {
        if self.little { u16::from_le_bytes(bytes) } else { u16::from_be_bytes(bytes) }
    }

    fn u32(self, bytes: [u8; 4]) -> u32 {
        if self.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) }
    }
}

#[derive(Debug)]
struct TiffField {
    tag: u16,
    format: u16,
    /// Bytes of its value.
    length: usize,
    /// Its value, or the offset of a longer one in the file.
    inline: [u8; 4],
    /// The start of a longer value in [`TiffFields::values`].
    start: usize,
}

/// TiffFields by their numbers; of one that comes twice the first counts.
#[derive(Debug)]
pub(crate) struct TiffFields {
    order: ByteOrder,
    list: Vec<TiffField>,
    /// The values of more than four bytes.
    values: Vec<u8>,
}

impl TiffFields {
    /// Reads them from the start of a TIFF. Also accepts the headers of Olympus and Panasonic raw files, which
    /// differ in the magic number alone.
    pub fn read(reader: &mut BoundedReader<impl BufRead + Seek>) -> Result<Self, MetadataError> {
        let order = match reader.array()? {
            [b'I', b'I'] => ByteOrder { little: true },
            [b'M', b'M'] => ByteOrder { little: false },
            _ => return Err(MetadataError::NotAPicture),
        };
        if !matches!(order.u16(reader.array()?), 42 | 0x4F52 | 0x5352 | 0x55) {
            return Err(MetadataError::NotAPicture);
        }
        let first = order.u32(reader.array()?);
        let (list, values) = (Vec::with_capacity(16), Vec::with_capacity(256));
        let mut fields = Self { order, list, values };
        fields.directory(reader, first, |tag| tag == EXIF_POINTER || OF_PICTURE.contains(&tag))?;
        if let Some(pointer) = fields.list.iter().position(|field| field.tag == EXIF_POINTER) {
            let offset = order.u32(fields.list.remove(pointer).inline);
            fields.directory(reader, offset, |tag| OF_EXIF.contains(&tag))?;
        }
        Ok(fields)
    }

    /// Reads the wanted fields of a directory. A field whose value lies outside of the file is left out.
    fn directory(
        &mut self,
        reader: &mut BoundedReader<impl BufRead + Seek>,
        offset: u32,
        wanted: impl Fn(u16) -> bool,
    ) -> Result<(), MetadataError> {
        let order = self.order;
        reader.seek_to(offset.into())?;
        let count = order.u16(reader.array()?);
        if count > FIELDS {
            return Err(MetadataError::Broken("its list of fields is endless".to_owned()));
        }
        let mut fields: Vec<TiffField> = Vec::with_capacity(OF_EXIF.len());
        let bytes = reader.up_to(12 * usize::from(count))?;
        for field in bytes.chunks_exact(12) {
            let [t0, t1, f0, f1, c0, c1, c2, c3, v0, v1, v2, v3] = *field else { continue };
            let (tag, format) = (order.u16([t0, t1]), order.u16([f0, f1]));
            if !wanted(tag) || fields.iter().any(|field| field.tag == tag) {
                continue;
            }
            let count = usize::try_from(order.u32([c0, c1, c2, c3])).unwrap_or(usize::MAX);
            let length =
                width(format).and_then(|width| width.checked_mul(count)).filter(|length| *length <= VALUE);
            if let Some(length) = length {
                fields.push(TiffField { tag, format, length, inline: [v0, v1, v2, v3], start: 0 });
            }
        }
        // By offset, so that the file is read forwards.
        fields.sort_by_key(|field| order.u32(field.inline));
        for mut field in fields {
            field.start = self.values.len();
            let mut far = || {
                reader
                    .seek_to(order.u32(field.inline).into())
                    .and_then(|()| reader.append(field.length, &mut self.values))
            };
            if field.length > 0 && (field.length <= 4 || far().is_ok()) {
                self.list.push(field);
            }
        }
        Ok(())
    }

    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    fn field(&self, tag: u16) -> Option<&TiffField> {
        self.list.iter().find(|field| field.tag == tag)
    }

    fn value<'a>(&'a self, field: &'a TiffField) -> &'a [u8] {
        let far = || self.values.get(field.start..)?.get(..field.length);
        field.inline.get(..field.length).or_else(far).unwrap_or_default()
    }

    /// The bytes of a text, whether it is given as text, as bytes or, since Exif 3.0, as UTF-8 (format 129).
    pub fn text(&self, tag: u16) -> &[u8] {
        let field = self.field(tag).filter(|field| matches!(field.format, 1 | 2 | 7 | 129));
        field.map(|field| self.value(field)).unwrap_or_default()
    }

    /// Numerator and denominator of the first fraction of a field.
    pub fn fraction(&self, tag: u16) -> Option<(i64, i64)> {
        let field = self.field(tag)?;
        let (numerator, denominator) = self.value(field).split_first_chunk()?;
        let (numerator, denominator) =
            (self.order.u32(*numerator), self.order.u32(*denominator.first_chunk()?));
        match field.format {
            5 => Some((numerator.into(), denominator.into())),
            10 => Some((numerator.cast_signed().into(), denominator.cast_signed().into())),
            _ => None,
        }
    }
}

/// Bytes of one value of a format.
fn width(format: u16) -> Option<usize> {
    match format {
        1 | 2 | 6 | 7 | 129 => Some(1),
        3 | 8 => Some(2),
        4 | 9 | 11 | 13 => Some(4),
        5 | 10 | 12 => Some(8),
        _ => None,
    }
}
