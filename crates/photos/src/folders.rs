//! Finds the pictures in folders.

use crate::codes::PictureCode;
use crate::problems::{ProblemCollector, Problems};
use indexmap::IndexSet;
use kitlore_engine::{Argument, Problem};
use std::ffi::OsStr;
use std::path::{Path, PathBuf};
use walkdir::{DirEntry, WalkDir};

/// Endings of pictures, in lower case. Files in a format that is not read are reported one by one.
const ENDINGS: [&str; 34] = [
    "jpg", "jpeg", "jpe", "jfif", "heic", "heif", "hif", "avif", "tif", "tiff", "dng", "png", "webp", "nef",
    "nrw", "cr2", "cr3", "crw", "arw", "sr2", "srw", "pef", "orf", "rw2", "raf", "3fr", "fff", "erf", "iiq",
    "rwl", "mrw", "x3f", "jxl", "raw",
];

/// Folders to search for pictures, with all folders below them. A single file may be named as well.
///
/// Pictures are recognised by their names. Hidden files are skipped. Links are followed only on request, except
/// those that are named themselves; a loop of links ends. The search begins with
/// [`Pictures::read`](crate::Pictures::read), which reads each picture as it is found, without a list of them all.
pub struct Folders<'a> {
    paths: Vec<PathBuf>,
    follow_links: bool,
    keep: Box<dyn FnMut(&Path) -> bool + Send + 'a>,
}

impl<'a> Folders<'a> {
    /// Folders, and whether to follow the links in them.
    ///
    /// ```
    /// let folders = kitlore_photos::Folders::new(&["no such folder"], false);
    /// assert_eq!(folders.count(), 0);
    /// ```
    pub fn new(paths: &[impl AsRef<Path>], follow_links: bool) -> Self {
        let paths = paths.iter().map(|path| path.as_ref().to_owned()).collect();
        Self { paths, follow_links, keep: Box::new(|_| true) }
    }

    /// Keeps only the pictures whose path `keep` accepts, to leave out those read before.
    ///
    /// ```
    /// # use kitlore_photos::Folders;
    /// let folders = Folders::new(&["card"], false).retain(|path| !path.ends_with("IMG_0001.JPG"));
    /// ```
    #[must_use]
    pub fn retain(self, keep: impl FnMut(&Path) -> bool + Send + 'a) -> Self {
        Self { keep: Box::new(keep), ..self }
    }

    /// Counts the pictures in the folders, for a progress bar; those to be left out are included.
    pub fn count(&self) -> usize {
        let steps = all(self.paths.clone(), self.follow_links);
        steps.filter(|found| matches!(found, FoundPath::Picture(_))).count()
    }
}

/// What the search found.
enum FoundPath {
    Picture(PathBuf),
    /// A file of another kind, a folder.
    Other,
    /// Its place, beginning with the number of the folder that was named, and the problem.
    Problem((usize, PathBuf), Problem),
}

fn all(paths: Vec<PathBuf>, follow_links: bool) -> impl Iterator<Item = FoundPath> + Send {
    paths.into_iter().enumerate().flat_map(move |(number, path)| {
        // Not sorted: for that the walker would keep every path of a folder.
        let walk = WalkDir::new(&path).follow_links(follow_links).into_iter();
        let is_searched = |entry: &DirEntry| entry.depth() == 0 || !is_hidden(entry.file_name());
        walk.filter_entry(is_searched).map(move |entry| match entry {
            Ok(entry) => found(number, entry),
            Err(error) => {
                let place = error.path().unwrap_or(&path).to_owned();
                FoundPath::Problem((number, place), unreadable(&error))
            }
        })
    })
}

fn found(number: usize, entry: DirEntry) -> FoundPath {
    let named = entry.depth() == 0;
    let path = entry.path();
    if entry.file_type().is_file() || named && path.is_file() {
        let ending = path.extension().and_then(OsStr::to_str).unwrap_or_default();
        let is_picture = named || ENDINGS.iter().any(|known| ending.eq_ignore_ascii_case(known));
        return if is_picture { FoundPath::Picture(entry.into_path()) } else { FoundPath::Other };
    }
    let problem = match named {
        // The walker follows a link that is named itself.
        true if path.is_dir() => return FoundPath::Other,
        _ if entry.path_is_symlink() => link(path),
        true => {
            let problem =
                Problem::new(PictureCode::UnreadableFolder, "`{path}` is neither a folder nor a file");
            problem.with("path", path.display().to_string())
        }
        false => return FoundPath::Other,
    };
    FoundPath::Problem((number, entry.into_path()), problem)
}

/// How many steps of the search a reading thread takes at a time.
const BATCH: usize = 128;

/// The next pictures to read.
pub(crate) struct PathBatch {
    /// Each with the number of its folder.
    pub files: Vec<(u32, PathBuf)>,
    pub left_out: usize,
}

/// A search through folders, some steps at a time.
pub(crate) struct FolderWalk<'a> {
    steps: Box<dyn Iterator<Item = FoundPath> + Send>,
    keep: Box<dyn FnMut(&Path) -> bool + Send + 'a>,
    /// The folders with pictures, in the order they were found.
    folders: IndexSet<PathBuf>,
    problems: ProblemCollector<(usize, PathBuf)>,
}

impl<'a> FolderWalk<'a> {
    /// A search through folders, of which some may have been found before.
    pub fn new(through: Folders<'a>, folders: IndexSet<PathBuf>) -> Self {
        let steps = Box::new(all(through.paths, through.follow_links));
        Self { steps, keep: through.keep, folders, problems: ProblemCollector::new() }
    }

    /// The next pictures; none at the end.
    pub fn batch(&mut self) -> Option<PathBatch> {
        let mut batch = PathBatch { files: Vec::with_capacity(BATCH), left_out: 0 };
        let mut steps = self.steps.by_ref().take(BATCH).peekable();
        steps.peek()?;
        for found in steps {
            match found {
                FoundPath::Picture(path) if (self.keep)(&path) => {
                    batch.files.push((number(&mut self.folders, &path), path));
                }
                FoundPath::Picture(_) => batch.left_out += 1,
                FoundPath::Other => {}
                FoundPath::Problem(place, problem) => self.problems.add(place, problem),
            }
        }
        Some(batch)
    }

    /// The folders with pictures, and the problems.
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
    let sentence = "the link `{path}` is not followed; name its target, or ask for links to be followed";
    Problem::new(PictureCode::LinkLeftOut, sentence).with("path", path.display().to_string())
}

fn unreadable(error: &walkdir::Error) -> Problem {
    let path = error.path().unwrap_or(Path::new("")).display().to_string();
    let problem = |sentence: &'static str| Problem::new(PictureCode::UnreadableFolder, sentence);
    let problem = match (error.io_error(), error.loop_ancestor()) {
        (Some(cause), _) => problem("`{path}` cannot be searched: {cause}")
            .with("cause", Argument::Words(cause.to_string().into())),
        (None, Some(above)) => problem("`{path}` cannot be searched: it is a link back to `{above}`")
            .with("above", above.display().to_string()),
        (None, None) => problem("`{path}` cannot be searched: the system gives no reason"),
    };
    problem.with("path", path)
}

/// Besides settings and trash these are the companion files that some systems put beside each picture.
fn is_hidden(name: &OsStr) -> bool {
    name.as_encoded_bytes().starts_with(b".")
}
