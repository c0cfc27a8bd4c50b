//! Sorts pictures in two ways: frames by time, files by number.

use super::clock::BodyClock;
use super::clock_jumps::NumberedFile;
use super::copies::without_copies;
use super::placed::PlacedShot;
use crate::exif::Gear;
use crate::pictures::Shot;
use crate::sort::{Sorted, Sorter, SpillError};
use indexmap::IndexSet;
use std::mem;
use std::path::PathBuf;
use std::sync::mpsc;

/// The frames of every body that is an item.
pub(crate) struct Ordered<'a> {
    /// By body and time.
    pub frames: Sorter<PlacedShot>,
    /// Files with a number in their name, by body, folder and number.
    pub numbered: Sorter<NumberedFile>,
    /// How many files are copies of a frame that another file shows.
    pub copies: usize,
    /// Sorted.
    pub folders: Vec<&'a PathBuf>,
}

impl<'a> Ordered<'a> {
    /// Sorts pictures, which come by time. `taken_by` gives the item that took a picture, and its clock.
    pub fn of<'c>(
        shots: Sorted<'_, Shot>,
        folders: &'a IndexSet<PathBuf>,
        pairs: &IndexSet<(Gear, Gear)>,
        taken_by: impl Fn(&Shot) -> Option<(u32, &'c BodyClock)>,
    ) -> Result<Self, SpillError> {
        let mut sorted: Vec<(&PathBuf, usize)> = folders.iter().zip(0..).collect();
        sorted.sort_unstable();
        let mut places = vec![0; sorted.len()];
        for (place, (_, number)) in (0..).zip(&sorted) {
            if let Some(of_folder) = places.get_mut(*number) {
                *of_folder = place;
            }
        }
        let (mut frames, mut numbered) = (Sorter::new(shots.spill), Sorter::new(shots.spill));
        let mut moments = MomentFrames { pairs, copies: 0, frames: Vec::new() };
        // Grouping pictures by moment is half of the work, sorting frames the other half.
        std::thread::scope(|scope| {
            let (sender, batches) = mpsc::sync_channel(BATCHES);
            let ordering = scope.spawn(|| {
                batches.into_iter().flatten().try_for_each(|frame: PlacedShot| {
                    NumberedFile::of(&frame).map_or(Ok(()), |file| numbered.push(file))?;
                    frames.push(frame)
                })
            });
            let mut moment: Vec<PlacedShot> = Vec::new();
            for shot in shots {
                let mut shot = shot?;
                let Some((item, clock)) = taken_by(&shot) else { continue };
                let (_, _, order) = clock.read(shot.taken, shot.offset);
                shot.folder = places.get(shot.folder as usize).copied().unwrap_or_default();
                if moment.first().is_some_and(|first| first.shot.taken != shot.taken) {
                    moments.add(&mut moment);
                    // Where the other thread takes no more it has failed; joining it gives the reason.
                    if moments.frames.len() >= BATCH && sender.send(mem::take(&mut moments.frames)).is_err() {
                        break;
                    }
                }
                moment.push(PlacedShot { item, order, shot });
            }
            moments.add(&mut moment);
            let _ = sender.send(mem::take(&mut moments.frames));
            drop(sender);
            ordering.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        })?;
        let folders = sorted.into_iter().map(|(folder, _)| folder).collect();
        Ok(Self { frames, numbered, copies: moments.copies, folders })
    }
}

/// At least so many frames are sent to the other thread at a time.
const BATCH: usize = 256;
/// At most so many batches wait for it.
const BATCHES: usize = 4;

/// Finds the frames among the pictures of each moment.
struct MomentFrames<'a> {
    pairs: &'a IndexSet<(Gear, Gear)>,
    copies: usize,
    /// Those not sent yet.
    frames: Vec<PlacedShot>,
}

impl MomentFrames<'_> {
    /// Adds all pictures of one moment. Those of one body are one frame where their names say so.
    fn add(&mut self, moment: &mut Vec<PlacedShot>) {
        if moment.len() == 1 {
            self.frames.append(moment);
        }
        let place = |one: &PlacedShot| (one.item, one.shot.folder);
        moment.sort_by(|a, b| place(a).cmp(&place(b)).then_with(|| a.shot.name.cmp(&b.shot.name)));
        while let Some(item) = moment.last().map(|last| last.item) {
            let of_item = moment.split_off(moment.partition_point(|other| other.item < item));
            let files = of_item.len();
            let frames = if files == 1 { of_item } else { without_copies(of_item, self.pairs) };
            self.copies += files - frames.len();
            self.frames.extend(frames);
        }
    }
}
