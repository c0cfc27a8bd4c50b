//! Values as bytes, for temporary files. Numbers have a fixed width, since speed counts here.

use chrono::{Datelike, FixedOffset, NaiveDate, NaiveDateTime, NaiveTime, Timelike};
use kitlore_syntax::Amount;
use std::ffi::{OsStr, OsString};

/// A value that is written to a temporary file and read back by the same program.
pub(crate) trait Codec: Sized {
    fn encode(&self, to: &mut Vec<u8>);

    /// Takes a value from the front of `from`; none if `from` ends too early.
    fn decode(from: &mut &[u8]) -> Option<Self>;
}

macro_rules! numbers {
    ($($number:ty)*) => {$(
        impl Codec for $number {
            fn encode(&self, to: &mut Vec<u8>) {
                to.extend_from_slice(&self.to_le_bytes());
            }

            fn decode(from: &mut &[u8]) -> Option<Self> {
                let (bytes, rest) = from.split_first_chunk()?;
                *from = rest;
                Some(Self::from_le_bytes(*bytes))
            }
        }
    )*};
}

numbers!(u8 i32 u32 i64);

/// Encodes a struct field by field.
macro_rules! codec {
    ($of:ident { $($field:ident),* }) => {
        impl $crate::sort::Codec for $of {
            fn encode(&self, to: &mut Vec<u8>) {
                $($crate::sort::Codec::encode(&self.$field, to);)*
            }

            fn decode(from: &mut &[u8]) -> Option<Self> {
                Some(Self { $($field: $crate::sort::Codec::decode(from)?),* })
            }
        }
    };
}

pub(crate) use codec;

impl<T: Codec> Codec for Option<T> {
    fn encode(&self, to: &mut Vec<u8>) {
        to.push(self.is_some().into());
        if let Some(value) = self {
            value.encode(to);
        }
    }

    fn decode(from: &mut &[u8]) -> Option<Self> {
        Some(if u8::decode(from)? == 0 { None } else { Some(T::decode(from)?) })
    }
}

impl<T: Codec> Codec for Box<T> {
    fn encode(&self, to: &mut Vec<u8>) {
        T::encode(self, to);
    }

    fn decode(from: &mut &[u8]) -> Option<Self> {
        T::decode(from).map(Box::new)
    }
}

impl Codec for Amount {
    fn encode(&self, to: &mut Vec<u8>) {
        self.micros().encode(to);
    }

    fn decode(from: &mut &[u8]) -> Option<Self> {
        i64::decode(from).map(Self::from_micros)
    }
}

impl Codec for FixedOffset {
    fn encode(&self, to: &mut Vec<u8>) {
        self.local_minus_utc().encode(to);
    }

    fn decode(from: &mut &[u8]) -> Option<Self> {
        i32::decode(from).and_then(Self::east_opt)
    }
}

impl Codec for NaiveDateTime {
    fn encode(&self, to: &mut Vec<u8>) {
        self.num_days_from_ce().encode(to);
        self.num_seconds_from_midnight().encode(to);
        self.nanosecond().encode(to);
    }

    fn decode(from: &mut &[u8]) -> Option<Self> {
        let date = NaiveDate::from_num_days_from_ce_opt(i32::decode(from)?)?;
        let time = NaiveTime::from_num_seconds_from_midnight_opt(u32::decode(from)?, 0)?;
        // Leap seconds too, whichever second a host lets them follow.
        Some(date.and_time(time.with_nanosecond(u32::decode(from)?)?))
    }
}

impl Codec for Box<OsStr> {
    fn encode(&self, to: &mut Vec<u8>) {
        let bytes = self.as_encoded_bytes();
        u32::try_from(bytes.len()).unwrap_or(u32::MAX).encode(to);
        to.extend_from_slice(bytes);
    }

    fn decode(from: &mut &[u8]) -> Option<Self> {
        let length = u32::decode(from)?;
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

/// Where names are not bytes, one that is no Unicode text comes back with replacement characters. That is how it
/// is shown anyway; the only cost is that such a picture is read again.
#[cfg(not(unix))]
fn name(bytes: &[u8]) -> OsString {
    String::from_utf8_lossy(bytes).into_owned().into()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::exif::Measured;

    fn comes_back<T: Codec + PartialEq + std::fmt::Debug>(value: T) {
        let mut bytes = Vec::new();
        value.encode(&mut bytes);
        for length in 0..bytes.len() {
            assert_eq!(T::decode(&mut bytes.get(..length).unwrap_or_default()), None, "{value:?}");
        }
        bytes.push(1);
        let mut rest = bytes.as_slice();
        assert_eq!((T::decode(&mut rest), rest), (Some(value), [1].as_slice()));
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
    fn names_that_are_not_text_come_back() {
        use std::os::unix::ffi::OsStrExt;
        comes_back(Box::<OsStr>::from(OsStr::from_bytes(b"HRB\xff\xfe_0001.JPG")));
    }
}
