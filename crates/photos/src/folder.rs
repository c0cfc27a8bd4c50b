//! Which files of a folder are pictures.

use crate::problems::{Problems, Unordered};
use indexmap::IndexSet;
use kitlore_engine::Problem;
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use walkdir::{DirEntry, WalkDir};

/// Endings of pictures, in lower case. Of a form that is not read each file is listed.
const ENDINGS: [&str; 34] = [
    "jpg", "jpeg", "jpe", "jfif", "heic", "heif", "hif", "avif", "tif", "tiff", "dng", "png", "webp", "nef",
    "nrw", "cr2", "cr3", "crw", "arw", "sr2", "srw", "pef", "orf", "rw2", "raf", "3fr", "fff", "erf", "iiq",
    "rwl", "mrw", "x3f", "jxl", "raw",
];

/// Folders in which pictures are looked for, by their names alone, in all below them too. A file may be named
/// as well.
///
/// Hidden files are passed over. Links are followed only where that is asked for, except those that are named
/// themselves; a loop of links ends. Nothing is looked for before [`Pictures::read`](crate::Pictures::read), which
/// reads each picture as it is found, so that no list of them is kept.
pub struct Folders<'a> {
    paths: Vec<PathBuf>,
    follow_links: bool,
    keep: Box<dyn FnMut(&Path) -> bool + Send + 'a>,
}

impl<'a> Folders<'a> {
    /// Folders, and whether links in them are followed.
    ///
    /// ```
    /// let folders = kitlore_photos::Folders::new(&["no such folder"], false);
    /// assert_eq!(folders.count(), 0);
    /// ```
    pub fn new(paths: &[impl AsRef<Path>], follow_links: bool) -> Self {
        let paths = paths.iter().map(|path| path.as_ref().to_owned()).collect();
        Self { paths, follow_links, keep: Box::new(|_| true) }
    }

    /// Leaves out the pictures whose path does not pass, such as those read before.
    ///
    /// ```
    /// # use kitlore_photos::Folders;
    /// let folders = Folders::new(&["card"], false).retain(|path| !path.ends_with("IMG_0001.JPG"));
    /// ```
    #[must_use]
    pub fn retain(self, keep: impl FnMut(&Path) -> bool + Send + 'a) -> Self {
        Self { keep: Box::new(keep), ..self }
    }

    /// Looks through the folders for the number of pictures alone, those to be left out among them: for a bar that
    /// shows how far reading is.
    pub fn count(&self) -> usize {
        let steps = all(self.paths.clone(), self.follow_links);
        steps.filter(|met| matches!(met, Met::Picture(_))).count()
    }
}

/// What stands in a folder.
enum Met {
    Picture(PathBuf),
    /// A file of another kind, a folder.
    Other,
    /// Where, by the number of the folder named, and what.
    Problem((usize, PathBuf), Problem),
}

fn all(paths: Vec<PathBuf>, follow_links: bool) -> impl Iterator<Item = Met> + Send {
    paths.into_iter().enumerate().flat_map(move |(number, path)| {
        // Not sorted: the walker would keep every path of a folder to do so.
        let walk = WalkDir::new(&path).follow_links(follow_links).into_iter();
        let shown = |entry: &DirEntry| entry.depth() == 0 || !is_hidden(entry.file_name());
        walk.filter_entry(shown).map(move |entry| match entry {
            Ok(entry) => met(number, entry),
            Err(error) => {
                let place = error.path().unwrap_or(&path).to_owned();
                Met::Problem((number, place), unreadable(&error))
            }
        })
    })
}

fn met(number: usize, entry: DirEntry) -> Met {
    let named = entry.depth() == 0;
    let path = entry.path();
    if entry.file_type().is_file() || named && path.is_file() {
        let ending = path.extension().and_then(OsStr::to_str).unwrap_or_default();
        let is_picture = named || ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known));
        return if is_picture { Met::Picture(entry.into_path()) } else { Met::Other };
    }
    let problem = match named {
        // A link that is named itself is followed by the walker.
        true if path.is_dir() => return Met::Other,
        _ if entry.path_is_symlink() => link(path),
        true => {
            let message = format!("`{}` is neither a folder nor a file", path.display());
            Problem::new("unreadable-folder", message)
        }
        false => return Met::Other,
    };
    Met::Problem((number, entry.into_path()), problem)
}

/// So much is looked at by a reading thread at a time.
const BATCH: usize = 128;

/// Pictures that are to be read next.
pub(crate) struct Batch {
    /// Each with the number of its folder.
    pub files: Vec<(u32, PathBuf)>,
    pub left_out: usize,
}

/// A walk through folders, some steps at a time.
pub(crate) struct Walk<'a> {
    steps: Box<dyn Iterator<Item = Met> + Send>,
    keep: Box<dyn FnMut(&Path) -> bool + Send + 'a>,
    /// The folders with pictures, in the order in which they were found.
    folders: IndexSet<PathBuf>,
    problems: Unordered<(usize, PathBuf)>,
}

impl<'a> Walk<'a> {
    /// Through folders, of which some were found before.
    pub fn new(through: Folders<'a>, folders: IndexSet<PathBuf>) -> Self {
        let steps = Box::new(all(through.paths, through.follow_links));
        Self { steps, keep: through.keep, folders, problems: Unordered::new() }
    }

    /// None at the end.
    pub fn batch(&mut self) -> Option<Batch> {
        let mut batch = Batch { files: Vec::with_capacity(BATCH), left_out: 0 };
        let mut steps = self.steps.by_ref().take(BATCH).peekable();
        steps.peek()?;
        for met in steps {
            match met {
                Met::Picture(path) if (self.keep)(&path) => {
                    batch.files.push((number(&mut self.folders, &path), path));
                }
                Met::Picture(_) => batch.left_out += 1,
                Met::Other => {}
                Met::Problem(place, problem) => self.problems.add(place, problem),
            }
        }
        Some(batch)
    }

    /// The folders with pictures, and what went wrong.
    pub fn finish(self) -> (IndexSet<PathBuf>, Problems) {
        (self.folders, self.problems.in_order())
    }
}

/// The number of a file's folder.
pub(crate) fn number(folders: &mut IndexSet<PathBuf>, file: &Path) -> u32 {
    let folder = file.parent().unwrap_or(Path::new(""));
    let number = folders.get_index_of(folder);
    let number = number.unwrap_or_else(|| folders.insert_full(folder.to_owned()).0);
    u32::try_from(number).unwrap_or(u32::MAX)
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
