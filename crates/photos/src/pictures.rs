//! Reads pictures in parallel and keeps little of each: what it shows, and when.

use crate::codes::PictureCode;
use crate::exif::{FileReader, Gear, Measured, Picture};
use crate::folders::{FolderWalk, Folders, PathBatch, number};
use crate::problems::{ProblemCollector, Problems};
use crate::sort::{Record, Sorter, SpillError, SpillOptions, codec};
use chrono::{FixedOffset, NaiveDate, NaiveDateTime};
use indexmap::IndexSet;
use kitlore_engine::Problem;
use std::cmp::Ordering;
use std::collections::{BTreeMap, HashMap};
use std::ffi::OsStr;
use std::mem;
use std::num::NonZeroUsize;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
use std::sync::{Mutex, PoisonError, mpsc};

/// Pictures that were read: of each its moment, its name and what else the entries need.
///
/// Memory holds at most as many as [`SpillOptions`] allows; the others go to a temporary file. What grows in memory
/// is what the entries grow with: bodies and lenses, the days on which they were used, folders. Only pictures of
/// the same moment are looked at together, however many.
#[derive(Debug)]
pub struct Pictures {
    /// The folders with pictures, in the order they were found.
    pub(crate) folders: IndexSet<PathBuf>,
    /// The distinct pairs of body and lens.
    pub(crate) pairs: IndexSet<Pair>,
    /// By pair and date.
    pub(crate) days: BTreeMap<(u32, NaiveDate), Day>,
    /// Sorted by time.
    pub(crate) shots: Sorter<Shot>,
    pub(crate) problems: Problems,
    found: usize,
    left_out: usize,
}

/// How many pictures of a day give an offset from UTC, and how many do not.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Day {
    pub with_offset: usize,
    pub without: usize,
}

impl Day {
    pub fn add(&mut self, other: Day) {
        self.with_offset += other.with_offset;
        self.without += other.without;
    }
}

/// One picture that says when it was taken and by which body.
#[derive(Debug, Clone)]
pub(crate) struct Shot {
    pub taken: NaiveDateTime,
    pub offset: Option<FixedOffset>,
    /// An index into the pairs of body and lens.
    pub pair: u32,
    /// An index into the folders.
    pub folder: u32,
    /// Absent in most pictures.
    pub measured: Option<Box<Measured>>,
    pub name: Box<OsStr>,
}

const _: () = assert!(size_of::<Shot>() <= 56, "sorting moves them about");

codec!(Measured { temperature, humidity, pressure, depth });
codec!(Shot { taken, offset, pair, folder, measured, name });

impl Shot {
    /// From a picture, in no folder yet. `number` gives the index of a pair.
    fn of(picture: Picture, path: &Path, number: impl FnOnce(Pair) -> u32) -> Result<Self, Problem> {
        let problem = |code, sentence: &'static str| {
            Problem::new(code, sentence).with("file", path.display().to_string())
        };
        let Some(taken) = picture.taken else {
            return Err(problem(
                PictureCode::NoDate,
                "`{file}` does not say when it was taken, or gives an impossible time",
            ));
        };
        if picture.body.is_empty() {
            return Err(problem(PictureCode::NoBody, "`{file}` does not say which body took it"));
        }
        let measured = Some(picture.measured).filter(|measured| *measured != Measured::default());
        Ok(Self {
            taken,
            offset: picture.offset,
            pair: number((picture.body, picture.lens)),
            folder: 0,
            measured: measured.map(Box::new),
            name: path.file_name().unwrap_or_default().into(),
        })
    }
}

impl Record for Shot {
    fn compare(&self, other: &Self) -> Ordering {
        self.taken.cmp(&other.taken)
    }

    fn group(&self) -> u32 {
        // They arrive in no order.
        0
    }
}

impl Default for Pictures {
    fn default() -> Self {
        Self::new(SpillOptions::default())
    }
}

impl Pictures {
    /// An empty set.
    ///
    /// ```
    /// # use kitlore_photos::{Pictures, SpillOptions};
    /// assert_eq!(Pictures::new(SpillOptions::default()).len(), 0);
    /// ```
    pub fn new(spill: SpillOptions) -> Self {
        Self {
            shots: Sorter::new(&spill),
            folders: IndexSet::new(),
            pairs: IndexSet::new(),
            days: BTreeMap::new(),
            problems: Problems::default(),
            found: 0,
            left_out: 0,
        }
    }

    /// Searches folders and reads the pictures in them, on several threads. `progress` gets the number of pictures
    /// done so far and returns whether to go on.
    ///
    /// # Errors
    /// A temporary file is needed and cannot be written.
    ///
    /// ```
    /// use kitlore_photos::{Folders, Pictures};
    /// let mut pictures = Pictures::default();
    /// pictures.read(Folders::new(&["pictures"], false), std::num::NonZeroUsize::MIN, |_| true)?;
    /// assert_eq!((pictures.found(), pictures.len()), (0, 0)); // there is no such folder
    /// # Ok::<(), kitlore_photos::SpillError>(())
    /// ```
    pub fn read(
        &mut self,
        folders: Folders<'_>,
        threads: NonZeroUsize,
        mut progress: impl FnMut(usize) -> bool,
    ) -> Result<(), SpillError> {
        let walk = Mutex::new(FolderWalk::new(folders, mem::take(&mut self.folders)));
        let pairs = Mutex::new(mem::take(&mut self.pairs));
        let stop = AtomicBool::new(false);
        let (sender, results) = mpsc::sync_channel(4 * threads.get());
        let mut unread = ProblemCollector::new();
        let result = std::thread::scope(|scope| {
            for _ in 0..threads.get() {
                let (sender, walk, stop) = (sender.clone(), &walk, &stop);
                let mut reader =
                    BatchReader { file: FileReader::default(), pairs: &pairs, seen: HashMap::new() };
                scope.spawn(move || {
                    // Each thread continues the search for what it reads next.
                    let next = || walk.lock().unwrap_or_else(PoisonError::into_inner).batch();
                    while !stop.load(Relaxed)
                        && let Some(batch) = next()
                        && sender.send(reader.read(batch)).is_ok()
                    {}
                });
            }
            drop(sender);
            for (left_out, read) in results {
                self.left_out += left_out;
                self.found += left_out + read.len();
                for shot in read {
                    match shot {
                        Ok(shot) => self.keep(shot)?,
                        Err(unusable) => {
                            let (path, problem) = *unusable;
                            unread.add(place(&path), problem);
                        }
                    }
                }
                if !progress(self.found) {
                    stop.store(true, Relaxed);
                }
            }
            Ok(())
        });
        // Threads finish in any order; the list of problems is sorted.
        let walk = walk.into_inner().unwrap_or_else(PoisonError::into_inner);
        let of_walk: Problems;
        (self.folders, of_walk) = walk.finish();
        self.pairs = pairs.into_inner().unwrap_or_else(PoisonError::into_inner);
        self.problems.extend(of_walk);
        self.problems.extend(unread.in_order());
        result
    }

    /// Adds a picture whose metadata a host has read itself. Its path tells copies from frames.
    ///
    /// # Errors
    /// A temporary file is needed and cannot be written. The picture is not added then.
    ///
    /// ```
    /// use kitlore_photos::{Gear, Picture, Pictures};
    /// let mut pictures = Pictures::default();
    /// let body = Gear { make: "Harbour".into(), model: "Harbour Two".into(), serial: "1001".into() };
    /// let taken = chrono::NaiveDate::from_ymd_opt(2026, 2, 7).and_then(|date| date.and_hms_opt(9, 12, 3));
    /// pictures.add("card/HRB_0001.JPG", Picture { taken, body, ..Picture::default() })?;
    /// assert_eq!(pictures.len(), 1);
    /// # Ok::<(), kitlore_photos::SpillError>(())
    /// ```
    pub fn add(&mut self, path: impl AsRef<Path>, picture: Picture) -> Result<(), SpillError> {
        let path = path.as_ref();
        let pairs = &mut self.pairs;
        match Shot::of(picture, path, |pair| number_of(pairs, pair)) {
            Ok(shot) => {
                let folder = number(&mut self.folders, path);
                self.keep(Shot { folder, ..shot })?;
            }
            Err(problem) => self.problems.add(problem),
        }
        self.found += 1;
        Ok(())
    }

    fn keep(&mut self, shot: Shot) -> Result<(), SpillError> {
        let of_day = (shot.pair, shot.taken.date());
        let with_offset = shot.offset.is_some();
        self.shots.push(shot)?;
        let day = self.days.entry(of_day).or_default();
        *(if with_offset { &mut day.with_offset } else { &mut day.without }) += 1;
        Ok(())
    }

    /// The number of pictures that say when and by which body they were taken.
    pub fn len(&self) -> usize {
        self.shots.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// The number of pictures found by their names, whether they could be read or not.
    pub fn found(&self) -> usize {
        self.found
    }

    /// How many of them were left out by [`Folders::retain`].
    pub fn left_out(&self) -> usize {
        self.left_out
    }
}

type Pair = (Gear, Gear);

fn number_of(pairs: &mut IndexSet<Pair>, pair: Pair) -> u32 {
    u32::try_from(pairs.insert_full(pair).0).unwrap_or(u32::MAX)
}

/// A picture, or why there is none.
type Read = Result<Shot, Box<(PathBuf, Problem)>>;

/// Reads pictures on one thread.
struct BatchReader<'a> {
    file: FileReader,
    /// The pairs of all threads, and the indexes that this thread has seen.
    pairs: &'a Mutex<IndexSet<Pair>>,
    seen: HashMap<Pair, u32>,
}

impl BatchReader<'_> {
    fn read(&mut self, batch: PathBatch) -> (usize, Vec<Read>) {
        let files = batch.files.into_iter().map(|(folder, path)| {
            let shot = self.file.read(&path).and_then(|picture| self.shot(picture, &path));
            shot.map(|shot| Shot { folder, ..shot }).map_err(|problem| Box::new((path, problem)))
        });
        (batch.left_out, files.collect())
    }

    fn shot(&mut self, picture: Picture, path: &Path) -> Result<Shot, Problem> {
        Shot::of(picture, path, |pair| {
            let all = || self.pairs.lock().unwrap_or_else(PoisonError::into_inner);
            *self.seen.entry(pair).or_insert_with_key(|pair| number_of(&mut all(), pair.clone()))
        })
    }
}

/// The place of a file in the list of problems.
fn place(path: &Path) -> (PathBuf, Box<OsStr>) {
    let folder = path.parent().unwrap_or(Path::new(""));
    (folder.to_owned(), path.file_name().unwrap_or_default().into())
}
