//! Pictures in the two orders in which they are looked at: frames by time, files by number.

use crate::copies::without_copies;
use crate::frames::{Clock, Placed};
use crate::jumps::Numbered;
use crate::metadata::Gear;
use crate::pictures::Shot;
use crate::room::RoomError;
use crate::sorter::{Sorted, Sorter};
use indexmap::IndexSet;
use std::mem;
use std::path::PathBuf;
use std::sync::mpsc;

/// The frames of all bodies that are items.
pub(crate) struct Ordered<'a> {
    /// Body by body in order of time.
    pub frames: Sorter<Placed>,
    /// Those with numbers, body by body in order of folder and number.
    pub numbered: Sorter<Numbered>,
    /// The number of files whose frame another file shows.
    pub copies: usize,
    /// In order.
    pub folders: Vec<&'a PathBuf>,
}

impl<'a> Ordered<'a> {
    /// Puts pictures in order, which come by time. `taken_by` says of which item a picture is, and how its clock
    /// is read.
    pub fn of<'c>(
        shots: Sorted<'_, Shot>,
        folders: &'a IndexSet<PathBuf>,
        pairs: &IndexSet<(Gear, Gear)>,
        taken_by: impl Fn(&Shot) -> Option<(u32, &'c Clock)>,
    ) -> Result<Self, RoomError> {
        let mut sorted: Vec<(&PathBuf, usize)> = folders.iter().zip(0..).collect();
        sorted.sort_unstable();
        let mut places = vec![0; sorted.len()];
        for (place, (_, number)) in (0..).zip(&sorted) {
            if let Some(of_folder) = places.get_mut(*number) {
                *of_folder = place;
            }
        }
        let (mut frames, mut numbered) = (Sorter::new(shots.room), Sorter::new(shots.room));
        let mut moments = Moments { pairs, copies: 0, frames: Vec::new() };
        // To take pictures by time is half of the work, to put frames in order the other half.
        std::thread::scope(|scope| {
            let (sender, batches) = mpsc::sync_channel(BATCHES);
            let ordering = scope.spawn(|| {
                batches.into_iter().flatten().try_for_each(|frame: Placed| {
                    Numbered::of(&frame).map_or(Ok(()), |file| numbered.push(file))?;
                    frames.push(frame)
                })
            });
            let mut moment: Vec<Placed> = Vec::new();
            for shot in shots {
                let mut shot = shot?;
                let Some((item, clock)) = taken_by(&shot) else { continue };
                let (_, _, order) = clock.read(shot.taken, shot.offset);
                shot.folder = places.get(shot.folder as usize).copied().unwrap_or_default();
                if moment.first().is_some_and(|first| first.shot.taken != shot.taken) {
                    moments.add(&mut moment);
                    // Where no more are taken, that failed; why is said below.
                    if moments.frames.len() >= BATCH && sender.send(mem::take(&mut moments.frames)).is_err() {
                        break;
                    }
                }
                moment.push(Placed { item, order, shot });
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

/// So many frames at least go from one thread to the other at a time, and so many batches wait.
const BATCH: usize = 256;
const BATCHES: usize = 4;

/// Tells the frames among the pictures of each moment.
struct Moments<'a> {
    pairs: &'a IndexSet<(Gear, Gear)>,
    copies: usize,
    /// Those that were not sent on yet.
    frames: Vec<Placed>,
}

impl Moments<'_> {
    /// Takes all pictures of one moment. Those of one body are one frame where their names say so.
    fn add(&mut self, moment: &mut Vec<Placed>) {
        if moment.len() == 1 {
            self.frames.append(moment);
        }
        let place = |one: &Placed| (one.item, one.shot.folder);
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
