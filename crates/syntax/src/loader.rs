//! Where the texts of included files come from.

/// Provides the text of an included file.
///
/// The host decides what a path means; `kitlore-tables` has one for folders.
pub trait Loader {
    /// The text of `path` as written in `include "path"` in the source named `from`, with the name
    /// shown to people. Two includes are the same file if their names are equal.
    ///
    /// # Errors
    /// The reason, as a sentence for people, why the text is not available.
    fn load(&self, path: &str, from: &str) -> Result<Loaded, String>;
}

/// A text that a [`Loader`] provided.
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
