//! What a picture says about itself: when it was taken, by which body and lens, in what surroundings.

use crate::container::{Fault, exif_of};
use chrono::{FixedOffset, NaiveDateTime, NaiveTime, Timelike};
use exif::{Context, Exif, In, Tag, Value};
use kitlore_engine::Problem;
use kitlore_syntax::Amount;
use std::fs::File;
use std::io::{BufRead, BufReader, Seek};
use std::path::Path;

/// A body or a lens as pictures name it. Texts are trimmed; an empty one is not known.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
pub struct Gear {
    /// Who made it.
    pub make: String,
    /// Its model.
    pub model: String,
    /// Its serial number; all zeros, as some bodies write for a lens they do not know, are none.
    pub serial: String,
}

impl Gear {
    /// Whether nothing is known.
    pub fn is_empty(&self) -> bool {
        self.model.is_empty() && self.serial.is_empty()
    }
}

/// What a picture's body measured around it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Measured {
    /// Air (under water: water) temperature in degrees Celsius.
    pub temperature: Option<Amount>,
    /// Relative humidity in percent.
    pub humidity: Option<Amount>,
    /// Air pressure in hectopascal.
    pub pressure: Option<Amount>,
    /// Depth below the water's surface in metres; above it negative.
    pub depth: Option<Amount>,
}

/// The metadata of one picture, by the Exif standard (CIPA DC-008).
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Picture {
    /// When it was taken, by the body's clock (`DateTimeOriginal`, with `SubSecTimeOriginal`).
    pub taken: Option<NaiveDateTime>,
    /// The offset of that clock from UTC (`OffsetTimeOriginal`).
    pub offset: Option<FixedOffset>,
    /// The body.
    pub body: Gear,
    /// The lens.
    pub lens: Gear,
    /// What was measured.
    pub measured: Measured,
}

impl Picture {
    /// Reads the metadata of a file, only the bytes they need; the file is never written to.
    ///
    /// # Errors
    /// `unreadable-picture`, `not-a-picture`, `broken-picture`, `no-metadata`; see [`crate::codes`].
    ///
    /// ```no_run
    /// let picture = kitlore_photos::Picture::read("IMG_0001.JPG".as_ref())?;
    /// println!("{:?} {}", picture.taken, picture.body.model);
    /// # Ok::<(), kitlore_engine::Problem>(())
    /// ```
    pub fn read(path: &Path) -> Result<Self, Problem> {
        File::open(path)
            .map_err(Fault::Io)
            .and_then(|file| exif_of(BufReader::with_capacity(16 * 1024, file)))
            .map(|exif| Self::of(&exif))
            .map_err(|fault| problem(path, &fault))
    }

    /// Reads the metadata of a picture in memory, or anywhere that can be read; `name` is for messages.
    ///
    /// # Errors
    /// As [`Picture::read`].
    ///
    /// ```
    /// use kitlore_photos::Picture;
    /// let wrong = Picture::from_reader("notes.jpg".as_ref(), std::io::Cursor::new(b"not a picture"));
    /// assert_eq!(wrong.unwrap_err().code, "not-a-picture");
    /// ```
    pub fn from_reader(name: &Path, reader: impl BufRead + Seek) -> Result<Self, Problem> {
        exif_of(reader).map(|exif| Self::of(&exif)).map_err(|fault| problem(name, &fault))
    }

    fn of(exif: &Exif) -> Self {
        let text = |tag| text(exif, tag);
        let gear = |make, model, serial| Gear {
            make: text(make),
            model: text(model),
            serial: Some(text(serial)).filter(|serial| !is_no_serial(serial)).unwrap_or_default(),
        };
        let measured = Measured {
            temperature: number(exif, Tag(Context::Exif, 0x9400)),
            humidity: number(exif, Tag(Context::Exif, 0x9401)),
            pressure: number(exif, Tag(Context::Exif, 0x9402)),
            depth: number(exif, Tag(Context::Exif, 0x9403)),
        };
        Self {
            taken: time(&text(Tag::DateTimeOriginal), &text(Tag::SubSecTimeOriginal)),
            offset: text(Tag::OffsetTimeOriginal).parse().ok(),
            body: gear(Tag::Make, Tag::Model, Tag::BodySerialNumber),
            lens: gear(Tag::LensMake, Tag::LensModel, Tag::LensSerialNumber),
            measured: if measured.is_unset() { Measured::default() } else { measured },
        }
    }
}

impl Measured {
    /// Some bodies without gauges write all fields as 0. One zero alone may be meant.
    fn is_unset(&self) -> bool {
        let given = [self.temperature, self.humidity, self.pressure, self.depth];
        let given: Vec<Amount> = given.into_iter().flatten().collect();
        self.pressure == Some(Amount::ZERO)
            || given.len() > 1 && given.iter().all(|value| *value == Amount::ZERO)
    }
}

fn problem(path: &Path, fault: &Fault) -> Problem {
    let code = match fault {
        Fault::Io(_) => "unreadable-picture",
        Fault::NotAPicture => "not-a-picture",
        Fault::Broken(_) => "broken-picture",
        Fault::NoMetadata => "no-metadata",
    };
    Problem::new(code, format!("`{}` {fault}", path.display()))
}

fn is_no_serial(serial: &str) -> bool {
    serial.chars().all(|c| matches!(c, '0' | ' ' | '-' | '.'))
}

/// A text field up to its first NUL, trimmed; as Latin-1 where it is no UTF-8.
fn text(exif: &Exif, tag: Tag) -> String {
    let Some(field) = exif.get_field(tag, In::PRIMARY) else {
        return String::new();
    };
    let bytes = match &field.value {
        Value::Ascii(texts) => texts.first().map(Vec::as_slice).unwrap_or_default(),
        Value::Unknown(129, count, at) => utf8_field(exif, *count, *at).unwrap_or_default(),
        Value::Byte(bytes) | Value::Undefined(bytes, _) => bytes,
        _ => &[],
    };
    let bytes = bytes.split(|byte| *byte == 0).next().unwrap_or_default();
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text.to_owned(),
        Err(_) => bytes.iter().map(|byte| char::from(*byte)).collect(),
    };
    let text = text.trim();
    // What holds controls is no text, whatever its form says.
    if text.chars().any(char::is_control) { String::new() } else { text.to_owned() }
}

/// The bytes of a UTF-8 field of Exif 3.0, a form that the Exif crate hands on undecoded.
fn utf8_field(exif: &Exif, count: u32, at: u32) -> Option<&[u8]> {
    let data = exif.buf();
    let (count, at) = (count as usize, at as usize);
    let place = data.get(at..at.checked_add(4)?)?;
    if count <= 4 {
        return place.get(..count);
    }
    let place = *place.first_chunk::<4>()?;
    let place = if exif.little_endian() { u32::from_le_bytes(place) } else { u32::from_be_bytes(place) };
    data.get(place as usize..(place as usize).checked_add(count)?)
}

/// A rational field in millionths; a denominator of 0 or FFFFFFFF says that the value is not known.
fn number(exif: &Exif, tag: Tag) -> Option<Amount> {
    let (above, below) = match &exif.get_field(tag, In::PRIMARY)?.value {
        Value::Rational(list) => list.first().map(|r| (i64::from(r.num), i64::from(r.denom)))?,
        Value::SRational(list) => list.first().map(|r| (i64::from(r.num), i64::from(r.denom)))?,
        _ => return None,
    };
    if matches!(below, 0 | -1 | 0xFFFF_FFFF) {
        return None;
    }
    Some(Amount::from_micros(above.checked_mul(1_000_000)?.checked_div(below)?))
}

/// `2026:02:07 09:12:03` and the digits after its point. Blank and all-zero times are none.
fn time(text: &str, fraction: &str) -> Option<NaiveDateTime> {
    let at = NaiveDateTime::parse_from_str(text.get(..19)?, "%Y:%m:%d %H:%M:%S").ok()?;
    if !kitlore_syntax::in_range(at.date()) {
        return None;
    }
    let digits: String = fraction.chars().take_while(char::is_ascii_digit).take(9).collect();
    let nanos = format!("{digits:0<9}").parse().unwrap_or(0);
    let time = NaiveTime::from_num_seconds_from_midnight_opt(at.time().num_seconds_from_midnight(), nanos)?;
    Some(at.date().and_time(time))
}
