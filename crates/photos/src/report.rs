//! From pictures to entries of the log: the whole way, body by body.

use crate::bodies::{Match, matched};
use crate::changes::Changes;
use crate::counts::Counts;
use crate::frames::{Clock, Frame};
use crate::jumps::jumps;
use crate::known::{Known, escaped};
use crate::lenses::Lens;
use crate::marks::{Mark, names};
use crate::metadata::Gear;
use crate::order::Ordered;
use crate::pictures::{Day, Pictures, Shot};
use crate::problems::Problems;
use crate::room::RoomError;
use crate::sorter::{Record, Sorted};
use crate::unmatched::{Tally, Unmatched};
use chrono::{NaiveDate, NaiveDateTime, TimeDelta};
use chrono_tz::Tz;
use kitlore_engine::{Entry, Item, Problem};
use std::collections::{BTreeMap, BTreeSet};
use std::iter::Peekable;
use std::path::PathBuf;

/// How pictures are read as a log.
#[derive(Debug, Default)]
pub struct Settings {
    /// The zone of pictures that give no offset from UTC; without it their times are those of the house.
    pub zone: Option<Tz>,
    /// By how much the clock of a body, by its item's id, is mended.
    pub shifts: BTreeMap<String, TimeDelta>,
    /// Conditions that hold by what was measured; the first 64 count.
    pub marks: Vec<Mark>,
    /// What the log holds already.
    pub known: Known,
}

/// What the pictures tell.
#[derive(Debug, Default)]
pub struct Report {
    /// The entries that the log does not hold yet, in time order.
    pub entries: Vec<Entry>,
    /// Bodies and lenses without an item, the most used first.
    pub unmatched: Vec<Unmatched>,
    /// What could not be read, or is doubtful.
    pub problems: Vec<Problem>,
    /// The frames of bodies with an item; files of one frame are one.
    pub frames: usize,
    /// Whether some frames lie before others that the log knows. Where pictures known to the log were left
    /// unread, a lens change back to them cannot be seen: read all.
    pub amid_known: bool,
    /// The pairs of body and lens of which both have an item, and on which days.
    settled: BTreeSet<(u32, NaiveDate)>,
    /// Files that were read and are of a frame counted already, such as copies.
    pub copies: usize,
}

impl Pictures {
    /// The entries these pictures stand for, given the inventory.
    ///
    /// Frames are counted per body, lens and shooting day, once for the body and once for the lens; a lens
    /// change stands at the first frame with the other lens; frames that show no lens change nothing.
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
    /// let told = report.entries.iter().map(|entry| entry.fields());
    /// let told: Vec<_> = told.map(|fields| (fields.item.to_owned(), fields.event.to_owned())).collect();
    /// assert!(told.contains(&("C1".into(), "lens change".into())) && told.contains(&("L1".into(), "frames".into())));
    /// assert_eq!(report.unmatched.len(), 1); // the 85mm
    /// # Ok::<(), kitlore_photos::RoomError>(())
    /// ```
    pub fn report(&mut self, items: &[Item], settings: &Settings) -> Result<Report, RoomError> {
        let mut problems = Problems::default();
        let mut doubts = Vec::new();
        let bodies = distinct(self.pairs.iter().map(|(body, _)| body));
        let lenses = distinct(self.pairs.iter().map(|(_, lens)| lens).filter(|lens| !lens.is_empty()));
        let found = Found {
            bodies: matched(&bodies, items, &mut doubts),
            lenses: matched(&lenses, items, &mut doubts),
            of_pair: self
                .pairs
                .iter()
                .map(|(body, lens)| (number(&bodies, body), number(&lenses, lens)))
                .collect(),
            items,
        };
        let mut report = Report::default();
        let mut missing = Tally::default();
        // The items of bodies: which one took the pictures of a day, and how many.
        let mut taken_by: BTreeMap<(u32, NaiveDate), u32> = BTreeMap::new();
        let mut of_items: BTreeMap<u32, Day> = BTreeMap::new();
        for (&(pair, date), day) in &self.days {
            let pictures = day.with_offset + day.without;
            let (body, lens) = found.of_pair.get(pair as usize).copied().unwrap_or_default();
            let of_body = found.item(&found.bodies, body, date);
            match of_body {
                Some(item) => {
                    let item = u32::try_from(item).unwrap_or(u32::MAX);
                    taken_by.insert((pair, date), item);
                    of_items.entry(item).or_default().add(*day);
                }
                None => missing.add(false, body.unwrap_or_default(), date, pictures),
            }
            match lens.filter(|lens| found.item(&found.lenses, Some(*lens), date).is_none()) {
                Some(lens) => missing.add(true, lens, date, pictures),
                None if of_body.is_some() => {
                    report.settled.insert((pair, date));
                }
                None => {}
            }
        }
        let clock = |(number, day): (u32, Day)| {
            let item = items.get(number as usize)?;
            Some((number, (item, Clock::of(item, day, settings))))
        };
        let of_items: BTreeMap<u32, (&Item, Clock)> = of_items.into_iter().filter_map(clock).collect();
        let mut ordered = Ordered::of(self.shots.sorted()?, &self.folders, &self.pairs, |shot| {
            let item = *taken_by.get(&(shot.pair, shot.taken.date()))?;
            of_items.get(&item).map(|(_, clock)| (item, clock))
        })?;
        (report.frames, report.copies) = (ordered.frames.len(), ordered.copies);
        let mut told = Vec::new();
        let mut days: BTreeMap<(&str, NaiveDate), u64> = BTreeMap::new();
        let (numbered, folders) = (&mut ordered.numbered, &ordered.folders);
        // Files by number are looked at beside frames by time: putting both in order is most of the work.
        let jumped = std::thread::scope(|scope| {
            let looking = scope.spawn(|| {
                let mut numbered = numbered.sorted()?.peekable();
                let of_body = |(number, (item, _)): (&u32, &(&Item, Clock))| {
                    jumps(&item.id, of_item(&mut numbered, *number, |file| file.item), folders)
                };
                of_items.iter().map(of_body).collect::<Result<Vec<Problems>, RoomError>>()
            });
            let mut frames = ordered.frames.sorted()?.peekable();
            for (number, (item, clock)) in &of_items {
                let known = settings.known.of_item(&item.id).map(|(_, span)| clock.order(span.last)).max();
                let mut counts = Counts::new(&item.id, settings);
                let mut changes = Changes::new(&item.id, clock, settings);
                // Most frames are of the day, the lens and the conditions of those before.
                let mut last = None;
                for placed in of_item(&mut frames, *number, |frame| frame.item) {
                    let frame = Frame::of(&placed?.shot, clock, &settings.marks);
                    report.amid_known |= known.is_some_and(|known| frame.order < known);
                    let lens = found.lens(&lenses, &frame);
                    counts.add(&frame, lens);
                    changes.look(&frame, lens, &mut told);
                    let use_of_day = (frame.day(), lens.item, frame.conditions);
                    if last != Some(use_of_day) {
                        for id in [Some(item.id.as_str()), lens.item].into_iter().flatten() {
                            *days.entry((id, frame.day())).or_default() |= frame.conditions;
                        }
                        last = Some(use_of_day);
                    }
                }
                counts.tell(&mut told);
            }
            looking.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        })?;
        for ((item, clock), jumps) in of_items.values().zip(jumped) {
            if clock.is_mixed {
                let message = format!(
                    "some pictures of `{}` give an offset from UTC and some do not; those are taken as of UTC when all are put in order; give the zone of the others",
                    item.id
                );
                problems.add(Problem::new("mixed-offsets", message));
            }
            problems.extend(jumps);
        }
        for ((item, date), conditions) in days {
            let id = format!("shooting day:{}:{}", escaped(item), date.format("%Y%m%d"));
            if settings.known.has(&id) {
                continue;
            }
            let entry = Entry::new(date, "shooting day").item(item).id(id);
            let entry = names(&settings.marks, conditions).into_iter().fold(entry, Entry::condition);
            told.push(Dated { at: date.into(), entry });
        }
        told.sort_by(|a, b| a.at.cmp(&b.at).then_with(|| a.entry.fields().id.cmp(b.entry.fields().id)));
        report.entries = told.into_iter().map(|dated| dated.entry).collect();
        report.unmatched = missing.list(&bodies, &lenses, &found.bodies, &found.lenses, items);
        let mut all = self.problems.clone();
        all.extend(problems);
        doubts.into_iter().for_each(|doubt| all.add(doubt));
        report.unmatched.iter().for_each(|one| all.add(one.problem()));
        report.problems = all.finish();
        Ok(report)
    }
}

impl Report {
    /// The files that need not be read again while they stay as they are.
    ///
    /// # Errors
    /// A temporary file cannot be read.
    pub fn settled<'a>(
        &'a self,
        pictures: &'a mut Pictures,
    ) -> Result<impl Iterator<Item = Result<PathBuf, RoomError>> + 'a, RoomError> {
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

/// The next records as long as they are of one item.
fn of_item<T: Record>(
    records: &mut Peekable<Sorted<'_, T>>,
    item: u32,
    of: impl Fn(&T) -> u32,
) -> impl Iterator<Item = Result<T, RoomError>> {
    std::iter::from_fn(move || records.next_if(|next| next.as_ref().map_or(true, |next| of(next) == item)))
}

/// An entry and where it stands among the others.
pub(crate) struct Dated {
    pub at: NaiveDateTime,
    pub entry: Entry,
}

struct Found<'a> {
    bodies: Vec<Match>,
    lenses: Vec<Match>,
    /// For each pair the number of its body and of its lens.
    of_pair: Vec<(Option<usize>, Option<usize>)>,
    items: &'a [Item],
}

impl<'a> Found<'a> {
    fn item(&self, of: &[Match], number: Option<usize>, date: NaiveDate) -> Option<usize> {
        of.get(number?)?.item(self.items, date)
    }

    fn lens(&self, lenses: &[&'a Gear], frame: &Frame) -> Lens<'a> {
        let number = self.of_pair.get(frame.pair as usize).and_then(|(_, lens)| *lens);
        let item = self.item(&self.lenses, number, frame.day()).and_then(|item| self.items.get(item));
        let shown = number.and_then(|number| lenses.get(number)).copied();
        Lens { shown, item: item.map(|item| item.id.as_str()) }
    }
}

fn distinct<'a>(gears: impl Iterator<Item = &'a Gear>) -> Vec<&'a Gear> {
    gears.collect::<BTreeSet<_>>().into_iter().collect()
}

fn number(gears: &[&Gear], gear: &Gear) -> Option<usize> {
    gears.binary_search(&gear).ok()
}
