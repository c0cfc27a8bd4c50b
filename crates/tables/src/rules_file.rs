//! Rules from a folder: the first file and what it includes, and nothing outside.

use kitlore_engine::Program;
use kitlore_syntax::{Diagnostics, Loaded, Loader};
use std::io::Read;
use std::path::{Component, Path, PathBuf};

/// Bytes of one rule file.
const FILE_BYTES: u64 = 4 << 20;

/// Why rules cannot be had from a file.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum RulesFileError {
    /// The first file cannot be read.
    #[error("cannot read the rules: {message}")]
    Unreadable {
        /// Which file and why.
        message: String,
    },
    /// The rules have mistakes.
    #[error("{0}")]
    Mistakes(Box<Diagnostics>),
}

impl RulesFileError {
    /// The stable word for this kind of error.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Unreadable { .. } => "cannot-read",
            Self::Mistakes(_) => "mistakes-in-rules",
        }
    }
}

/// Reads a rule file with all it includes, and compiles it. Files are named relative to the folder of
/// the first, so that each has one name.
///
/// # Errors
/// The file cannot be read, or the rules have mistakes.
///
/// ```
/// let folder = tempfile::tempdir()?;
/// let file = folder.path().join("house.lore");
/// std::fs::write(&file, "include \"kit/bags.lore\"\nfor cameras\n after 90 days, inspect sensor\n")?;
/// std::fs::create_dir(folder.path().join("kit"))?;
/// std::fs::write(folder.path().join("kit/bags.lore"), "for bags\n every year, wash bag\n")?;
/// let program = kitlore_tables::load_rules(&file)?;
/// assert!(program.knows_event("wash bag"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn load_rules(path: impl AsRef<Path>) -> Result<Program, RulesFileError> {
    let (loader, first) = FolderLoader::open(path)?;
    Program::parse_with(&first.name, &first.text, &loader)
        .map_err(|mistakes| RulesFileError::Mistakes(Box::new(mistakes)))
}

/// Brings included files from one folder and those below it.
///
/// An `include` is taken relative to the file it stands in. Refused are absolute paths, paths that
/// leave the folder (also by symbolic links), and spellings that work only where case does not matter.
#[derive(Debug, Clone)]
pub struct FolderLoader {
    /// The folder, without symbolic links.
    folder: PathBuf,
}

impl FolderLoader {
    /// The loader for the folder of a first file, and that file.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn open(path: impl AsRef<Path>) -> Result<(Self, Loaded), RulesFileError> {
        let path = path.as_ref();
        let unreadable = |message: String| RulesFileError::Unreadable { message };
        let shown = path.display();
        let whole = path.canonicalize().map_err(|error| unreadable(format!("`{shown}`: {error}")))?;
        // The folder is the one that was named, also where the file in it is a link to elsewhere.
        let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let folder = parent.canonicalize().map_err(|error| unreadable(format!("`{shown}`: {error}")))?;
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned());
        let name = name.ok_or_else(|| unreadable(format!("`{shown}` is not a file")))?;
        let text = read_text(&whole).map_err(|why| unreadable(format!("`{shown}` {why}")))?;
        Ok((Self { folder }, Loaded { name, text }))
    }

    /// The path below the folder, `..` and `.` worked out; an error for people where it leaves.
    fn below(&self, path: &str, from: &str) -> Result<Vec<String>, String> {
        if path.contains('\\') {
            return Err("has a `\\`; write `/` between folders".to_owned());
        }
        if path.trim().is_empty() {
            return Err("names no file".to_owned());
        }
        let mut parts: Vec<String> = from.split('/').map(str::to_owned).collect();
        parts.pop();
        for component in Path::new(path).components() {
            match component {
                Component::CurDir => {}
                Component::Normal(part) => parts.push(part.to_string_lossy().into_owned()),
                Component::ParentDir if parts.pop().is_some() => {}
                Component::ParentDir => return Err(OUTSIDE.to_owned()),
                Component::RootDir | Component::Prefix(_) => {
                    return Err("is an absolute path; name the file relative to this one".to_owned());
                }
            }
        }
        Ok(parts)
    }
}

const OUTSIDE: &str = "lies outside the folder of the first rule file; move it into that folder";

impl Loader for FolderLoader {
    fn load(&self, path: &str, from: &str) -> Result<Loaded, String> {
        let parts = self.below(path, from)?;
        let written = parts.join("/");
        let whole = self.folder.join(&written).canonicalize().map_err(|error| match error.kind() {
            std::io::ErrorKind::NotFound => not_found(&self.folder, &parts),
            _ => format!("cannot be opened: {error}"),
        })?;
        let Ok(inside) = whole.strip_prefix(&self.folder) else {
            return Err(OUTSIDE.to_owned());
        };
        let name: Vec<String> =
            inside.components().map(|part| part.as_os_str().to_string_lossy().into_owned()).collect();
        let name = name.join("/");
        // Where case does not matter the file is found all the same, under another name than elsewhere.
        if name != written && name.to_lowercase() == written.to_lowercase() {
            return Err(format!("is spelled `{name}` in its folder; write it so"));
        }
        let text = read_text(&whole)?;
        Ok(Loaded { name, text })
    }
}

/// Says that a file is not there, or how it is spelled there.
fn not_found(folder: &Path, parts: &[String]) -> String {
    let Some((file, folders)) = parts.split_last() else {
        return "names no file".to_owned();
    };
    let folder = folders.iter().fold(folder.to_owned(), |folder, part| folder.join(part));
    let spelled = std::fs::read_dir(folder)
        .into_iter()
        .flatten()
        .take(10_000)
        .filter_map(|entry| entry.ok()?.file_name().into_string().ok())
        .find(|name| name.to_lowercase() == file.to_lowercase());
    match spelled {
        Some(name) => format!("is spelled `{name}` in its folder; write it so"),
        None => "is not there".to_owned(),
    }
}

/// The text of a file of sensible size.
fn read_text(path: &Path) -> Result<String, String> {
    let failed = |error: std::io::Error| format!("cannot be read: {error}");
    if !std::fs::metadata(path).map_err(failed)?.is_file() {
        return Err("is not a file".to_owned());
    }
    let mut bytes = Vec::new();
    let file = std::fs::File::open(path).map_err(failed)?;
    file.take(FILE_BYTES + 1).read_to_end(&mut bytes).map_err(failed)?;
    if bytes.len() as u64 > FILE_BYTES {
        return Err(format!(
            "is larger than {}, the most a rule file may be",
            crate::limits::size(FILE_BYTES)
        ));
    }
    String::from_utf8(bytes).map_err(|error| {
        let good = error.utf8_error().valid_up_to();
        let line = error.as_bytes().iter().take(good).filter(|byte| **byte == b'\n').count() + 1;
        format!("is not UTF-8 text in line {line}; save it as UTF-8")
    })
}
