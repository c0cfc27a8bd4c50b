//! Pictures in the two orders in which they are looked at: frames by time, files by number.

use crate::copies::without_copies;
use crate::frames::{Clock, Placed};
use crate::jumps::Numbered;
use crate::metadata::Gear;
use crate::pictures::Shot;
use crate::room::RoomError;
use crate::sorter::{Sorted, Sorter};
use indexmap::IndexSet;
use std::path::PathBuf;

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
        let mut ordered = Self {
            frames: Sorter::new(shots.room),
            numbered: Sorter::new(shots.room),
            copies: 0,
            folders: sorted.into_iter().map(|(folder, _)| folder).collect(),
        };
        let mut moment: Vec<Placed> = Vec::new();
        for shot in shots {
            let mut shot = shot?;
            let Some((item, clock)) = taken_by(&shot) else { continue };
            let (_, _, order) = clock.read(shot.taken, shot.offset);
            shot.folder = places.get(shot.folder as usize).copied().unwrap_or_default();
            if moment.first().is_some_and(|first| first.shot.taken != shot.taken) {
                ordered.add(&mut moment, pairs)?;
            }
            moment.push(Placed { item, order, shot });
        }
        ordered.add(&mut moment, pairs)?;
        Ok(ordered)
    }

    /// Takes all pictures of one moment. Those of one body are one frame where their names say so.
    fn add(&mut self, moment: &mut Vec<Placed>, pairs: &IndexSet<(Gear, Gear)>) -> Result<(), RoomError> {
        let place = |one: &Placed| (one.item, one.shot.folder);
        moment.sort_by(|a, b| place(a).cmp(&place(b)).then_with(|| a.shot.name.cmp(&b.shot.name)));
        while let Some(item) = moment.last().map(|last| last.item) {
            let of_item = moment.split_off(moment.partition_point(|other| other.item < item));
            let files = of_item.len();
            let frames = if files == 1 { of_item } else { without_copies(of_item, pairs) };
            self.copies += files - frames.len();
            for frame in frames {
                Numbered::of(&frame).map_or(Ok(()), |numbered| self.numbered.push(numbered))?;
                self.frames.push(frame)?;
            }
        }
        Ok(())
    }
}
