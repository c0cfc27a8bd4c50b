//! The lens changes of one body, each at the first frame with the other lens.

use crate::frames::{Clock, Frame};
use crate::known::{Span, escaped};
use crate::lenses::{Lens, is_another, label, of_label};
use crate::marks::names;
use crate::metadata::Gear;
use crate::report::{Dated, Settings};
use chrono::NaiveDateTime;
use kitlore_engine::Entry;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::iter::Peekable;
use std::vec::IntoIter;

/// Looks for lens changes from frame to frame.
pub(crate) struct Changes<'a> {
    body: &'a str,
    settings: &'a Settings,
    /// What the log knows of the body stands as a witness between the frames: it says which lens was on, so that
    /// a folder of some pictures only does not show a change again at another moment.
    witnesses: Peekable<IntoIter<(NaiveDateTime, Gear)>>,
    on: Option<On<'a>>,
    /// What the log knows of the body with each lens, by the pair of both.
    known: BTreeMap<u32, &'a [Span]>,
}

/// The lens on a body.
struct On<'a> {
    lens: Cow<'a, Gear>,
    item: Option<&'a str>,
    /// Whether the log knows of the frame that showed it: from one known frame to the next all was told.
    known: bool,
}

impl On<'_> {
    fn is_same(&self, lens: &Gear, item: Option<&str>) -> bool {
        match (self.item, item) {
            (Some(one), Some(other)) => one == other,
            _ => !is_another(&self.lens, lens),
        }
    }
}

impl<'a> Changes<'a> {
    pub fn new(body: &'a str, clock: &Clock, settings: &'a Settings) -> Self {
        let mut witnesses: Vec<(NaiveDateTime, Gear)> = Vec::new();
        for (with, span) in settings.known.of_item(body) {
            for stamp in [span.first, span.last] {
                witnesses.push((clock.order(stamp), of_label(with)));
            }
        }
        witnesses.retain(|(_, lens)| !lens.is_empty());
        witnesses.sort();
        Self { body, settings, witnesses: witnesses.into_iter().peekable(), on: None, known: BTreeMap::new() }
    }

    /// Looks at the next frame; they come in order.
    pub fn look(&mut self, frame: &Frame, lens: Lens<'a>, told: &mut Vec<Dated>) {
        while let Some((_, lens)) = self.witnesses.next_if(|(order, _)| *order < frame.order) {
            self.on = Some(On { lens: Cow::Owned(lens), item: None, known: true });
        }
        let Some(shown) = lens.shown else { return };
        let (body, settings) = (self.body, self.settings);
        let spans = self.known.entry(frame.pair);
        let spans = spans.or_insert_with(|| settings.known.spans(body, &label(shown)));
        let known = spans.iter().any(|span| span.holds(frame.stamp));
        let same = self.on.as_ref().is_some_and(|on| on.is_same(shown, lens.item));
        if let Some(before) = &self.on
            && !same
            && !(known && before.known)
        {
            let id = format!("lens change:{}:{}", escaped(body), frame.stamp);
            if !settings.known.has(&id) {
                let entry = Entry::new(frame.written(), "lens change").item(body).id(id);
                let entry = entry.note(format!("from {} to {}", label(&before.lens), label(shown)));
                let conditions = names(&settings.marks, frame.conditions);
                let entry = conditions.into_iter().fold(entry, Entry::condition);
                told.push(Dated { at: frame.local, entry });
            }
        }
        // Of two views of one lens the one with more stays.
        match &mut self.on {
            Some(on) if same && shown.serial.is_empty() && lens.item.is_none() => on.known = known,
            on => *on = Some(On { lens: Cow::Borrowed(shown), item: lens.item, known }),
        }
    }
}
