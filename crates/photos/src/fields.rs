//! The wanted fields of a TIFF, of a raw file built like one, or of the Exif data within another form.
//!
//! Follows TIFF 6.0, section 2: a header, directories of 12-byte fields, and values that lie anywhere in the
//! file. Nothing but the directories and the wanted values is read.

use crate::container::Fault;
use crate::window::Window;
use std::io::{BufRead, Seek};

/// Make, Model.
const OF_PICTURE: [u16; 2] = [0x010F, 0x0110];
/// The directory of Exif fields.
const EXIF_POINTER: u16 = 0x8769;
/// Original time, its offset and sub-seconds; temperature, humidity, pressure, depth; body serial number;
/// lens make, model and serial number.
const OF_EXIF: [u16; 11] =
    [0x9003, 0x9011, 0x9291, 0x9400, 0x9401, 0x9402, 0x9403, 0xA431, 0xA433, 0xA434, 0xA435];

/// Directories of real files have some dozens of fields.
const FIELDS: u16 = 1_000;
/// Real values of these fields have some dozens of bytes.
const VALUE: usize = 4_096;

/// The order of the bytes of a number.
#[derive(Debug, Clone, Copy)]
struct Order {
    little: bool,
}

impl Order {
    fn u16(self, bytes: [u8; 2]) -> u16 {
        if self.little { u16::from_le_bytes(bytes) } else { u16::from_be_bytes(bytes) }
    }

    fn u32(self, bytes: [u8; 4]) -> u32 {
        if self.little { u32::from_le_bytes(bytes) } else { u32::from_be_bytes(bytes) }
    }
}

#[derive(Debug)]
struct Field {
    tag: u16,
    form: u16,
    /// Bytes of its value.
    length: usize,
    /// Its value, or where that lies if it is longer.
    here: [u8; 4],
    /// Where it was kept, if it is longer.
    kept: usize,
}

/// Fields by their numbers; of one that comes twice the first counts.
#[derive(Debug)]
pub(crate) struct Fields {
    order: Order,
    list: Vec<Field>,
    /// The values of more than four bytes.
    values: Vec<u8>,
}

impl Fields {
    /// Reads them from a TIFF's beginning. Also takes the headers of Olympus and Panasonic raw files, which
    /// differ in the magic number alone.
    pub fn read(window: &mut Window<impl BufRead + Seek>) -> Result<Self, Fault> {
        let order = match window.array()? {
            [b'I', b'I'] => Order { little: true },
            [b'M', b'M'] => Order { little: false },
            _ => return Err(Fault::NotAPicture),
        };
        if !matches!(order.u16(window.array()?), 42 | 0x4F52 | 0x5352 | 0x55) {
            return Err(Fault::NotAPicture);
        }
        let first = order.u32(window.array()?);
        let (list, values) = (Vec::with_capacity(16), Vec::with_capacity(256));
        let mut fields = Self { order, list, values };
        fields.directory(window, first, |tag| tag == EXIF_POINTER || OF_PICTURE.contains(&tag))?;
        if let Some(pointer) = fields.list.iter().position(|field| field.tag == EXIF_POINTER) {
            let place = order.u32(fields.list.remove(pointer).here);
            fields.directory(window, place, |tag| OF_EXIF.contains(&tag))?;
        }
        Ok(fields)
    }

    /// Takes the wanted fields of a directory. A field whose value lies outside of the file is left out.
    fn directory(
        &mut self,
        window: &mut Window<impl BufRead + Seek>,
        place: u32,
        wanted: impl Fn(u16) -> bool,
    ) -> Result<(), Fault> {
        let order = self.order;
        window.go(place.into())?;
        let count = order.u16(window.array()?);
        if count > FIELDS {
            return Err(Fault::Broken("its list of fields is endless".to_owned()));
        }
        let mut fields: Vec<Field> = Vec::with_capacity(OF_EXIF.len());
        let bytes = window.some(12 * usize::from(count))?;
        for field in bytes.chunks_exact(12) {
            let [t0, t1, f0, f1, c0, c1, c2, c3, v0, v1, v2, v3] = *field else { continue };
            let (tag, form) = (order.u16([t0, t1]), order.u16([f0, f1]));
            if !wanted(tag) || fields.iter().any(|field| field.tag == tag) {
                continue;
            }
            let count = usize::try_from(order.u32([c0, c1, c2, c3])).unwrap_or(usize::MAX);
            let length =
                width(form).and_then(|width| width.checked_mul(count)).filter(|length| *length <= VALUE);
            if let Some(length) = length {
                fields.push(Field { tag, form, length, here: [v0, v1, v2, v3], kept: 0 });
            }
        }
        // By place, so that the file is read forwards.
        fields.sort_by_key(|field| order.u32(field.here));
        for mut field in fields {
            field.kept = self.values.len();
            let mut far = || {
                window
                    .go(order.u32(field.here).into())
                    .and_then(|()| window.append(field.length, &mut self.values))
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

    fn field(&self, tag: u16) -> Option<&Field> {
        self.list.iter().find(|field| field.tag == tag)
    }

    fn value<'a>(&'a self, field: &'a Field) -> &'a [u8] {
        let far = || self.values.get(field.kept..)?.get(..field.length);
        field.here.get(..field.length).or_else(far).unwrap_or_default()
    }

    /// The bytes of a text, whether it is given as text, as bytes or, since Exif 3.0, as UTF-8 (form 129).
    pub fn text(&self, tag: u16) -> &[u8] {
        let field = self.field(tag).filter(|field| matches!(field.form, 1 | 2 | 7 | 129));
        field.map(|field| self.value(field)).unwrap_or_default()
    }

    /// What stands above and below the line of the first fraction of a field.
    pub fn fraction(&self, tag: u16) -> Option<(i64, i64)> {
        let field = self.field(tag)?;
        let (above, below) = self.value(field).split_first_chunk()?;
        let (above, below) = (self.order.u32(*above), self.order.u32(*below.first_chunk()?));
        match field.form {
            5 => Some((above.into(), below.into())),
            10 => Some((above.cast_signed().into(), below.cast_signed().into())),
            _ => None,
        }
    }
}

/// Bytes of one value of a form.
fn width(form: u16) -> Option<usize> {
    match form {
        1 | 2 | 6 | 7 | 129 => Some(1),
        3 | 8 => Some(2),
        4 | 9 | 11 | 13 => Some(4),
        5 | 10 | 12 => Some(8),
        _ => None,
    }
}
