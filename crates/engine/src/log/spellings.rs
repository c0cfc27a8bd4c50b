//! Numbers of names as spelled: the one look-up that every row of a log needs several times.

use crate::names::Map;
use smol_str::SmolStr;
use std::hash::{Hash, Hasher};

/// Numbers by spelling.
#[derive(Debug, Clone, Default)]
pub(crate) struct Spellings {
    short: Map<ShortName, u32>,
    long: Map<SmolStr, u32>,
}

impl Spellings {
    /// The number of a spelling.
    #[inline]
    pub fn get(&self, spelling: &str) -> Option<u32> {
        match ShortName::of(spelling) {
            Some(short) => self.short.get(&short).copied(),
            None => self.long.get(spelling).copied(),
        }
    }

    pub fn insert(&mut self, spelling: &str, number: u32) {
        match ShortName::of(spelling) {
            Some(short) => self.short.insert(short, number),
            None => self.long.insert(spelling.into(), number),
        };
    }
}

/// A name of up to 16 bytes, as nearly all have: its first and last bytes as numbers, which with its length are
/// all of it. Compared in one go, where a text is compared byte by byte.
///
/// ```
/// use kitlore_engine::columns::ShortName;
/// assert_eq!(ShortName::of("dust"), ShortName::of("dust"));
/// assert_ne!(ShortName::of("dust"), ShortName::of("dusk"));
/// assert_eq!(ShortName::of("a name of 17 byte"), None);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShortName {
    first: u64,
    last: u64,
    length: u8,
}

impl Hash for ShortName {
    #[inline]
    fn hash<H: Hasher>(&self, state: &mut H) {
        state.write_u128((u128::from(self.first) << 64) | u128::from(self.last));
    }
}

impl ShortName {
    /// Of a name; `None` for a longer one.
    #[inline]
    pub fn of(name: &str) -> Option<Self> {
        let bytes = name.as_bytes();
        let (first, last) = match bytes {
            [] => (0, 0),
            [one] => (u64::from(*one), 0),
            [one, two] => (u64::from(*one), u64::from(*two)),
            [one, two, three] => (u64::from(*one), u64::from(u16::from_le_bytes([*two, *three]))),
            _ if bytes.len() < 8 => {
                let four = |bytes: &[u8; 4]| u64::from(u32::from_le_bytes(*bytes));
                (four(bytes.first_chunk()?), four(bytes.last_chunk()?))
            }
            _ if bytes.len() <= 16 => {
                (u64::from_le_bytes(*bytes.first_chunk()?), u64::from_le_bytes(*bytes.last_chunk()?))
            }
            _ => return None,
        };
        Some(Self { first, last, length: u8::try_from(bytes.len()).ok()? })
    }
}

#[cfg(test)]
#[path = "spellings_tests.rs"]
mod tests;
