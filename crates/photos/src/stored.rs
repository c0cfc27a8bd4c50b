//! Values as bytes, for temporary files: of fixed width as far as they are numbers, since speed counts here.

use crate::metadata::Measured;
use chrono::{Datelike, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, Timelike};
use kitlore_syntax::Amount;
use std::ffi::{OsStr, OsString};

/// What is written to a temporary file and read back by the same program.
pub(crate) trait Stored: Sized {
    fn write(&self, to: &mut Vec<u8>);

    /// Takes it from the start of bytes. None where these end too early.
    fn read(from: &mut &[u8]) -> Option<Self>;
}

macro_rules! numbers {
    ($($number:ty)*) => {$(
        impl Stored for $number {
            fn write(&self, to: &mut Vec<u8>) {
                to.extend_from_slice(&self.to_le_bytes());
            }

            fn read(from: &mut &[u8]) -> Option<Self> {
                let (bytes, rest) = from.split_first_chunk()?;
                *from = rest;
                Some(Self::from_le_bytes(*bytes))
            }
        }
    )*};
}

numbers!(u8 i32 u32 i64);

/// A struct is stored field by field.
macro_rules! fields {
    ($of:ident { $($field:ident),* }) => {
        impl $crate::stored::Stored for $of {
            fn write(&self, to: &mut Vec<u8>) {
                $($crate::stored::Stored::write(&self.$field, to);)*
            }

            fn read(from: &mut &[u8]) -> Option<Self> {
                Some(Self { $($field: $crate::stored::Stored::read(from)?),* })
            }
        }
    };
}

pub(crate) use fields;

fields!(Measured { temperature, humidity, pressure, depth });

impl<T: Stored> Stored for Option<T> {
    fn write(&self, to: &mut Vec<u8>) {
        to.push(self.is_some().into());
        if let Some(value) = self {
            value.write(to);
        }
    }

    fn read(from: &mut &[u8]) -> Option<Self> {
        Some(if u8::read(from)? == 0 { None } else { Some(T::read(from)?) })
    }
}

impl<T: Stored> Stored for Box<T> {
    fn write(&self, to: &mut Vec<u8>) {
        T::write(self, to);
    }

    fn read(from: &mut &[u8]) -> Option<Self> {
        T::read(from).map(Box::new)
    }
}

impl Stored for Amount {
    fn write(&self, to: &mut Vec<u8>) {
        self.micros().write(to);
    }

    fn read(from: &mut &[u8]) -> Option<Self> {
        i64::read(from).map(Self::from_micros)
    }
}

impl Stored for FixedOffset {
    fn write(&self, to: &mut Vec<u8>) {
        self.local_minus_utc().write(to);
    }

    fn read(from: &mut &[u8]) -> Option<Self> {
        i32::read(from).and_then(Self::east_opt)
    }
}

impl Stored for NaiveDateTime {
    fn write(&self, to: &mut Vec<u8>) {
        self.num_days_from_ce().write(to);
        self.num_seconds_from_midnight().write(to);
        self.nanosecond().write(to);
    }

    fn read(from: &mut &[u8]) -> Option<Self> {
        let date = NaiveDate::from_num_days_from_ce_opt(i32::read(from)?)?;
        let time = NaiveTime::from_num_seconds_from_midnight_opt(u32::read(from)?, 0)?;
        // Of a leap second too, whichever second a host lets it follow.
        Some(date.and_time(time.with_nanosecond(u32::read(from)?)?))
    }
}

impl Stored for Box<OsStr> {
    fn write(&self, to: &mut Vec<u8>) {
        let bytes = self.as_encoded_bytes();
        u32::try_from(bytes.len()).unwrap_or(u32::MAX).write(to);
        to.extend_from_slice(bytes);
    }

    fn read(from: &mut &[u8]) -> Option<Self> {
        let length = u32::read(from)?;
        let (bytes, rest) = from.split_at_checked(length as usize)?;
        *from = rest;
        Some(name(bytes).into_boxed_os_str())
    }
}

#[cfg(unix)]
fn name(bytes: &[u8]) -> OsString {
    use std::os::unix::ffi::OsStrExt;
    OsStr::from_bytes(bytes).to_owned()
}

/// Where names are no bytes, those that are no text come back with a sign in place of what is none: shown so
/// anyhow, and all that it costs is to read such a picture again.
#[cfg(not(unix))]
fn name(bytes: &[u8]) -> OsString {
    String::from_utf8_lossy(bytes).into_owned().into()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn comes_back<T: Stored + PartialEq + std::fmt::Debug>(value: T) {
        let mut bytes = Vec::new();
        value.write(&mut bytes);
        for length in 0..bytes.len() {
            assert_eq!(T::read(&mut bytes.get(..length).unwrap_or_default()), None, "{value:?}");
        }
        bytes.push(1);
        let mut rest = bytes.as_slice();
        assert_eq!((T::read(&mut rest), rest), (Some(value), [1].as_slice()));
    }

    #[test]
    fn what_is_written_comes_back_and_needs_all_its_bytes() {
        comes_back(-3_i32);
        comes_back(u32::MAX);
        for seconds in [-86_399, -1, 0, 20_700, 86_399] {
            comes_back(FixedOffset::east_opt(seconds));
        }
        let date = |year, month, day| NaiveDate::from_ymd_opt(year, month, day).unwrap_or_default();
        for date in [date(1, 1, 1), date(1969, 12, 31), date(2024, 2, 29), date(9999, 12, 31)] {
            for (second, nano) in [(0, 0), (1, 999_999_999), (59, 1_999_999_999)] {
                let time = NaiveTime::from_hms_nano_opt(23, 59, second, nano).unwrap_or_default();
                comes_back(date.and_time(time));
                // As a host may make it.
                comes_back(date.and_time(NaiveTime::MIN.with_nanosecond(nano).unwrap_or_default()));
            }
        }
        let amount = |micros| Some(Amount::from_micros(micros));
        let (temperature, depth) = (amount(-1_500_000), amount(i64::MAX));
        comes_back(Some(Box::new(Measured { temperature, humidity: None, pressure: amount(0), depth })));
        comes_back(None::<Box<Measured>>);
        for name in ["", "HRB_0001.JPG", "Möwe ☂.jpg", "a\0b"] {
            comes_back(Box::<OsStr>::from(OsStr::new(name)));
        }
    }

    #[cfg(unix)]
    #[test]
    fn names_that_are_no_text_come_back() {
        use std::os::unix::ffi::OsStrExt;
        comes_back(Box::<OsStr>::from(OsStr::from_bytes(b"HRB\xff\xfe_0001.JPG")));
    }
}
