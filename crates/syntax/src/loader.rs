//! Where the texts of included files come from.

/// Brings the text of an included file.
///
/// The host decides what a path means; `kitlore-tables` has one for folders.
pub trait Loader {
    /// The text of `path` as written in `include "path"` in the source named `from`, with the name
    /// under which people see it. The name also tells whether two includes are the same file.
    ///
    /// # Errors
    /// Says in words for people why it cannot be had.
    fn load(&self, path: &str, from: &str) -> Result<Loaded, String>;
}

/// A text that a [`Loader`] brought.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loaded {
    /// The name people see, unique to the file.
    pub name: String,
    /// Its text, as read.
    pub text: String,
}

/// A loader for texts that include nothing: every `include` is a mistake.
#[derive(Debug, Clone, Copy, Default)]
pub struct NoIncludes;

impl Loader for NoIncludes {
    fn load(&self, _path: &str, _from: &str) -> Result<Loaded, String> {
        Err("this host reads no other files".to_owned())
    }
}
