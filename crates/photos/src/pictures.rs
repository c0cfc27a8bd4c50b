//! Pictures read in parallel and kept small: what each shows, and when.

use crate::folder::{Batch, Folders, Walk, number};
use crate::metadata::{FileReader, Gear, Measured, Picture};
use crate::problems::{Problems, Unordered};
use crate::room::{Room, RoomError};
use crate::sorter::{Record, Sorter};
use crate::stored::fields;
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

/// Pictures that were read, in small: of each its moment, its name and what it says besides.
///
/// However many they are, memory keeps no more of them than there is [`Room`] for; the others go to a temporary
/// file. What does grow in memory is what their entries grow with: bodies and lenses, the days on which they were
/// used, folders. Only pictures of one and the same moment are looked at together, however many.
#[derive(Debug)]
pub struct Pictures {
    /// Those with pictures, in the order in which they were found.
    pub(crate) folders: IndexSet<PathBuf>,
    /// Body and lens, each pair once.
    pub(crate) pairs: IndexSet<Pair>,
    /// By pair and date.
    pub(crate) days: BTreeMap<(u32, NaiveDate), Day>,
    /// In order of time.
    pub(crate) shots: Sorter<Shot>,
    pub(crate) problems: Problems,
    found: usize,
    left_out: usize,
}

/// How many pictures of a day give an offset from UTC and how many do not.
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
    /// Into the pairs of body and lens.
    pub pair: u32,
    /// Into the folders.
    pub folder: u32,
    /// None where nothing was, as with most.
    pub measured: Option<Box<Measured>>,
    pub name: Box<OsStr>,
}

const _: () = assert!(size_of::<Shot>() <= 56, "they are moved about when they are put in order");

fields!(Shot { taken, offset, pair, folder, measured, name });

impl Shot {
    /// Of a picture, in no folder yet. `number` tells that of a pair.
    fn of(picture: Picture, path: &Path, number: impl FnOnce(Pair) -> u32) -> Result<Self, Problem> {
        let problem = |code, what: &str| Problem::new(code, format!("`{}` {what}", path.display()));
        let Some(taken) = picture.taken else {
            return Err(problem("no-date", "does not say when it was taken, or a time that no clock shows"));
        };
        if picture.body.is_empty() {
            return Err(problem("no-body", "does not say which body took it"));
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
        // They come in no order.
        0
    }
}

impl Default for Pictures {
    fn default() -> Self {
        Self::new(Room::default())
    }
}

impl Pictures {
    /// None yet.
    ///
    /// ```
    /// # use kitlore_photos::{Pictures, Room};
    /// assert_eq!(Pictures::new(Room::default()).len(), 0);
    /// ```
    pub fn new(room: Room) -> Self {
        Self {
            shots: Sorter::new(&room),
            folders: IndexSet::new(),
            pairs: IndexSet::new(),
            days: BTreeMap::new(),
            problems: Problems::default(),
            found: 0,
            left_out: 0,
        }
    }

    /// Looks through folders and reads what is found, on so many threads. `progress` is told how many pictures
    /// were found and are done so far and says whether to go on.
    ///
    /// # Errors
    /// A temporary file is needed and cannot be written.
    ///
    /// ```
    /// use kitlore_photos::{Folders, Pictures};
    /// let mut pictures = Pictures::default();
    /// pictures.read(Folders::new(&["pictures"], false), std::num::NonZeroUsize::MIN, |_| true)?;
    /// assert_eq!((pictures.found(), pictures.len()), (0, 0)); // there is no such folder
    /// # Ok::<(), kitlore_photos::RoomError>(())
    /// ```
    pub fn read(
        &mut self,
        folders: Folders<'_>,
        threads: NonZeroUsize,
        mut progress: impl FnMut(usize) -> bool,
    ) -> Result<(), RoomError> {
        let walk = Mutex::new(Walk::new(folders, mem::take(&mut self.folders)));
        let pairs = Mutex::new(mem::take(&mut self.pairs));
        let stop = AtomicBool::new(false);
        let (sender, results) = mpsc::sync_channel(4 * threads.get());
        let mut wrong = Unordered::new();
        let result = std::thread::scope(|scope| {
            for _ in 0..threads.get() {
                let (sender, walk, stop) = (sender.clone(), &walk, &stop);
                let mut reader = Reader { file: FileReader::default(), pairs: &pairs, known: HashMap::new() };
                scope.spawn(move || {
                    // Each thread walks on to what it reads next.
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
                        Err((path, problem)) => wrong.add(place(&path), problem),
                    }
                }
                if !progress(self.found) {
                    stop.store(true, Relaxed);
                }
            }
            Ok(())
        });
        // Threads end in any order; the list does not.
        let walk = walk.into_inner().unwrap_or_else(PoisonError::into_inner);
        let of_walk: Problems;
        (self.folders, of_walk) = walk.finish();
        self.pairs = pairs.into_inner().unwrap_or_else(PoisonError::into_inner);
        self.problems.extend(of_walk);
        self.problems.extend(wrong.in_order());
        result
    }

    /// Adds a picture whose metadata a host has read itself; the path tells copies from frames.
    ///
    /// # Errors
    /// A temporary file is needed and cannot be written; the picture is not added then.
    ///
    /// ```
    /// use kitlore_photos::{Gear, Picture, Pictures};
    /// let mut pictures = Pictures::default();
    /// let body = Gear { make: "Harbour".into(), model: "Harbour Two".into(), serial: "1001".into() };
    /// let taken = chrono::NaiveDate::from_ymd_opt(2026, 2, 7).and_then(|date| date.and_hms_opt(9, 12, 3));
    /// pictures.add("card/HRB_0001.JPG", Picture { taken, body, ..Picture::default() })?;
    /// assert_eq!(pictures.len(), 1);
    /// # Ok::<(), kitlore_photos::RoomError>(())
    /// ```
    pub fn add(&mut self, path: impl AsRef<Path>, picture: Picture) -> Result<(), RoomError> {
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

    fn keep(&mut self, shot: Shot) -> Result<(), RoomError> {
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

    /// The number of pictures found by their names, whatever came of them.
    pub fn found(&self) -> usize {
        self.found
    }

    /// How many of them were left out, as [`Folders::retain`] asked for.
    pub fn left_out(&self) -> usize {
        self.left_out
    }
}

type Pair = (Gear, Gear);

fn number_of(pairs: &mut IndexSet<Pair>, pair: Pair) -> u32 {
    u32::try_from(pairs.insert_full(pair).0).unwrap_or(u32::MAX)
}

/// What became of a file.
type Read = Result<Shot, (PathBuf, Problem)>;

/// What a thread reads with.
struct Reader<'a> {
    file: FileReader,
    /// Those of all threads, and the numbers that this one knows.
    pairs: &'a Mutex<IndexSet<Pair>>,
    known: HashMap<Pair, u32>,
}

impl Reader<'_> {
    fn read(&mut self, batch: Batch) -> (usize, Vec<Read>) {
        let files = batch.files.into_iter().map(|(folder, path)| {
            let shot = self.file.read(&path).and_then(|picture| self.shot(picture, &path));
            shot.map(|shot| Shot { folder, ..shot }).map_err(|problem| (path, problem))
        });
        (batch.left_out, files.collect())
    }

    fn shot(&mut self, picture: Picture, path: &Path) -> Result<Shot, Problem> {
        Shot::of(picture, path, |pair| {
            let all = || self.pairs.lock().unwrap_or_else(PoisonError::into_inner);
            *self.known.entry(pair).or_insert_with_key(|pair| number_of(&mut all(), pair.clone()))
        })
    }
}

/// Where a file stands in the list of problems.
fn place(path: &Path) -> (PathBuf, Box<OsStr>) {
    let folder = path.parent().unwrap_or(Path::new(""));
    (folder.to_owned(), path.file_name().unwrap_or_default().into())
}
