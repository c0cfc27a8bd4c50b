//! Replacing a file by a new text of it.

use std::io::Write;
use std::path::Path;

/// Replaces a file in one step: a crash leaves the old text or the new one.
pub(crate) fn replace(path: &Path, text: &str) -> std::io::Result<()> {
    // If the path is a link, its target is replaced and the link stays.
    let path = path.canonicalize()?;
    let folder = path.parent().unwrap_or(Path::new("."));
    let permissions = std::fs::metadata(&path)?.permissions();
    let mut new = tempfile::NamedTempFile::new_in(folder)?;
    new.write_all(text.as_bytes())?;
    new.as_file().set_permissions(permissions)?;
    new.as_file().sync_all()?;
    new.persist(&path).map_err(|error| error.error)?;
    // The new name is safe only once the folder is on disk. Where a folder cannot be opened as a file, the system
    // takes care of that itself.
    if let Ok(folder) = std::fs::File::open(folder) {
        let _ = folder.sync_all();
    }
    Ok(())
}
