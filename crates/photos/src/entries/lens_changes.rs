//! The lens changes of one body, each at the first frame with the new lens.

use super::dated::DatedEntry;
use crate::conditions::names;
use crate::exif::Gear;
use crate::frames::{BodyClock, Frame};
use crate::gear::{Lens, is_another, label, of_label};
use crate::imported::{ImportedFrames, escaped};
use crate::settings::Settings;
use chrono::NaiveDateTime;
use kitlore_engine::Entry;
use std::borrow::Cow;
use std::collections::BTreeMap;
use std::iter::Peekable;
use std::vec::IntoIter;

/// Looks for lens changes from frame to frame.
pub(crate) struct LensChanges<'a> {
    body: &'a str,
    settings: &'a Settings,
    /// The lens at moments that the log has. Without them, a folder with some of the pictures could show the same
    /// change again at another moment.
    logged: Peekable<IntoIter<(NaiveDateTime, Gear)>>,
    mounted: Option<MountedLens<'a>>,
    /// The imported frames of the body with each lens, by pair.
    imported: BTreeMap<u32, &'a [ImportedFrames]>,
}

/// The lens on a body.
struct MountedLens<'a> {
    lens: Cow<'a, Gear>,
    item: Option<&'a str>,
    /// Whether the log has the frame that showed it. Changes between two such frames are in the log already.
    logged: bool,
}

impl MountedLens<'_> {
    fn is_same(&self, lens: &Gear, item: Option<&str>) -> bool {
        match (self.item, item) {
            (Some(one), Some(other)) => one == other,
            _ => !is_another(&self.lens, lens),
        }
    }
}

impl<'a> LensChanges<'a> {
    pub fn new(body: &'a str, clock: &BodyClock, settings: &'a Settings) -> Self {
        let mut logged: Vec<(NaiveDateTime, Gear)> = Vec::new();
        for (with, span) in settings.imported.of_item(body) {
            for stamp in [span.first, span.last] {
                logged.push((clock.order(stamp), of_label(with)));
            }
        }
        logged.retain(|(_, lens)| !lens.is_empty());
        logged.sort();
        let logged = logged.into_iter().peekable();
        Self { body, settings, logged, mounted: None, imported: BTreeMap::new() }
    }

    /// Adds an entry if the lens of the next frame is another one. Frames come in order.
    pub fn add(&mut self, frame: &Frame, lens: Lens<'a>, entries: &mut Vec<DatedEntry>) {
        while let Some((_, lens)) = self.logged.next_if(|(order, _)| *order < frame.order) {
            self.mounted = Some(MountedLens { lens: Cow::Owned(lens), item: None, logged: true });
        }
        let Some(shown) = lens.shown else { return };
        let (body, settings) = (self.body, self.settings);
        let spans = self.imported.entry(frame.pair);
        let spans = spans.or_insert_with(|| settings.imported.spans(body, &label(shown)));
        let logged = spans.iter().any(|span| span.contains(frame.stamp));
        let same = self.mounted.as_ref().is_some_and(|mounted| mounted.is_same(shown, lens.item));
        if let Some(before) = &self.mounted
            && !same
            && !(logged && before.logged)
        {
            let id = format!("lens change:{}:{}", escaped(body), frame.stamp);
            if !settings.imported.has(&id) {
                let entry = Entry::new(frame.written(), "lens change").item(body).id(id);
                let entry = entry.note(format!("from {} to {}", label(&before.lens), label(shown)));
                let conditions = names(&settings.conditions, frame.conditions);
                let entry = conditions.into_iter().fold(entry, Entry::condition);
                entries.push(DatedEntry { at: frame.local, entry });
            }
        }
        // Of two descriptions of one lens the fuller one stays.
        match &mut self.mounted {
            Some(mounted) if same && shown.serial.is_empty() && lens.item.is_none() => {
                mounted.logged = logged
            }
            mounted => *mounted = Some(MountedLens { lens: Cow::Borrowed(shown), item: lens.item, logged }),
        }
    }
}
