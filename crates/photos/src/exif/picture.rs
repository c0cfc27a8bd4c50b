//! What a picture says about itself: when it was taken, with which body and lens, in what conditions.

use super::container::fields_of;
use super::error::MetadataError;
use super::tiff::TiffFields;
use chrono::format::{Item, Numeric, Pad, Parsed};
use chrono::{FixedOffset, NaiveDateTime, NaiveTime, Timelike};
use kitlore_engine::{Argument, Problem};
use kitlore_syntax::Amount;
use std::borrow::Cow;
use std::fs::File;
use std::io::{BufRead, BufReader, Seek};
use std::path::Path;

/// A body or a lens as pictures name it. Texts are trimmed; an empty one means that it is not given.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default, PartialOrd, Ord)]
pub struct Gear {
    /// Its maker.
    pub make: String,
    /// Its model.
    pub model: String,
    /// Its serial number. All zeros, which some bodies write for a lens they do not recognise, count as none.
    pub serial: String,
}

impl Gear {
    /// Whether the picture names neither model nor serial number.
    pub fn is_empty(&self) -> bool {
        self.model.is_empty() && self.serial.is_empty()
    }
}

/// What the body measured when the picture was taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub struct Measured {
    /// Temperature of the air, or of the water below the surface, in degrees Celsius.
    pub temperature: Option<Amount>,
    /// Relative humidity in percent.
    pub humidity: Option<Amount>,
    /// Air pressure in hectopascal.
    pub pressure: Option<Amount>,
    /// Depth below the water's surface in metres; negative above it.
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
    /// What the body measured.
    pub measured: Measured,
}

/// The size of one read. In most pictures the first one holds the wanted fields, before makers' notes and thumbnails.
const READ: usize = 4 * 1024;

impl Picture {
    /// Reads the metadata of a file, and no more of it than they need. The file is never written to.
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
        FileReader::default().read(path)
    }

    /// Reads the metadata of a picture in memory, or from any other reader; `name` is for messages.
    ///
    /// # Errors
    /// As [`Picture::read`].
    ///
    /// ```
    /// use kitlore_photos::Picture;
    /// let error = Picture::from_reader("notes.jpg".as_ref(), std::io::Cursor::new(b"not a picture"));
    /// assert_eq!(error.unwrap_err().code, "not-a-picture");
    /// ```
    pub fn from_reader(name: &Path, reader: impl BufRead + Seek) -> Result<Self, Problem> {
        fields_of(reader).map(|fields| Self::of(&fields)).map_err(|error| problem(name, &error))
    }

    fn of(fields: &TiffFields) -> Self {
        let text = |tag| text(fields.text(tag));
        let gear = |make, model, serial| Gear {
            make: text(make).into_owned(),
            model: text(model).into_owned(),
            serial: Some(text(serial))
                .filter(|serial| !is_no_serial(serial))
                .unwrap_or_default()
                .into_owned(),
        };
        let number = |tag| fields.fraction(tag).and_then(number);
        let measured = Measured {
            temperature: number(0x9400),
            humidity: number(0x9401),
            pressure: number(0x9402),
            depth: number(0x9403),
        };
        Self {
            taken: time(&text(0x9003), &text(0x9291)),
            offset: text(0x9011).parse().ok(),
            body: gear(0x010F, 0x0110, 0xA431),
            lens: gear(0xA433, 0xA434, 0xA435),
            measured: if measured.is_unset() { Measured::default() } else { measured },
        }
    }
}

/// Reads one file after another with the same buffer.
#[derive(Default)]
pub(crate) struct FileReader {
    last: Option<BufReader<File>>,
}

impl FileReader {
    /// As [`Picture::read`].
    pub fn read(&mut self, path: &Path) -> Result<Picture, Problem> {
        let fields = self.open(path).map_err(MetadataError::Io).and_then(fields_of);
        fields.map(|fields| Picture::of(&fields)).map_err(|error| problem(path, &error))
    }

    fn open(&mut self, path: &Path) -> std::io::Result<&mut BufReader<File>> {
        let file = File::open(path)?;
        match &mut self.last {
            Some(last) => {
                *last.get_mut() = file;
                // This also drops what is buffered of the other file.
                last.rewind()?;
                Ok(last)
            }
            none => Ok(none.insert(BufReader::with_capacity(READ, file))),
        }
    }
}

impl Measured {
    /// Some bodies without sensors write 0 in every field. A single 0 may be a true value.
    fn is_unset(&self) -> bool {
        let given = [self.temperature, self.humidity, self.pressure, self.depth];
        let given: Vec<Amount> = given.into_iter().flatten().collect();
        self.pressure == Some(Amount::ZERO)
            || given.len() > 1 && given.iter().all(|value| *value == Amount::ZERO)
    }
}

fn problem(path: &Path, error: &MetadataError) -> Problem {
    let problem = Problem::new(error.code(), "`{file}` {error}").with("file", path.display().to_string());
    problem.with("error", Argument::Words(error.to_string().into()))
}

fn is_no_serial(serial: &str) -> bool {
    serial.chars().all(|c| matches!(c, '0' | ' ' | '-' | '.'))
}

/// A text up to its first NUL, trimmed; read as Latin-1 where it is not UTF-8.
fn text(bytes: &[u8]) -> Cow<'_, str> {
    let bytes = bytes.split(|byte| *byte == 0).next().unwrap_or_default();
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => Cow::Borrowed(text.trim()),
        Err(_) => {
            Cow::Owned(bytes.iter().map(|byte| char::from(*byte)).collect::<String>().trim().to_owned())
        }
    };
    // A value with control characters is no text, whatever its format says.
    if text.chars().any(char::is_control) { Cow::default() } else { text }
}

/// A fraction; a denominator of 0 or FFFFFFFF says that the value is unknown.
fn number((numerator, denominator): (i64, i64)) -> Option<Amount> {
    if matches!(denominator, 0 | -1 | 0xFFFF_FFFF) {
        return None;
    }
    Some(Amount::from_micros(numerator.checked_mul(1_000_000)?.checked_div(denominator)?))
}

/// `2026:02:07 09:12:03`. A ready-made pattern: parsing a pattern takes longer than parsing a time with it.
const TIME: [Item<'_>; 11] = {
    const fn number(of: Numeric) -> Item<'static> {
        Item::Numeric(of, Pad::Zero)
    }
    [
        number(Numeric::Year),
        Item::Literal(":"),
        number(Numeric::Month),
        Item::Literal(":"),
        number(Numeric::Day),
        Item::Space(" "),
        number(Numeric::Hour),
        Item::Literal(":"),
        number(Numeric::Minute),
        Item::Literal(":"),
        number(Numeric::Second),
    ]
};

/// A time and the digits of its fraction. Blank and all-zero times are none.
fn time(text: &str, fraction: &str) -> Option<NaiveDateTime> {
    let mut parsed = Parsed::new();
    chrono::format::parse(&mut parsed, text.get(..19)?, TIME.iter()).ok()?;
    let at = parsed.to_naive_datetime_with_offset(0).ok()?;
    if !kitlore_syntax::in_range(at.date()) {
        return None;
    }
    let digits = fraction.bytes().take_while(u8::is_ascii_digit);
    let nanos = digits
        .chain(std::iter::repeat(b'0'))
        .take(9)
        .fold(0, |nanos, digit| 10 * nanos + u32::from(digit - b'0'));
    let time = NaiveTime::from_num_seconds_from_midnight_opt(at.time().num_seconds_from_midnight(), nanos)?;
    Some(at.date().and_time(time))
}
