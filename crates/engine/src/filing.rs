//! Entries under the names they are for, and the entries of an item.

use crate::book::{Book, ItemRecord, Keyed};
use crate::line::{
    DATED, EntrySpan, Extra, FOR_GROUP, FOR_KIT, LENDS, LIFE, Line, Moment, OTHER_UNIT, READING, VOIDED,
};
use crate::names::index;
use crate::problem::Problem;
use crate::program::{EventInfo, Life};
use crate::read::Read;
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::{Amount, When, key};

/// How many entries may be pending.
const PENDING: usize = 1 << 18;

impl Book {
    /// Reports what is doubtful about an entry on its own.
    pub(crate) fn note_doubts(&mut self, read: &Read, seq: u32) {
        if read.event as usize >= self.program.inner().events.len() {
            self.strangers.push((seq, read.event));
        }
        let usage = read.info.task.is_none() && read.info.life.is_none();
        if usage && read.amount.is_some() && read.reading.is_some() {
            self.doubt(read, seq, "reading-over-amount", "has an amount and a reading; the reading stands");
        }
        if read.info.gauge && !read.info.occurs && read.reading.is_none() {
            self.doubt(
                read,
                seq,
                "missing-reading",
                "has no reading, and the rules only look at its reading",
            );
        }
        if self.is_other_unit(read) {
            let what = "is counted in its own name, not in the unit given; this entry is not counted";
            self.doubt(read, seq, "unit-differs", what);
        }
    }

    fn doubt(&mut self, read: &Read, seq: u32, code: &'static str, what: &str) {
        let message = format!("`{}` {what}", self.events.singular(read.event));
        self.note(seq, Problem::new(code, message));
    }

    /// Whether a usage comes in a unit that is not its own name.
    fn is_other_unit(&mut self, read: &Read) -> bool {
        let (Some(unit), Some(_)) = (read.unit, read.info.meter) else {
            return false;
        };
        let (events, units) = (&self.events, &self.units);
        *self
            .other_units
            .entry((read.event, unit))
            .or_insert_with(|| key(events.text(read.event)) != key(units.text(unit)))
    }

    /// Files an entry under the name it is for; says where.
    pub(crate) fn file(&mut self, read: &Read, seq: u32) -> (u32, (i64, u32, u32)) {
        let zone = self.program.inner().zone;
        let begin = zone.stands(read.when);
        let at = read.until.map_or(begin, |until| zone.stands(until).max(begin));
        let mut line = Line::new(at, seq, read.event);
        line.conditions = read.conditions;
        line.flags |= life_flag(read.info);
        let mut extra = Extra {
            found: read.found.clone(),
            unit: read.unit,
            reference: read.reference,
            ..Extra::default()
        };
        if let Some(until) = read.until {
            let moment = |when: When, at: Instant| Moment {
                at,
                date: if let When::Date(date) = when { date } else { zone.date(at) },
                dated: matches!(when, When::Date(_)),
            };
            extra.span =
                Some(EntrySpan { begin: moment(read.when, begin), end: moment(until, zone.over(until)) });
        } else if matches!(read.when, When::Date(_)) {
            line.flags |= DATED;
        }
        match (read.info.task, read.reading) {
            (Some(_), reading) => {
                line.amount = Amount::ONE.micros();
                extra.reading = reading.map(Amount::micros);
            }
            (None, Some(reading)) => {
                line.amount = reading.micros();
                line.flags |= READING;
            }
            (None, None) => line.amount = read.amount.unwrap_or(Amount::ONE).micros(),
        }
        if self.is_other_unit(read) {
            line.flags |= OTHER_UNIT;
        }
        if extra.is_needed() {
            self.extras.push(extra);
            line.extra = index(self.extras.len());
        }
        self.mark_seen(read.event);
        if read.until.is_some() && read.conditions != 0 {
            line.flags |= LENDS;
        }
        let order = line.order();
        self.queue(read.item, line);
        (read.item, order)
    }

    /// Files an entry that has no more than the fields of [`Keyed`] and about which nothing is doubtful.
    pub(crate) fn file_plain(&mut self, entry: &Keyed, info: EventInfo, seq: u32) {
        let mut line = Line::new(self.program.inner().zone.stands(entry.when), seq, entry.event.0);
        line.conditions = entry.conditions.0;
        line.flags = life_flag(info);
        if matches!(entry.when, When::Date(_)) {
            line.flags |= DATED;
        }
        let amount = if info.task.is_some() { None } else { entry.amount };
        line.amount = amount.unwrap_or(Amount::ONE).micros();
        self.mark_seen(entry.event.0);
        self.queue(entry.item.0, line);
    }

    fn queue(&mut self, stream: u32, line: Line) {
        self.pending.push((stream, line));
        if self.pending.len() >= PENDING {
            self.spread();
        }
    }

    /// Puts the pending entries under their names.
    pub(crate) fn spread(&mut self) {
        // A large run is counted first, so that each stream makes room once.
        if self.pending.len() > self.streams.len() {
            self.counts.clear();
            self.counts.resize(self.streams.len(), 0);
            for (number, _) in &self.pending {
                if let Some(count) = self.counts.get_mut(*number as usize) {
                    *count += 1;
                }
            }
            for (stream, count) in self.streams.iter_mut().zip(&self.counts) {
                stream.lines.reserve(*count as usize);
            }
        }
        for (number, line) in self.pending.drain(..) {
            let Some(stream) = self.streams.get_mut(number as usize) else { continue };
            stream.push(line);
            if !stream.sorted && self.unsorted.last() != Some(&number) {
                self.unsorted.push(number);
            }
        }
    }

    fn mark_seen(&mut self, event: u32) {
        let at = event as usize;
        if self.seen.len() <= at {
            self.seen.resize(at + 1, false);
        }
        if let Some(seen) = self.seen.get_mut(at) {
            *seen = true;
        }
    }

    pub(crate) fn extra(&self, line: &Line) -> Option<&Extra> {
        self.extras.get((line.extra as usize).checked_sub(1)?)
    }

    /// The streams whose entries are for an item, and whether their name is its id or kit.
    pub(crate) fn streams_of(&self, record: &ItemRecord) -> Vec<(u32, bool)> {
        let mut streams = vec![(record.stream, true)];
        if self.groups.is_empty() {
            return streams;
        }
        let no_id =
            |stream: &u32| self.streams.get(*stream as usize).is_some_and(|stream| stream.item.is_none());
        for kit in &record.item.kits {
            if let Some(stream) = self.find_stream(kit).filter(no_id)
                && !streams.contains(&(stream, true))
            {
                streams.push((stream, true));
            }
        }
        if let Some(model) = record.item.model.as_ref().filter(|model| !self.kits.contains(*model)) {
            streams.extend(self.find_stream(model).filter(no_id).map(|stream| (stream, false)));
        }
        let keys = self.kinds.get(record.kind as usize).map_or(&[][..], |kind| &kind.keys);
        for stream in keys.iter().filter_map(|key| self.groups.get(key)).flatten() {
            let name = self.streams.get(*stream as usize).map_or("", |stream| &stream.name);
            if no_id(stream) && !self.kits.contains(name) && !self.models.contains(name) {
                streams.push((*stream, false));
            }
        }
        streams.extend(self.find_stream("").map(|stream| (stream, false)));
        streams
    }

    /// The entries of some streams in order: borrowed if they are of one, else copied together.
    pub(crate) fn merge<'b>(&'b self, streams: &[(u32, bool)], room: &'b mut Vec<Line>) -> &'b [Line] {
        let full = |(stream, _): &&(u32, bool)| {
            self.streams.get(*stream as usize).is_some_and(|s| !s.lines.is_empty())
        };
        let mut filled = streams.iter().filter(full);
        match (filled.next(), filled.next()) {
            (None, _) => &[],
            (Some((stream, _)), None) if streams.first().is_some_and(|(own, _)| own == stream) => {
                self.streams.get(*stream as usize).map_or(&[], |stream| &stream.lines)
            }
            _ => {
                room.clear();
                for (number, (stream, names_item)) in streams.iter().enumerate() {
                    let lines = self.streams.get(*stream as usize).map_or(&[][..], |stream| &stream.lines);
                    let flag = match (number, names_item) {
                        (0, _) => 0,
                        (_, true) => FOR_KIT,
                        (_, false) => FOR_GROUP,
                    };
                    room.extend(lines.iter().map(|line| Line { flags: line.flags | flag, ..*line }));
                }
                room.sort_by_key(Line::order);
                room
            }
        }
    }

    /// The date of the earliest event of a sort, wherever `at` is.
    pub(crate) fn life_date(&self, streams: &[(u32, bool)], life: Life) -> Option<NaiveDate> {
        let program = self.program.inner();
        streams
            .iter()
            .filter_map(|(stream, _)| self.streams.get(*stream as usize))
            .filter(|stream| stream.lives > 0)
            .filter_map(|stream| {
                let is_it = |line: &&Line| !line.has(VOIDED) && program.info(line.event).life == Some(life);
                stream.lines.iter().find(is_it).map(Line::order)
            })
            .min()
            .map(|(seconds, nanos, _)| program.zone.date(Instant { seconds, nanos }))
    }
}

/// The flag of a life event; a finding is none.
fn life_flag(info: EventInfo) -> u32 {
    if info.life.is_some_and(|life| life != Life::Finding) { LIFE } else { 0 }
}
