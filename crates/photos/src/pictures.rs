//! Pictures read in parallel and kept small: what each shows, and when.

use crate::folder::Found;
use crate::metadata::{Gear, Measured, Picture};
use crate::problems::{Problems, Unordered};
use chrono::{FixedOffset, NaiveDateTime};
use indexmap::IndexSet;
use kitlore_engine::Problem;
use std::num::NonZeroUsize;
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc;

/// Pictures that were read, in small: of each its name, its moment and a number for all else.
///
/// What decides on entries is kept and no more: the moment puts frames in order, names tell copies. Without the
/// entries they take 45 to 50 bytes a picture, where names have 14 letters and many pictures share body, lens,
/// offset and what was measured.
#[derive(Debug, Default)]
pub struct Pictures {
    pub(crate) files: Found,
    /// Body and lens, each pair once.
    pub(crate) pairs: IndexSet<(Gear, Gear)>,
    /// What else pictures say, each once.
    views: IndexSet<View>,
    pub(crate) shots: Vec<Shot>,
    pub(crate) problems: Problems,
}

/// One picture that says when it was taken and by which body, in 20 bytes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Shot {
    pub taken: NaiveDateTime,
    /// Into the views.
    view: u32,
    /// Into the files.
    pub file: u32,
}

const _: () = assert!(size_of::<Shot>() == 20, "kept of every picture");

/// What many pictures say alike.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub(crate) struct View {
    /// Into the pairs of body and lens.
    pub pair: u32,
    pub offset: Option<FixedOffset>,
    pub measured: Measured,
}

/// So many pictures go from a reading thread to the collecting one at a time.
const BATCH: usize = 128;

impl Pictures {
    /// Reads the pictures found, on so many threads. `progress` is told how many were read so far and says
    /// whether to go on.
    ///
    /// ```
    /// use kitlore_photos::{Found, Pictures};
    /// let found = Found::in_folders(&["pictures"], false);
    /// let pictures = Pictures::read(found, std::num::NonZeroUsize::MIN, |_| true);
    /// assert!(pictures.is_empty());
    /// ```
    pub fn read(found: Found, threads: NonZeroUsize, mut progress: impl FnMut(usize) -> bool) -> Self {
        let mut pictures = Self { files: found, ..Self::default() };
        pictures.problems = std::mem::take(&mut pictures.files.problems);
        let files = std::mem::take(&mut pictures.files);
        let (next, stop) = (AtomicUsize::new(0), AtomicBool::new(false));
        let (sender, results) = mpsc::sync_channel::<Vec<(u32, Result<Picture, Problem>)>>(4 * threads.get());
        let mut wrong = Unordered::new();
        std::thread::scope(|scope| {
            for _ in 0..threads.get() {
                let (sender, files, next, stop) = (sender.clone(), &files, &next, &stop);
                scope.spawn(move || {
                    while !stop.load(Ordering::Relaxed) {
                        let first = next.fetch_add(BATCH, Ordering::Relaxed);
                        let batch = first..files.len().min(first.saturating_add(BATCH));
                        if batch.is_empty() {
                            break;
                        }
                        let read = |file: usize| (file as u32, Picture::read(&files.path(file as u32)));
                        if sender.send(batch.map(read).collect()).is_err() {
                            break;
                        }
                    }
                });
            }
            drop(sender);
            let mut read = 0;
            for batch in results {
                read += batch.len();
                for (file, result) in batch {
                    let kept = result.and_then(|picture| pictures.keep(&files, file, picture));
                    kept.err().into_iter().for_each(|problem| wrong.add(file, problem));
                }
                if !progress(read) {
                    stop.store(true, Ordering::Relaxed);
                }
            }
        });
        pictures.files = files;
        // Threads end in any order; the list does not.
        pictures.problems.extend(wrong.in_order());
        pictures.shots.sort_unstable_by_key(|shot| shot.file);
        pictures
    }

    /// Adds a picture whose metadata a host has read itself; the path tells copies from frames.
    ///
    /// ```
    /// use kitlore_photos::{Gear, Picture, Pictures};
    /// let mut pictures = Pictures::default();
    /// let body = Gear { make: "Harbour".into(), model: "Harbour Two".into(), serial: "1001".into() };
    /// let taken = chrono::NaiveDate::from_ymd_opt(2026, 2, 7).and_then(|date| date.and_hms_opt(9, 12, 3));
    /// pictures.add("card/HRB_0001.JPG", Picture { taken, body, ..Picture::default() });
    /// assert_eq!(pictures.len(), 1);
    /// ```
    pub fn add(&mut self, path: impl AsRef<Path>, picture: Picture) {
        let file = self.files.add(path.as_ref());
        let files = std::mem::take(&mut self.files);
        if let Err(problem) = self.keep(&files, file, picture) {
            self.problems.add(problem);
        }
        self.files = files;
    }

    fn keep(&mut self, files: &Found, file: u32, picture: Picture) -> Result<(), Problem> {
        let problem =
            |code, what: &str| Problem::new(code, format!("`{}` {what}", files.path(file).display()));
        let Some(taken) = picture.taken else {
            return Err(problem("no-date", "does not say when it was taken, or a time that no clock shows"));
        };
        if picture.body.is_empty() {
            return Err(problem("no-body", "does not say which body took it"));
        }
        let narrow = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        let pair = narrow(self.pairs.insert_full((picture.body, picture.lens)).0);
        let view = View { pair, offset: picture.offset, measured: picture.measured };
        let view = narrow(self.views.insert_full(view).0);
        self.shots.push(Shot { taken, view, file });
        Ok(())
    }

    pub(crate) fn view(&self, shot: &Shot) -> View {
        self.views.get_index(shot.view as usize).copied().unwrap_or_default()
    }

    /// The number of pictures that say when and by which body they were taken.
    pub fn len(&self) -> usize {
        self.shots.len()
    }

    /// Whether there is none.
    pub fn is_empty(&self) -> bool {
        self.shots.is_empty()
    }
}
