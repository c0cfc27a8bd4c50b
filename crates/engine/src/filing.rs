//! Entries under the names they are for, and the entries of an item.

use crate::book::{Book, ItemRecord};
use crate::facts::Order;
use crate::line::{
    DATED, EntrySpan, Extra, FOR_GROUP, FOR_KIT, Fact, LIFE, Line, Moment, OTHER_UNIT, READING, VOIDED,
};
use crate::names::index;
use crate::problem::Problem;
use crate::program::{EventInfo, Life};
use crate::read::Read;
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::{Amount, When, key};

impl Book {
    /// Reports what is doubtful about an entry on its own.
    pub(crate) fn note_doubts(&mut self, read: &Read, seq: u32) {
        if read.event as usize >= self.program.inner().events.len() {
            self.strangers.push((seq, read.event));
        }
        if let Some(wrong) = &read.bad_expect {
            let message = format!("`expect` {wrong}; until then nothing is expected");
            self.note(seq, Problem::new("bad-expect", message));
        }
        let unknown = |event: &u32| *event as usize >= self.program.inner().events.len();
        let strangers = read.expect.iter().map(|(event, _)| *event).filter(unknown);
        self.strangers.extend(strangers.map(|event| (seq, event)));
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
        if let Some(known) = self.other_units.get(&(read.event, unit)) {
            return *known;
        }
        let is_other = self.differ(read.event, unit);
        self.other_units.insert((read.event, unit), is_other);
        is_other
    }

    /// Whether an event and a unit have different names.
    pub(crate) fn differ(&self, event: u32, unit: u32) -> bool {
        key(self.events.text(event)) != key(self.units.text(unit))
    }

    /// Files an entry under the name it is for; says where.
    pub(crate) fn file(&mut self, read: &Read, seq: u32) -> (u32, Order) {
        let zone = self.program.inner().zone;
        self.kept.add(read, seq, zone);
        let begin = zone.stands(read.when);
        let at = read.until.map_or(begin, |until| zone.stands(until).max(begin));
        let (ticks, fine) = at.ticks();
        let mut fact = Fact {
            event: read.event,
            conditions: read.conditions,
            flags: life_flag(read.info),
            fine,
            ..Fact::default()
        };
        let mut extra = Extra {
            found: read.found.clone(),
            unit: read.unit,
            reference: read.reference,
            expect: read.expect.clone(),
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
            fact.flags |= DATED;
        }
        match (read.info.task, read.reading) {
            (Some(_), reading) => {
                fact.amount = Amount::ONE.micros();
                extra.reading = reading.map(Amount::micros);
            }
            (None, Some(reading)) => {
                fact.amount = reading.micros();
                fact.flags |= READING;
            }
            (None, None) => fact.amount = read.amount.unwrap_or(Amount::ONE).micros(),
        }
        if self.is_other_unit(read) {
            fact.flags |= OTHER_UNIT;
        }
        if extra.is_needed() {
            self.extras.push(extra);
            fact.extra = index(self.extras.len());
        }
        self.mark_seen(read.event);
        // It has a span and conditions of its own, which other entries inherit.
        let lends = read.until.is_some() && read.conditions != 0;
        if let Some(stream) = self.cabinet.streams.get_mut(read.item as usize) {
            stream.spans += u32::from(lends);
            stream.lives += u32::from(fact.has(LIFE));
        }
        let line = Line::new(ticks, seq, self.cabinet.facts.number(fact));
        self.cabinet.push(read.item, line);
        (read.item, (ticks, fine, seq))
    }

    pub(crate) fn mark_seen(&mut self, event: u32) {
        let at = event as usize;
        if self.seen.len() <= at {
            self.seen.resize(at + 1, false);
        }
        if let Some(seen) = self.seen.get_mut(at) {
            *seen = true;
        }
    }

    /// What a line says.
    pub(crate) fn fact(&self, line: &Line) -> &Fact {
        self.cabinet.facts.of(line)
    }

    pub(crate) fn extra(&self, fact: &Fact) -> Option<&Extra> {
        self.extras.get((fact.extra as usize).checked_sub(1)?)
    }

    /// The streams whose entries are for an item, and whether their name is its id or kit.
    pub(crate) fn streams_of(&self, record: &ItemRecord) -> Vec<(u32, bool)> {
        let mut streams = vec![(record.stream, true)];
        if self.groups.is_empty() {
            return streams;
        }
        let no_id = |stream: &u32| self.cabinet.stream(*stream).is_some_and(|stream| stream.item.is_none());
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
            let name = self.cabinet.stream(*stream).map_or("", |stream| &stream.name);
            if no_id(stream) && !self.kits.contains(name) && !self.models.contains(name) {
                streams.push((*stream, false));
            }
        }
        streams.extend(self.find_stream("").map(|stream| (stream, false)));
        streams
    }

    /// The entries of some streams in order: borrowed if they are of one, else copied together.
    pub(crate) fn merge<'b>(&'b self, streams: &[(u32, bool)], room: &'b mut Vec<Line>) -> &'b [Line] {
        self.merge_from(streams, i64::MIN, room)
    }

    /// As [`Book::merge`], without what counts before a time, in ticks.
    pub(crate) fn merge_from<'b>(
        &'b self,
        streams: &[(u32, bool)],
        from: i64,
        room: &'b mut Vec<Line>,
    ) -> &'b [Line] {
        let lines = |stream: u32| {
            let lines = self.cabinet.lines(stream);
            // Most ask for all of them.
            let first = if from == i64::MIN { 0 } else { lines.partition_point(|line| line.ticks < from) };
            lines.get(first..).unwrap_or(&[])
        };
        let full = |(stream, _): &&(u32, bool)| !lines(*stream).is_empty();
        let mut filled = streams.iter().filter(full);
        match (filled.next(), filled.next()) {
            (Some((stream, _)), None) if streams.first().is_some_and(|(own, _)| own == stream) => {
                lines(*stream)
            }
            _ => {
                room.clear();
                for (number, (stream, names_item)) in streams.iter().enumerate() {
                    let mark = match (number, names_item) {
                        (0, _) => 0,
                        (_, true) => FOR_KIT,
                        (_, false) => FOR_GROUP,
                    };
                    let first = room.len();
                    room.extend_from_slice(lines(*stream));
                    room.iter_mut().skip(first).for_each(|line| line.mark(mark));
                }
                room.sort_by_key(|line| self.cabinet.facts.order(line));
                room
            }
        }
    }

    /// The date of the earliest event of a sort, wherever `at` is.
    pub(crate) fn life_date(&self, streams: &[(u32, bool)], life: Life) -> Option<NaiveDate> {
        let program = self.program.inner();
        streams
            .iter()
            .filter(|(stream, _)| self.cabinet.stream(*stream).is_some_and(|stream| stream.lives > 0))
            .filter_map(|(stream, _)| {
                let is_it =
                    |line: &&Line| !line.is(VOIDED) && program.info(self.fact(line).event).life == Some(life);
                let line = self.cabinet.lines(*stream).iter().find(is_it)?;
                Some(self.fact(line).at(line))
            })
            .min()
            .map(|at| program.zone.date(at))
    }
}

/// The flag of a life event; a finding is none.
fn life_flag(info: EventInfo) -> u16 {
    if info.life.is_some_and(|life| life != Life::Finding) { LIFE } else { 0 }
}
