//! A TIFF, or a raw file built like one, trimmed to the fields that are wanted.
//!
//! Follows TIFF 6.0, section 2: a header, directories of 12-byte fields, and values that lie anywhere in the
//! file. The result is a small TIFF with the same values, so that one reader decodes them all.

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
const VALUE: u64 = 4_096;

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

    fn put_u16(self, into: &mut Vec<u8>, value: u16) {
        into.extend(if self.little { value.to_le_bytes() } else { value.to_be_bytes() });
    }

    fn put_u32(self, into: &mut Vec<u8>, value: u32) {
        into.extend(if self.little { value.to_le_bytes() } else { value.to_be_bytes() });
    }
}

struct Field {
    tag: u16,
    form: u16,
    count: u32,
    /// Of the length that form and count say, or the four bytes of the field itself.
    value: Vec<u8>,
}

/// The trimmed file. Also takes the headers of Olympus and Panasonic raw files, which differ in the magic
/// number alone.
pub(crate) fn trimmed(window: &mut Window<impl BufRead + Seek>) -> Result<Vec<u8>, Fault> {
    let order = Order { little: window.array()? == *b"II" };
    if !matches!(order.u16(window.array()?), 42 | 0x4F52 | 0x5352 | 0x55) {
        return Err(Fault::NotAPicture);
    }
    let first = order.u32(window.array()?);
    let mut picture =
        directory(window, order, first, |tag| tag == EXIF_POINTER || OF_PICTURE.contains(&tag))?;
    let pointer = picture.iter().position(|field| field.tag == EXIF_POINTER);
    let exif = match pointer.map(|at| picture.remove(at)) {
        Some(pointer) => {
            let place = pointer.value.first_chunk().map(|bytes| order.u32(*bytes)).unwrap_or_default();
            directory(window, order, place, |tag| OF_EXIF.contains(&tag))?
        }
        None => Vec::new(),
    };
    if picture.is_empty() && exif.is_empty() {
        return Err(Fault::NoMetadata);
    }
    Ok(written(order, &picture, &exif))
}

/// The wanted fields of a directory. A field whose value lies outside of the file is left out.
fn directory(
    window: &mut Window<impl BufRead + Seek>,
    order: Order,
    place: u32,
    wanted: impl Fn(u16) -> bool,
) -> Result<Vec<Field>, Fault> {
    window.go(place.into())?;
    let count = order.u16(window.array()?);
    if count > FIELDS {
        return Err(Fault::Broken("its list of fields is endless".to_owned()));
    }
    let mut fields: Vec<Field> = Vec::new();
    for _ in 0..count {
        let tag = order.u16(window.array()?);
        let form = order.u16(window.array()?);
        let count = order.u32(window.array()?);
        let value: [u8; 4] = window.array()?;
        // Of a field that comes twice the first counts, as in the Exif crate.
        if wanted(tag) && fields.iter().all(|field| field.tag != tag) {
            fields.push(Field { tag, form, count, value: value.to_vec() });
        }
    }
    let far = |field: &Field| width(field.form).map(|width| width * u64::from(field.count));
    fields.retain(|field| far(field).is_some_and(|length| length <= VALUE));
    // By place, so that the file is read forwards.
    let place_of =
        |field: &Field| field.value.first_chunk().map(|bytes| order.u32(*bytes)).unwrap_or_default();
    fields.sort_by_key(place_of);
    for field in &mut fields {
        let length = far(field).unwrap_or_default();
        if length > 4 {
            let value = window.go(place_of(field).into()).and_then(|()| window.bytes(length));
            field.value = value.unwrap_or_default();
        }
    }
    fields.retain(|field| !field.value.is_empty());
    fields.sort_by_key(|field| field.tag);
    Ok(fields)
}

/// Bytes of one value of a form; texts of Exif 3.0 in UTF-8 have the form 129.
fn width(form: u16) -> Option<u64> {
    match form {
        1 | 2 | 6 | 7 | 129 => Some(1),
        3 | 8 => Some(2),
        4 | 9 | 11 | 13 => Some(4),
        5 | 10 | 12 => Some(8),
        _ => None,
    }
}

fn written(order: Order, picture: &[Field], exif: &[Field]) -> Vec<u8> {
    let size = |fields: usize| 2 + 12 * fields + 4;
    let exif_at = 8 + size(picture.len() + 1);
    let values_at = exif_at + size(exif.len());
    let mut file = if order.little { b"II\x2A\0".to_vec() } else { b"MM\0\x2A".to_vec() };
    order.put_u32(&mut file, 8);
    let mut values = Vec::new();
    let mut put = |file: &mut Vec<u8>, field: &Field| {
        order.put_u16(file, field.tag);
        order.put_u16(file, if field.form == 129 { 2 } else { field.form });
        order.put_u32(file, field.count);
        if field.value.len() > 4 {
            order.put_u32(file, narrow(values_at + values.len()));
            values.extend_from_slice(&field.value);
        } else {
            file.extend_from_slice(&field.value);
        }
    };
    order.put_u16(&mut file, narrow(picture.len() + 1) as u16);
    picture.iter().for_each(|field| put(&mut file, field));
    let mut place = Vec::new();
    order.put_u32(&mut place, narrow(exif_at));
    put(&mut file, &Field { tag: EXIF_POINTER, form: 4, count: 1, value: place });
    order.put_u32(&mut file, 0);
    order.put_u16(&mut file, narrow(exif.len()) as u16);
    exif.iter().for_each(|field| put(&mut file, field));
    order.put_u32(&mut file, 0);
    file.extend(values);
    file
}

/// Bounded by [`VALUE`] and the number of wanted fields.
fn narrow(length: usize) -> u32 {
    u32::try_from(length).unwrap_or(u32::MAX)
}
