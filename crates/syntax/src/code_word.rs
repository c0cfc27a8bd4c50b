//! Codes: each crate has an enum of its own, and what carries a code of any of them carries its word.

use std::borrow::Cow;
use std::fmt;
use std::ops::Deref;

/// The word of a code: one of an enum of codes, or a host's own. No two enums share a word unless they mean the
/// same by it.
///
/// ```
/// use kitlore_syntax::CodeWord;
/// use kitlore_syntax::codes::Code;
/// let word = CodeWord::from(Code::MissingComma);
/// assert_eq!(word, "missing-comma");
/// assert_eq!(word, CodeWord::from("missing-comma".to_owned()));
/// ```
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CodeWord(Cow<'static, str>);

impl Deref for CodeWord {
    type Target = str;

    fn deref(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for CodeWord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self)
    }
}

impl From<&'static str> for CodeWord {
    fn from(word: &'static str) -> Self {
        Self(Cow::Borrowed(word))
    }
}

impl From<String> for CodeWord {
    fn from(word: String) -> Self {
        Self(Cow::Owned(word))
    }
}

impl PartialEq<str> for CodeWord {
    fn eq(&self, other: &str) -> bool {
        **self == *other
    }
}

impl PartialEq<&str> for CodeWord {
    fn eq(&self, other: &&str) -> bool {
        **self == **other
    }
}

/// An enum of codes: each once, with its word and what it means.
#[doc(hidden)]
#[macro_export]
macro_rules! code_enum {
    ($(#[$meta:meta])* pub enum $name:ident { $($variant:ident $word:literal: $about:literal,)* }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
        #[non_exhaustive]
        pub enum $name {
            $(#[doc = $about] $variant,)*
        }

        impl $name {
            /// Every code, by its word.
            pub const ALL: &[Self] = &[$(Self::$variant,)*];

            /// Its word, which stays the same in every version.
            pub const fn word(self) -> &'static str {
                match self {
                    $(Self::$variant => $word,)*
                }
            }

            /// What it means, for people.
            pub const fn about(self) -> &'static str {
                match self {
                    $(Self::$variant => $about,)*
                }
            }
        }

        impl ::std::fmt::Display for $name {
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result {
                f.write_str(self.word())
            }
        }

        impl From<$name> for $crate::CodeWord {
            fn from(code: $name) -> Self {
                Self::from(code.word())
            }
        }
    };
}
