//! The frames of a body counted by lens and shooting day: of each entry to be its first and last frame and their
//! number, whatever their number.

use crate::frames::Frame;
use crate::known::{Span, Stamp, frames_id, frames_of};
use crate::lenses::{Lens, label};
use crate::marks::names;
use crate::report::Dated;
use crate::report::Settings;
use chrono::NaiveDate;
use kitlore_engine::Entry;
use std::collections::{BTreeMap, HashMap};

/// Counts the frames of a body, for it by lens and shooting day, and for each lens that is an item.
pub(crate) struct Counts<'a> {
    body: &'a str,
    settings: &'a Settings,
    /// Where what was measured changes, another count begins: conditions hold for all frames of an entry, and
    /// its span is never one in which others of that body were taken under other conditions.
    run: u32,
    last: Option<u64>,
    /// The counter of the body for each pair of body and lens, and for each name of a lens.
    of_pair: BTreeMap<u32, usize>,
    of_label: HashMap<String, usize>,
    for_body: Vec<Counter<'a>>,
    for_lens: BTreeMap<&'a str, Counter<'a>>,
}

impl<'a> Counts<'a> {
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
                let note = lens.called().map(|name| format!("with {name}"));
                for_body.push(Counter::new(body, with, note, settings));
                for_body.len() - 1
            })
        });
        if let Some(counter) = self.for_body.get_mut(number) {
            counter.add(frame, self.run);
        }
        if let Some(item) = lens.item {
            let counter = || Counter::new(item, body, Some(format!("on {body}")), settings);
            self.for_lens.entry(item).or_insert_with(counter).add(frame, self.run);
        }
    }

    /// The entries, less those that the log holds.
    pub fn tell(self, told: &mut Vec<Dated>) {
        for counter in self.for_body.into_iter().chain(self.for_lens.into_values()) {
            counter.tell(self.settings, told);
        }
    }
}

/// The frames of an item with one other thing.
struct Counter<'a> {
    item: &'a str,
    of: String,
    note: Option<String>,
    known: &'a [Span],
    /// Those within a known span, by its number.
    again: BTreeMap<usize, Count>,
    /// By day, conditions, kind of clock, and known spans before: a new span never reaches over a known one.
    new: BTreeMap<(NaiveDate, u32, bool, usize), Count>,
}

struct Count {
    first: Frame,
    last: Frame,
    stamps: (Stamp, Stamp),
    count: u64,
}

impl<'a> Counter<'a> {
    fn new(item: &'a str, with: &str, note: Option<String>, settings: &'a Settings) -> Self {
        let known = settings.known.spans(item, with);
        Self { item, of: frames_of(item, with), note, known, again: BTreeMap::new(), new: BTreeMap::new() }
    }

    fn add(&mut self, frame: &Frame, run: u32) {
        let one = || Count { first: *frame, last: *frame, stamps: (frame.stamp, frame.stamp), count: 0 };
        let count = match self.known.iter().position(|span| span.holds(frame.stamp)) {
            Some(at) => self.again.entry(at).or_insert_with(one),
            None => {
                let before = self.known.iter().filter(|span| span.last < frame.stamp).count();
                self.new.entry((frame.day(), run, frame.stamp.utc, before)).or_insert_with(one)
            }
        };
        count.last = *frame;
        count.stamps = (count.stamps.0.min(frame.stamp), count.stamps.1.max(frame.stamp));
        count.count += 1;
    }

    fn tell(&self, settings: &Settings, told: &mut Vec<Dated>) {
        for count in self.new.values() {
            let span = Span { first: count.stamps.0, last: count.stamps.1, count: count.count };
            told.push(self.entry(count, count.count, &span, settings));
        }
        // More frames than the log has between two moments: some of them came later.
        for (at, count) in &self.again {
            let Some(span) = self.known.get(*at).filter(|span| count.count > span.count) else { continue };
            let more = count.count - span.count;
            told.push(self.entry(count, more, &Span { count: count.count, ..*span }, settings));
        }
    }

    fn entry(&self, count: &Count, amount: u64, span: &Span, settings: &Settings) -> Dated {
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
        let conditions = names(&settings.marks, count.first.conditions);
        let entry = conditions.into_iter().fold(entry, Entry::condition);
        Dated { at: count.first.local, entry }
    }
}
