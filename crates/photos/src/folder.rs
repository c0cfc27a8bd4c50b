//! Which files of a folder are pictures.

use crate::problems::{Problems, Unordered};
use indexmap::IndexSet;
use kitlore_engine::Problem;
use std::collections::HashMap;
use std::ffi::{OsStr, OsString};
use std::path::{Path, PathBuf};
use walkdir::WalkDir;

/// Endings of pictures, in lower case. Of a form that is not read each file is listed.
const ENDINGS: [&str; 34] = [
    "jpg", "jpeg", "jpe", "jfif", "heic", "heif", "hif", "avif", "tif", "tiff", "dng", "png", "webp", "nef",
    "nrw", "cr2", "cr3", "crw", "arw", "sr2", "srw", "pef", "orf", "rw2", "raf", "3fr", "fff", "erf", "iiq",
    "rwl", "mrw", "x3f", "jxl", "raw",
];

/// The pictures found in folders, by their names alone; see [`Found::in_folders`].
///
/// Names are kept for as long as their pictures are: they tell copies from frames. Each takes its own bytes and
/// nine more.
#[derive(Debug, Default)]
pub struct Found {
    folders: IndexSet<PathBuf>,
    files: Vec<File>,
    /// All names, each with a NUL after it, which no name holds.
    names: String,
    /// Names that are no text, by the place of an empty one.
    odd: HashMap<u32, OsString>,
    others: usize,
    pub(crate) problems: Problems,
}

#[derive(Debug, Clone, Copy)]
struct File {
    folder: u32,
    /// Where its name begins.
    name: u32,
}

impl Found {
    /// Looks through folders and all below them; each one's files are in the order of their names. A file may
    /// be named as well.
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
        let mut problems = Unordered::new();
        for (number, path) in paths.iter().enumerate() {
            // Sorted when all are there: the walker would keep every path of a folder to sort it.
            let walk = WalkDir::new(path).follow_links(follow_links);
            let named = |entry: &walkdir::DirEntry| entry.depth() == 0;
            let shown = |entry: &walkdir::DirEntry| named(entry) || !is_hidden(entry.file_name());
            for entry in walk.into_iter().filter_entry(shown) {
                match entry {
                    Ok(entry) if entry.file_type().is_file() || named(&entry) && entry.path().is_file() => {
                        found.file(entry.path(), named(&entry));
                    }
                    // A link that is named itself is followed by the walker.
                    Ok(entry) if named(&entry) && entry.path().is_dir() => {}
                    Ok(entry) if entry.path_is_symlink() => {
                        problems.add((number, entry.path().to_owned()), link(entry.path()));
                    }
                    Ok(entry) if named(&entry) => {
                        let message = format!("`{}` is neither a folder nor a file", entry.path().display());
                        let problem = Problem::new("unreadable-folder", message);
                        problems.add((number, entry.path().to_owned()), problem);
                    }
                    Ok(_) => {}
                    Err(error) => {
                        let place = error.path().unwrap_or(path.as_ref()).to_owned();
                        problems.add((number, place), unreadable(&error));
                    }
                }
            }
        }
        found.problems = problems.in_order();
        found.sort();
        found
    }

    fn file(&mut self, path: &Path, named: bool) {
        let ending = path.extension().and_then(OsStr::to_str).unwrap_or_default();
        if named || ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known)) {
            self.add(path);
        } else {
            self.others += 1;
        }
    }

    /// Adds a file by its path; its number.
    pub(crate) fn add(&mut self, path: &Path) -> u32 {
        let parent = path.parent().unwrap_or(Path::new(""));
        let folder = match self.folders.get_index_of(parent) {
            Some(folder) => folder,
            None => self.folders.insert_full(parent.to_owned()).0,
        };
        self.push(narrow(folder), path.file_name().unwrap_or_default());
        narrow(self.files.len() - 1)
    }

    fn push(&mut self, folder: u32, name: &OsStr) {
        let at = narrow(self.names.len());
        match name.to_str().filter(|name| !name.contains('\0')) {
            Some(name) => self.names.push_str(name),
            None => {
                self.odd.insert(at, name.to_owned());
            }
        }
        self.names.push('\0');
        self.files.push(File { folder, name: at });
    }

    /// Puts folders in order, and in each its files.
    fn sort(&mut self) {
        let before = std::mem::take(&mut self.folders);
        self.folders = before.clone();
        self.folders.sort_unstable();
        let moved: Vec<u32> = before
            .iter()
            .map(|folder| narrow(self.folders.get_index_of(folder).unwrap_or_default()))
            .collect();
        let mut files = std::mem::take(&mut self.files);
        for file in &mut files {
            file.folder = moved.get(file.folder as usize).copied().unwrap_or_default();
        }
        // With all that follows a name, which is nothing to search for; the NUL after it decides before.
        files.sort_unstable_by_key(|file| (file.folder, self.names.get(file.name as usize..)));
        self.files = files;
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
        let all = std::mem::take(self);
        for number in 0..narrow(all.files.len()) {
            if keep(&all.path(number)) {
                let (folder, name) = all.folder_and_name(number);
                self.push(folder, name);
            }
        }
        (self.folders, self.others, self.problems) = (all.folders, all.others, all.problems);
    }

    pub(crate) fn path(&self, file: u32) -> PathBuf {
        let (folder, name) = self.folder_and_name(file);
        self.in_folder(folder, name)
    }

    pub(crate) fn in_folder(&self, folder: u32, name: &OsStr) -> PathBuf {
        self.folders.get_index(folder as usize).map(|at| at.join(name)).unwrap_or_default()
    }

    pub(crate) fn folder_and_name(&self, file: u32) -> (u32, &OsStr) {
        let file = self.files.get(file as usize);
        file.map_or((0, OsStr::new("")), |file| (file.folder, self.name(*file)))
    }

    fn name(&self, file: File) -> &OsStr {
        let rest = self.names.get(file.name as usize..).unwrap_or_default();
        match rest.split_once('\0') {
            None | Some(("", _)) => self.odd.get(&file.name).map(OsString::as_os_str).unwrap_or_default(),
            Some((name, _)) => OsStr::new(name),
        }
    }
}

fn link(path: &Path) -> Problem {
    let message = format!(
        "the link `{}` is not followed; name what it points to, or ask for links to be followed",
        path.display()
    );
    Problem::new("link-left-out", message)
}

fn unreadable(error: &walkdir::Error) -> Problem {
    let path = error.path().unwrap_or(Path::new("")).display();
    let cause = match (error.io_error(), error.loop_ancestor()) {
        (Some(cause), _) => cause.to_string(),
        (None, Some(above)) => format!("it is a link back to `{}`", above.display()),
        (None, None) => "the system does not say why".to_owned(),
    };
    Problem::new("unreadable-folder", format!("`{path}` cannot be looked through: {cause}"))
}

/// Besides settings and waste bins these are the shadows that some systems put beside each picture.
fn is_hidden(name: &OsStr) -> bool {
    name.as_encoded_bytes().starts_with(b".")
}

fn narrow(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
