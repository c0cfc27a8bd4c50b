//! Files that include one another, without a disk.

use kitlore_syntax::{Loaded, Loader};

/// Files by name.
pub(crate) struct Files(pub(crate) &'static [(&'static str, &'static str)]);

impl Loader for Files {
    fn load(&self, path: &str, _from: &str) -> Result<Loaded, String> {
        let file = self.0.iter().find(|(name, _)| *name == path);
        let loaded =
            |(name, text): &(&str, &str)| Loaded { name: (*name).to_owned(), text: (*text).to_owned() };
        file.map(loaded).ok_or_else(|| "no such file".to_owned())
    }
}
