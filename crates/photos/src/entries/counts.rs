//! Counts the frames of a body by lens and shooting day. Only the first and the last frame of each future entry
//! are kept, and their number.

use super::dated::DatedEntry;
use crate::conditions::names;
use crate::frames::Frame;
use crate::gear::{Lens, label};
use crate::imported::{ImportedFrames, Stamp, frames_id, frames_of};
use crate::settings::Settings;
use chrono::NaiveDate;
use kitlore_engine::Entry;
use std::collections::{BTreeMap, HashMap};

/// Counts the frames of a body: for the body by lens and shooting day, and for each lens that is an item.
pub(crate) struct FrameCounts<'a> {
    body: &'a str,
    settings: &'a Settings,
    /// Changes with the measured conditions, and starts another count: the conditions of an entry hold for all its
    /// frames, and no frames of this body under other conditions lie within its span.
    run: u32,
    last: Option<u64>,
    /// The index of the body's counter for each pair of body and lens, and for each name of a lens.
    of_pair: BTreeMap<u32, usize>,
    of_label: HashMap<String, usize>,
    for_body: Vec<FrameCounter<'a>>,
    for_lens: BTreeMap<&'a str, FrameCounter<'a>>,
}

impl<'a> FrameCounts<'a> {
    pub fn new(body: &'a str, settings: &'a Settings) -> Self {
        Self {
            body,
            settings,
            run: 0,
            last: None,
            of_pair: BTreeMap::new(),
            of_label: HashMap::new(),
            for_body: Vec::new(),
            for_lens: BTreeMap::new(),
        }
    }

    /// Counts a frame; they come in order.
    pub fn add(&mut self, frame: &Frame, lens: Lens<'a>) {
        if self.last.is_some_and(|last| last != frame.conditions) {
            self.run += 1;
        }
        self.last = Some(frame.conditions);
        let (body, settings, of_label, for_body) =
            (self.body, self.settings, &mut self.of_label, &mut self.for_body);
        let number = *self.of_pair.entry(frame.pair).or_insert_with(|| {
            let with = lens.shown.map(label).unwrap_or_default();
            *of_label.entry(with).or_insert_with_key(|with| {
                let note = lens.name().map(|name| format!("with {name}"));
                for_body.push(FrameCounter::new(body, with, note, settings));
                for_body.len() - 1
            })
        });
        if let Some(counter) = self.for_body.get_mut(number) {
            counter.add(frame, self.run);
        }
        if let Some(item) = lens.item {
            let counter = || FrameCounter::new(item, body, Some(format!("on {body}")), settings);
            self.for_lens.entry(item).or_insert_with(counter).add(frame, self.run);
        }
    }

    /// Adds the entries that the log does not have yet.
    pub fn finish(self, entries: &mut Vec<DatedEntry>) {
        for counter in self.for_body.into_iter().chain(self.for_lens.into_values()) {
            counter.finish(self.settings, entries);
        }
    }
}

/// The frames of an item with one other thing.
struct FrameCounter<'a> {
    item: &'a str,
    of: String,
    note: Option<String>,
    imported: &'a [ImportedFrames],
    /// Frames within an imported span, by its index.
    within: BTreeMap<usize, CountedFrames>,
    /// Other frames by day, conditions, kind of clock, and the number of imported spans before them: a new span
    /// never contains an imported one.
    new: BTreeMap<(NaiveDate, u32, bool, usize), CountedFrames>,
}

struct CountedFrames {
    first: Frame,
    last: Frame,
    stamps: (Stamp, Stamp),
    count: u64,
}

impl<'a> FrameCounter<'a> {
    fn new(item: &'a str, with: &str, note: Option<String>, settings: &'a Settings) -> Self {
        let imported = settings.imported.spans(item, with);
        let (within, new) = (BTreeMap::new(), BTreeMap::new());
        Self { item, of: frames_of(item, with), note, imported, within, new }
    }

    fn add(&mut self, frame: &Frame, run: u32) {
        let one =
            || CountedFrames { first: *frame, last: *frame, stamps: (frame.stamp, frame.stamp), count: 0 };
        let count = match self.imported.iter().position(|span| span.contains(frame.stamp)) {
            Some(at) => self.within.entry(at).or_insert_with(one),
            None => {
                let before = self.imported.iter().filter(|span| span.last < frame.stamp).count();
                self.new.entry((frame.day(), run, frame.stamp.utc, before)).or_insert_with(one)
            }
        };
        count.last = *frame;
        count.stamps = (count.stamps.0.min(frame.stamp), count.stamps.1.max(frame.stamp));
        count.count += 1;
    }

    fn finish(&self, settings: &Settings, entries: &mut Vec<DatedEntry>) {
        for count in self.new.values() {
            let span = ImportedFrames { first: count.stamps.0, last: count.stamps.1, count: count.count };
            entries.push(self.entry(count, count.count, &span, settings));
        }
        // More frames than the log has between two moments: some pictures arrived later.
        for (at, count) in &self.within {
            let Some(span) = self.imported.get(*at).filter(|span| count.count > span.count) else { continue };
            let more = count.count - span.count;
            entries.push(self.entry(count, more, &ImportedFrames { count: count.count, ..*span }, settings));
        }
    }

    fn entry(
        &self,
        count: &CountedFrames,
        amount: u64,
        span: &ImportedFrames,
        settings: &Settings,
    ) -> DatedEntry {
        let (first, last) = (count.first.written(), count.last.written());
        let amount = usize::try_from(amount).unwrap_or(usize::MAX);
        let mut entry =
            Entry::new(&first, "frames").item(self.item).amount(amount).id(frames_id(&self.of, span));
        if first != last {
            entry = entry.until(last);
        }
        if let Some(note) = &self.note {
            entry = entry.note(note);
        }
        let conditions = names(&settings.conditions, count.first.conditions);
        let entry = conditions.into_iter().fold(entry, Entry::condition);
        DatedEntry { at: count.first.local, entry }
    }
}
