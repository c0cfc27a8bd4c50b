//! Counted frames and lens changes of one body.

use crate::frames::{Clock, Frame};
use crate::known::{Span, escaped, frames_id, frames_of};
use crate::marks::names;
use crate::metadata::Gear;
use crate::report::Settings;
use chrono::{NaiveDate, NaiveDateTime};
use kitlore_engine::Entry;
use std::collections::BTreeMap;

/// An entry and where it stands among the others.
pub(crate) struct Dated {
    pub at: NaiveDateTime,
    pub entry: Entry,
}

/// What is gathered of a shooting day.
#[derive(Debug, Default)]
pub(crate) struct Day {
    pub conditions: u64,
}

/// The lens of a frame, if it shows one, and the id of its item, if it has one.
type LensOf<'a> = dyn Fn(&Frame) -> Option<(&'a Gear, Option<&'a str>)> + 'a;

pub(crate) struct Lenses<'f, 'a> {
    pub of: &'f LensOf<'a>,
}

impl<'a> Lenses<'_, 'a> {
    fn shown(&self, frame: &Frame) -> Option<&'a Gear> {
        (self.of)(frame).map(|(lens, _)| lens).filter(|lens| !lens.is_empty())
    }

    fn item(&self, frame: &Frame) -> Option<&'a str> {
        (self.of)(frame).and_then(|(_, item)| item)
    }

    /// As people call it: by its item, else by its model.
    fn called(&self, frame: &Frame) -> String {
        match (self.item(frame), self.shown(frame)) {
            (Some(item), _) => item.to_owned(),
            (None, Some(lens)) => label(lens),
            (None, None) => String::new(),
        }
    }
}

/// How a lens is named in ids: as the picture shows it, so that an item added later changes no id.
fn label(lens: &Gear) -> String {
    match (lens.model.is_empty(), lens.serial.is_empty()) {
        (false, true) => lens.model.clone(),
        _ => format!("{}#{}", lens.model, lens.serial),
    }
}

fn of_label(label: &str) -> Gear {
    let (model, serial) = label.rsplit_once('#').unwrap_or((label, ""));
    Gear { make: String::new(), model: model.to_owned(), serial: serial.to_owned() }
}

/// Whether two frames certainly show different lenses.
fn is_another(one: &Gear, other: &Gear) -> bool {
    let differ = |a: &str, b: &str| !a.is_empty() && !b.is_empty() && !a.eq_ignore_ascii_case(b);
    differ(&one.model, &other.model) || differ(&one.serial, &other.serial)
}

/// The frames of a body, counted for it by lens and shooting day, and for each lens that is an item.
pub(crate) fn counted(
    body: &str,
    frames: &[Frame],
    lenses: &Lenses<'_, '_>,
    settings: &Settings,
) -> Vec<Dated> {
    let mut for_body: BTreeMap<String, Vec<(&Frame, u32)>> = BTreeMap::new();
    let mut for_lens: BTreeMap<String, Vec<(&Frame, u32)>> = BTreeMap::new();
    // Where what was measured changes, another count begins: conditions hold for all frames of an entry, and
    // its span is never one in which others of that body were taken under other conditions.
    let (mut run, mut last) = (0, None);
    for frame in frames {
        if last.is_some_and(|last| last != frame.conditions) {
            run += 1;
        }
        last = Some(frame.conditions);
        let with = lenses.shown(frame).map(label).unwrap_or_default();
        for_body.entry(with).or_default().push((frame, run));
        if let Some(item) = lenses.item(frame) {
            for_lens.entry(item.to_owned()).or_default().push((frame, run));
        }
    }
    let mut told = Vec::new();
    for (with, frames) in for_body {
        let note = frames.first().map(|(frame, _)| lenses.called(frame)).filter(|name| !name.is_empty());
        count(body, &with, note.map(|name| format!("with {name}")), &frames, settings, &mut told);
    }
    for (lens, frames) in for_lens {
        count(&lens, body, Some(format!("on {body}")), &frames, settings, &mut told);
    }
    told
}

/// Counts the frames of an item with one other thing, less those that the log holds.
fn count(
    item: &str,
    with: &str,
    note: Option<String>,
    frames: &[(&Frame, u32)],
    settings: &Settings,
    told: &mut Vec<Dated>,
) {
    let known = settings.known.spans(item, with);
    let mut again: Vec<Vec<&Frame>> = vec![Vec::new(); known.len()];
    let mut new: BTreeMap<(NaiveDate, u32, bool, usize), Vec<&Frame>> = BTreeMap::new();
    for (frame, run) in frames {
        match known.iter().position(|span| span.holds(frame.stamp)).and_then(|at| again.get_mut(at)) {
            Some(again) => again.push(frame),
            None => {
                // A new span never reaches over a known one.
                let before = known.iter().filter(|span| span.last < frame.stamp).count();
                new.entry((frame.day(), *run, frame.stamp.utc, before)).or_default().push(frame);
            }
        }
    }
    let mut tell = |frames: &[&Frame], amount: usize, span: Span| {
        let (Some(first), Some(last)) = (frames.first(), frames.last()) else { return };
        let id = frames_id(&frames_of(item, with), &span);
        let mut entry = Entry::new(first.written(), "frames").item(item).amount(amount).id(id);
        if first.written() != last.written() {
            entry = entry.until(last.written());
        }
        if let Some(note) = &note {
            entry = entry.note(note);
        }
        let entry = names(&settings.marks, first.conditions).into_iter().fold(entry, Entry::condition);
        told.push(Dated { at: first.local, entry });
    };
    for frames in new.values() {
        let stamps = || frames.iter().map(|frame| frame.stamp);
        if let (Some(first), Some(last)) = (stamps().min(), stamps().max()) {
            tell(frames, frames.len(), Span { first, last, count: frames.len() as u64 });
        }
    }
    // More frames than the log has between two moments: some of them came later.
    for (span, frames) in known.iter().zip(&again) {
        let count = frames.len() as u64;
        if count > span.count {
            let more = usize::try_from(count - span.count).unwrap_or(usize::MAX);
            tell(frames, more, Span { count, ..*span });
        }
    }
}

/// The lens changes of a body, each at the first frame with the other lens.
pub(crate) fn changes(
    body: &str,
    frames: &[Frame],
    lenses: &Lenses<'_, '_>,
    clock: &Clock,
    settings: &Settings,
) -> Vec<Dated> {
    // What the log knows of the body stands as a witness between the frames: it says which lens was on, so
    // that a folder of some pictures only does not show a change again at another moment.
    let mut witnesses: Vec<(NaiveDateTime, Gear)> = Vec::new();
    for (with, span) in settings.known.of_item(body) {
        for stamp in [span.first, span.last] {
            witnesses.push((clock.order(stamp), of_label(with)));
        }
    }
    witnesses.retain(|(_, lens)| !lens.is_empty());
    witnesses.sort();
    let mut witnesses = witnesses.into_iter().peekable();
    let mut on: Option<On> = None;
    let mut told = Vec::new();
    for frame in frames {
        while let Some((_, lens)) = witnesses.next_if(|(order, _)| *order < frame.order) {
            on = Some(On { lens, item: None, known: true });
        }
        let Some(lens) = lenses.shown(frame) else { continue };
        let known = settings.known.spans(body, &label(lens)).iter().any(|span| span.holds(frame.stamp));
        let item = lenses.item(frame);
        let same = on.as_ref().is_some_and(|on| on.is_same(lens, item));
        if let Some(before) = &on
            && !same
            && !(known && before.known)
        {
            let id = format!("lens change:{}:{}", escaped(body), frame.stamp);
            if !settings.known.has(&id) {
                let entry = Entry::new(frame.written(), "lens change").item(body).id(id);
                let entry = entry.note(format!("from {} to {}", label(&before.lens), label(lens)));
                let entry =
                    names(&settings.marks, frame.conditions).into_iter().fold(entry, Entry::condition);
                told.push(Dated { at: frame.local, entry });
            }
        }
        // Of two views of one lens the one with more stays.
        if !same || !lens.serial.is_empty() || item.is_some() {
            let item = item.map(str::to_owned);
            on = Some(On { lens: lens.clone(), item, known });
        } else if let Some(on) = &mut on {
            on.known = known;
        }
    }
    told
}

/// The lens on a body.
struct On {
    lens: Gear,
    item: Option<String>,
    /// Whether the log knows of the frame that showed it: from one known frame to the next all was told.
    known: bool,
}

impl On {
    fn is_same(&self, lens: &Gear, item: Option<&str>) -> bool {
        match (&self.item, item) {
            (Some(one), Some(other)) => one == other,
            _ => !is_another(&self.lens, lens),
        }
    }
}
