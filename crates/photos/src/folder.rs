//! Which files of a folder are pictures.

use crate::problems::Problems;
use kitlore_engine::Problem;
use std::collections::HashMap;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use walkdir::WalkDir;

/// Endings of pictures, in lower case. Of a form that is not read each file is listed.
const ENDINGS: [&str; 34] = [
    "jpg", "jpeg", "jpe", "jfif", "heic", "heif", "hif", "avif", "tif", "tiff", "dng", "png", "webp", "nef",
    "nrw", "cr2", "cr3", "crw", "arw", "sr2", "srw", "pef", "orf", "rw2", "raf", "3fr", "fff", "erf", "iiq",
    "rwl", "mrw", "x3f", "jxl", "raw",
];

/// The pictures found in folders, by their names alone; see [`Found::in_folders`].
#[derive(Debug, Default)]
pub struct Found {
    folders: Vec<PathBuf>,
    numbers: HashMap<PathBuf, u32>,
    files: Vec<(u32, Box<OsStr>)>,
    others: usize,
    pub(crate) problems: Problems,
}

impl Found {
    /// Looks through folders and all below them, in the order of their names; a file may be named as well.
    ///
    /// Hidden files are passed over. Links are followed only where `follow_links` says so, except those
    /// that are named themselves; a loop of links ends.
    ///
    /// ```
    /// let found = kitlore_photos::Found::in_folders(&["no such folder"], false);
    /// assert!(found.is_empty());
    /// ```
    pub fn in_folders(paths: &[impl AsRef<Path>], follow_links: bool) -> Self {
        let mut found = Self::default();
        for path in paths {
            let walk = WalkDir::new(path).follow_links(follow_links).sort_by_file_name();
            let shown = |entry: &walkdir::DirEntry| entry.depth() == 0 || !is_hidden(entry.file_name());
            for entry in walk.into_iter().filter_entry(shown) {
                match entry {
                    Ok(entry) if entry.file_type().is_file() => found.file(entry.path(), entry.depth() == 0),
                    Ok(entry) if entry.path_is_symlink() => found.link(entry.path()),
                    Ok(_) => {}
                    Err(error) => found.unreadable(&error),
                }
            }
        }
        found
    }

    fn file(&mut self, path: &Path, named: bool) {
        let ending = path.extension().and_then(OsStr::to_str).unwrap_or_default().to_ascii_lowercase();
        if named || ENDINGS.contains(&ending.as_str()) {
            self.add(path);
        } else {
            self.others += 1;
        }
    }

    fn link(&mut self, path: &Path) {
        let message = format!(
            "the link `{}` is not followed; name what it points to, or ask for links to be followed",
            path.display()
        );
        self.problems.add(Problem::new("link-left-out", message));
    }

    fn unreadable(&mut self, error: &walkdir::Error) {
        let path = error.path().unwrap_or(Path::new("")).display();
        let cause = match (error.io_error(), error.loop_ancestor()) {
            (Some(cause), _) => cause.to_string(),
            (None, Some(above)) => format!("it is a link back to `{}`", above.display()),
            (None, None) => "the system does not say why".to_owned(),
        };
        let message = format!("`{path}` cannot be looked through: {cause}");
        self.problems.add(Problem::new("unreadable-folder", message));
    }

    /// Adds a file by its path; its number.
    pub(crate) fn add(&mut self, path: &Path) -> u32 {
        let parent = path.parent().unwrap_or(Path::new(""));
        let folder = match self.numbers.get(parent) {
            Some(number) => *number,
            None => {
                let number = narrow(self.folders.len());
                self.folders.push(parent.to_owned());
                self.numbers.insert(parent.to_owned(), number);
                number
            }
        };
        self.files.push((folder, path.file_name().unwrap_or_default().into()));
        narrow(self.files.len() - 1)
    }

    /// The number of pictures.
    pub fn len(&self) -> usize {
        self.files.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.files.is_empty()
    }

    /// The number of files that were no pictures by their endings.
    pub fn others(&self) -> usize {
        self.others
    }

    /// Leaves out the pictures whose path does not pass, such as those read before.
    ///
    /// ```
    /// # let mut found = kitlore_photos::Found::default();
    /// found.retain(|path| !path.ends_with("IMG_0001.JPG"));
    /// ```
    pub fn retain(&mut self, mut keep: impl FnMut(&Path) -> bool) {
        let folders = &self.folders;
        let path = |(folder, name): &(u32, Box<OsStr>)| {
            Some(folders.get(*folder as usize)?.join(name.as_ref() as &OsStr))
        };
        self.files.retain(|file| path(file).is_some_and(|path| keep(&path)));
    }

    pub(crate) fn path(&self, file: u32) -> PathBuf {
        let Some((folder, name)) = self.files.get(file as usize) else {
            return PathBuf::new();
        };
        self.folders.get(*folder as usize).map(|at| at.join(name.as_ref() as &OsStr)).unwrap_or_default()
    }

    pub(crate) fn folder_and_name(&self, file: u32) -> (u32, &OsStr) {
        self.files.get(file as usize).map_or((0, OsStr::new("")), |(folder, name)| (*folder, name))
    }
}

/// Besides settings and waste bins these are the shadows that some systems put beside each picture.
fn is_hidden(name: &OsStr) -> bool {
    name.as_encoded_bytes().starts_with(b".")
}

fn narrow(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
