//! The object on a line: its keys, and its values as they are written.

use serde::de::{Deserialize, Deserializer, MapAccess, Visitor};
use serde_json::value::RawValue;
use std::borrow::Cow;

/// The keys of an object and its values as written, in order.
pub(super) type Pairs<'a> = Vec<(Cow<'a, str>, &'a str)>;

/// Reads the object of a text. Nearly all are plain, which takes a pass over their bytes; serde reads the others.
pub(super) fn read<'a>(text: &'a str, pairs: &mut Pairs<'a>) -> serde_json::Result<()> {
    pairs.clear();
    if (Plain { text, at: 0 }).object(pairs).is_none() {
        pairs.clear();
        let object: Object<'a> = serde_json::from_str(text)?;
        pairs.extend(object.0.into_iter().map(|(key, value)| (key, value.get())));
    }
    Ok(())
}

/// A text that may be a plain object: no escapes, no exponents, nothing within anything. All of it is JSON, and what
/// is not plain is not judged.
struct Plain<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Plain<'a> {
    /// The whole text as an object of at least one value.
    fn object(&mut self, pairs: &mut Pairs<'a>) -> Option<()> {
        self.take(b'{')?;
        loop {
            self.skip_blanks();
            let start = self.at;
            self.string()?;
            let key = self.text.get(start + 1..self.at - 1)?;
            self.take(b':')?;
            self.skip_blanks();
            let start = self.at;
            self.value()?;
            pairs.push((Cow::Borrowed(key), self.text.get(start..self.at)?));
            self.skip_blanks();
            match self.next()? {
                b',' => {}
                b'}' => break,
                _ => return None,
            }
        }
        self.skip_blanks();
        (self.at == self.text.len()).then_some(())
    }

    fn value(&mut self) -> Option<()> {
        match self.peek()? {
            b'"' => self.string(),
            b'-' | b'0'..=b'9' => self.number(),
            b't' => self.word("true"),
            b'f' => self.word("false"),
            b'n' => self.word("null"),
            _ => None,
        }
    }

    fn string(&mut self) -> Option<()> {
        self.accept(b'"').then_some(())?;
        let rest = self.text.as_bytes().get(self.at..)?;
        self.at += rest.iter().position(|byte| matches!(byte, b'"' | b'\\' | ..0x20))?;
        self.accept(b'"').then_some(())
    }

    /// A number without exponent; the zero that one begins with has no digit after it.
    fn number(&mut self) -> Option<()> {
        self.accept(b'-');
        if !self.accept(b'0') {
            self.digits()?;
        }
        if self.accept(b'.') { self.digits() } else { Some(()) }
    }

    fn digits(&mut self) -> Option<()> {
        let start = self.at;
        while self.peek().is_some_and(|byte| byte.is_ascii_digit()) {
            self.at += 1;
        }
        (self.at > start).then_some(())
    }

    fn word(&mut self, word: &str) -> Option<()> {
        let found = self.text.get(self.at..)?.starts_with(word);
        self.at += word.len();
        found.then_some(())
    }

    /// A byte, whatever blanks stand before it.
    fn take(&mut self, byte: u8) -> Option<()> {
        self.skip_blanks();
        self.accept(byte).then_some(())
    }

    fn accept(&mut self, byte: u8) -> bool {
        let found = self.peek() == Some(byte);
        self.at += usize::from(found);
        found
    }

    fn skip_blanks(&mut self) {
        while matches!(self.peek(), Some(b' ' | b'\t' | b'\r' | b'\n')) {
            self.at += 1;
        }
    }

    fn next(&mut self) -> Option<u8> {
        let byte = self.peek()?;
        self.at += 1;
        Some(byte)
    }

    #[inline]
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }
}

/// The keys and unread values of an object, in order.
pub(crate) struct Object<'a>(pub Vec<(Cow<'a, str>, &'a RawValue)>);

impl<'de> Deserialize<'de> for Object<'de> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct Pairs;
        impl<'de> Visitor<'de> for Pairs {
            type Value = Object<'de>;

            fn expecting(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.write_str("an object")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut pairs = Vec::new();
                while let Some((Key(key), value)) = map.next_entry()? {
                    pairs.push((key, value));
                }
                Ok(Object(pairs))
            }
        }
        deserializer.deserialize_map(Pairs)
    }
}

#[derive(serde::Deserialize)]
#[serde(transparent)]
struct Key<'a>(#[serde(borrow)] Cow<'a, str>);

#[cfg(test)]
#[path = "object_tests.rs"]
mod tests;
