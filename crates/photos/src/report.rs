//! From pictures to entries of the log.

use crate::codes::PictureCode;
use crate::conditions::names;
use crate::entries::{DatedEntry, FrameCounts, LensChanges};
use crate::exif::Gear;
use crate::frames::{BodyClock, Frame, Ordered, PlacedShot, jumps};
use crate::gear::{Lens, Match, Unmatched, UnmatchedCounts, matched};
use crate::imported::escaped;
use crate::pictures::{Day, Pictures, Shot};
use crate::problems::Problems;
use crate::settings::Settings;
use crate::sort::{Record, Sorted, SpillError};
use chrono::NaiveDate;
use indexmap::IndexSet;
use kitlore_engine::{Entry, Item, Problem};
use std::collections::{BTreeMap, BTreeSet};
use std::iter::Peekable;
use std::path::PathBuf;

/// What the pictures amount to.
#[derive(Debug, Default)]
pub struct PhotoReport {
    /// The entries that the log does not have yet, in time order.
    pub entries: Vec<Entry>,
    /// Bodies and lenses without an item, the most used first.
    pub unmatched: Vec<Unmatched>,
    /// What could not be read, or is doubtful.
    pub problems: Vec<Problem>,
    /// The number of frames of bodies that are items; copies are not counted.
    pub frames: usize,
    /// Whether some frames are earlier than others that the log has. If pictures were left out because they were
    /// read before, the change back to an earlier lens may be missing: read all of them.
    pub within_imported: bool,
    /// The pairs of body and lens that are both items, and the days.
    settled: BTreeSet<(u32, NaiveDate)>,
    /// Files of a frame that another file shows, such as copies.
    pub copies: usize,
}

impl Pictures {
    /// The entries for these pictures, given the inventory.
    ///
    /// Frames are counted per body, lens and shooting day, once for the body and once for the lens. A lens change is
    /// at the first frame with the new lens; frames that name no lens are no change.
    ///
    /// # Errors
    /// A temporary file is needed and cannot be written or read.
    ///
    /// ```
    /// use kitlore_engine::Item;
    /// use kitlore_photos::{Gear, Picture, Pictures, Settings};
    /// let mut pictures = Pictures::default();
    /// let body = Gear { model: "Harbour Two".into(), serial: "1001".into(), ..Gear::default() };
    /// let at = |minute| chrono::NaiveDate::from_ymd_opt(2026, 2, 7).and_then(|date| date.and_hms_opt(9, minute, 0));
    /// for (minute, lens) in [(1, "35mm"), (2, "35mm"), (3, "85mm")] {
    ///     let lens = Gear { model: lens.into(), ..Gear::default() };
    ///     pictures.add(format!("HRB_000{minute}.JPG"), Picture { taken: at(minute), body: body.clone(), lens, ..Picture::default() })?;
    /// }
    /// let items = [Item::new("C1", "camera").attribute("serial", "1001"), Item::new("L1", "lens").model("35mm")];
    /// let report = pictures.report(&items, &Settings::default())?;
    /// let uses = report.entries.iter().map(|entry| entry.fields());
    /// let uses: Vec<_> = uses.map(|fields| (fields.item.to_owned(), fields.event.to_owned())).collect();
    /// assert!(uses.contains(&("C1".into(), "lens change".into())) && uses.contains(&("L1".into(), "frames".into())));
    /// assert_eq!(report.unmatched.len(), 1); // the 85mm
    /// # Ok::<(), kitlore_photos::SpillError>(())
    /// ```
    pub fn report(&mut self, items: &[Item], settings: &Settings) -> Result<PhotoReport, SpillError> {
        let mut doubts = Vec::new();
        let matches = GearMatches::of(&self.pairs, items, &mut doubts);
        let days = DayMatches::of(&self.days, &matches);
        let clock = |(number, day): (&u32, &Day)| {
            let item = items.get(*number as usize)?;
            Some((*number, (item, BodyClock::of(item, *day, settings))))
        };
        let clocks: Clocks<'_> = days.of_item.iter().filter_map(clock).collect();
        let mut ordered = Ordered::of(self.shots.sorted()?, &self.folders, &self.pairs, |shot| {
            let item = *days.taken_by.get(&(shot.pair, shot.taken.date()))?;
            clocks.get(&item).map(|(_, clock)| (item, clock))
        })?;
        let mut report =
            PhotoReport { frames: ordered.frames.len(), copies: ordered.copies, ..PhotoReport::default() };
        let (numbered, folders) = (&mut ordered.numbered, &ordered.folders);
        // Files by number are compared beside frames by time: sorting both is most of the work.
        let (mut entries, jumps) = std::thread::scope(|scope| {
            let comparing = scope.spawn(|| {
                let mut numbered = numbered.sorted()?.peekable();
                let of_body = |(number, (item, _)): (&u32, &(&Item, BodyClock))| {
                    jumps(&item.id, of_item(&mut numbered, *number, |file| file.item), folders)
                };
                clocks.iter().map(of_body).collect::<Result<Vec<Problems>, SpillError>>()
            });
            let frames = ordered.frames.sorted()?;
            let entries = entries(frames, &clocks, &matches, settings, &mut report.within_imported)?;
            let jumps = comparing.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))?;
            Ok((entries, jumps))
        })?;
        entries.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.entry.fields().id.cmp(b.entry.fields().id)));
        report.entries = entries.into_iter().map(|dated| dated.entry).collect();
        report.settled = days.settled;
        report.unmatched = days.unmatched.list(
            &matches.bodies,
            &matches.lenses,
            &matches.of_bodies,
            &matches.of_lenses,
            items,
        );
        let mut problems = self.problems.clone();
        for ((item, clock), jumps) in clocks.values().zip(jumps) {
            if clock.is_mixed {
                problems.add(mixed_offsets(item));
            }
            problems.extend(jumps);
        }
        doubts.into_iter().for_each(|doubt| problems.add(doubt));
        report.unmatched.iter().for_each(|one| problems.add(one.problem()));
        report.problems = problems.finish();
        Ok(report)
    }
}

/// The items that took pictures, by number, and their clocks.
type Clocks<'a> = BTreeMap<u32, (&'a Item, BodyClock)>;

/// What the pictures of each day show, before frames are told from copies.
struct DayMatches {
    /// The item that took the pictures of a pair and day.
    taken_by: BTreeMap<(u32, NaiveDate), u32>,
    /// All pictures of an item.
    of_item: BTreeMap<u32, Day>,
    /// As [`PhotoReport::settled`].
    settled: BTreeSet<(u32, NaiveDate)>,
    unmatched: UnmatchedCounts,
}

impl DayMatches {
    fn of(days: &BTreeMap<(u32, NaiveDate), Day>, matches: &GearMatches<'_>) -> Self {
        let (taken_by, of_item, settled) = (BTreeMap::new(), BTreeMap::new(), BTreeSet::new());
        let mut all = Self { taken_by, of_item, settled, unmatched: UnmatchedCounts::default() };
        for (&(pair, date), day) in days {
            let pictures = day.with_offset + day.without;
            let (body, lens) = matches.of_pair.get(pair as usize).copied().unwrap_or_default();
            let of_body = matches.item(&matches.of_bodies, body, date);
            match of_body {
                Some(item) => {
                    let item = u32::try_from(item).unwrap_or(u32::MAX);
                    all.taken_by.insert((pair, date), item);
                    all.of_item.entry(item).or_default().add(*day);
                }
                None => all.unmatched.add(false, body.unwrap_or_default(), date, pictures),
            }
            match lens.filter(|lens| matches.item(&matches.of_lenses, Some(*lens), date).is_none()) {
                Some(lens) => all.unmatched.add(true, lens, date, pictures),
                None if of_body.is_some() => {
                    all.settled.insert((pair, date));
                }
                None => {}
            }
        }
        all
    }
}

/// The entries for all frames, which come by item and time, in no order yet.
fn entries(
    frames: Sorted<'_, PlacedShot>,
    clocks: &Clocks<'_>,
    matches: &GearMatches<'_>,
    settings: &Settings,
    within_imported: &mut bool,
) -> Result<Vec<DatedEntry>, SpillError> {
    let mut entries = Vec::new();
    let mut days: BTreeMap<(&str, NaiveDate), u64> = BTreeMap::new();
    let mut frames = frames.peekable();
    for (number, (item, clock)) in clocks {
        let imported = settings.imported.of_item(&item.id).map(|(_, span)| clock.order(span.last)).max();
        let mut counts = FrameCounts::new(&item.id, settings);
        let mut changes = LensChanges::new(&item.id, clock, settings);
        // Most frames have the day, the lens and the conditions of the one before.
        let mut last = None;
        for placed in of_item(&mut frames, *number, |frame| frame.item) {
            let frame = Frame::of(&placed?.shot, clock, &settings.conditions);
            *within_imported |= imported.is_some_and(|imported| frame.order < imported);
            let lens = matches.lens(&frame);
            counts.add(&frame, lens);
            changes.add(&frame, lens, &mut entries);
            let use_of_day = (frame.day(), lens.item, frame.conditions);
            if last != Some(use_of_day) {
                for id in [Some(item.id.as_str()), lens.item].into_iter().flatten() {
                    *days.entry((id, frame.day())).or_default() |= frame.conditions;
                }
                last = Some(use_of_day);
            }
        }
        counts.finish(&mut entries);
    }
    for ((item, date), conditions) in days {
        let id = format!("shooting day:{}:{}", escaped(item), date.format("%Y%m%d"));
        if settings.imported.has(&id) {
            continue;
        }
        let entry = Entry::new(date, "shooting day").item(item).id(id);
        let entry = names(&settings.conditions, conditions).into_iter().fold(entry, Entry::condition);
        entries.push(DatedEntry { at: date.into(), entry });
    }
    Ok(entries)
}

fn mixed_offsets(item: &Item) -> Problem {
    let sentence = "some pictures of `{item}` give an offset from UTC and others do not; the latter are sorted as if in UTC; give their zone";
    Problem::new(PictureCode::MixedOffsets, sentence).with("item", item.id.as_str())
}

impl PhotoReport {
    /// The files that need not be read again while they stay as they are.
    ///
    /// # Errors
    /// A temporary file cannot be read.
    pub fn settled<'a>(
        &'a self,
        pictures: &'a mut Pictures,
    ) -> Result<impl Iterator<Item = Result<PathBuf, SpillError>> + 'a, SpillError> {
        let (shots, folders) = (pictures.shots.sorted()?, &pictures.folders);
        let path =
            |shot: Shot| folders.get_index(shot.folder as usize).map(|folder| folder.join(&*shot.name));
        Ok(shots.filter_map(move |shot| match shot {
            Ok(shot) if self.settled.contains(&(shot.pair, shot.taken.date())) => path(shot).map(Ok),
            Ok(_) => None,
            Err(error) => Some(Err(error)),
        }))
    }
}

/// The next records, as long as they are of one item.
fn of_item<T: Record>(
    records: &mut Peekable<Sorted<'_, T>>,
    item: u32,
    of: impl Fn(&T) -> u32,
) -> impl Iterator<Item = Result<T, SpillError>> {
    std::iter::from_fn(move || records.next_if(|next| next.as_ref().map_or(true, |next| of(next) == item)))
}

/// The distinct bodies and lenses of the pictures, and the items that they are.
struct GearMatches<'a> {
    bodies: Vec<&'a Gear>,
    lenses: Vec<&'a Gear>,
    of_bodies: Vec<Match>,
    of_lenses: Vec<Match>,
    /// For each pair the index of its body and of its lens.
    of_pair: Vec<(Option<usize>, Option<usize>)>,
    items: &'a [Item],
}

impl<'a> GearMatches<'a> {
    fn of(pairs: &'a IndexSet<(Gear, Gear)>, items: &'a [Item], doubts: &mut Vec<Problem>) -> Self {
        let bodies = distinct(pairs.iter().map(|(body, _)| body));
        let lenses = distinct(pairs.iter().map(|(_, lens)| lens).filter(|lens| !lens.is_empty()));
        let of_pair = pairs.iter().map(|(body, lens)| (index(&bodies, body), index(&lenses, lens)));
        Self {
            of_bodies: matched(&bodies, items, doubts),
            of_lenses: matched(&lenses, items, doubts),
            of_pair: of_pair.collect(),
            bodies,
            lenses,
            items,
        }
    }

    fn item(&self, of: &[Match], index: Option<usize>, date: NaiveDate) -> Option<usize> {
        of.get(index?)?.item(self.items, date)
    }

    fn lens(&self, frame: &Frame) -> Lens<'a> {
        let index = self.of_pair.get(frame.pair as usize).and_then(|(_, lens)| *lens);
        let item = self.item(&self.of_lenses, index, frame.day()).and_then(|item| self.items.get(item));
        let shown = index.and_then(|index| self.lenses.get(index)).copied();
        Lens { shown, item: item.map(|item| item.id.as_str()) }
    }
}

fn distinct<'a>(gears: impl Iterator<Item = &'a Gear>) -> Vec<&'a Gear> {
    gears.collect::<BTreeSet<_>>().into_iter().collect()
}

fn index(gears: &[&Gear], gear: &Gear) -> Option<usize> {
    gears.binary_search(&gear).ok()
}
