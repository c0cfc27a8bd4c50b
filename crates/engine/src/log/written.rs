//! How entries were written, where their lines do not tell; and the entries that are not filed.

use super::entries::{DATED, EntrySpan, Fact, Line, Moment};
use super::keys::SourceKey;
use super::row::{OwnedRow, Row};
use super::text_pool::TextPool;
use crate::time::{Instant, Zone};
use kitlore_syntax::{Amount, When};

/// Beside the lines of a ledger.
#[derive(Debug, Clone, Default)]
pub(crate) struct Written {
    /// From which entry on clock times are written without an offset, or with one.
    clocks: Vec<(u32, bool)>,
    /// By order of record, times that their instants do not give back.
    times: Vec<(u32, When, Option<When>)>,
    /// By order of record, who did it and what was remarked, of entries that are compared whole.
    remarks: Vec<(u32, [u32; 2])>,
    texts: TextPool,
    /// Entries that are not filed, by order of record; of one that was refused, that of the entry after it.
    pub unfiled: Vec<Unfiled>,
}

/// An entry that is not filed.
#[derive(Debug, Clone)]
pub(crate) struct Unfiled {
    pub seq: u32,
    pub row: OwnedRow,
    pub why: Why,
}

/// Why an entry is not filed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Why {
    /// These rules refuse it; where it was read.
    Refused(Option<(SourceKey, u32)>),
    /// Its id is another entry's.
    Taken,
    /// It is the entry of its id once more.
    Repeated,
}

impl Written {
    /// What the line of an entry will not say.
    pub fn add(&mut self, row: &Row<'_>, seq: u32, zone: Zone) {
        self.add_clock_of(row.when, seq);
        let is_alike = is_local(row.when).is_none_or(|local| self.is_local_at(seq) == local);
        if !is_alike || !is_plain(row.when, row.until, zone) {
            self.times.push((seq, row.when, row.until));
        }
        if !row.id.is_empty() || may_stand_twice(row.amount, row.until) {
            self.add_remarks(seq, row.by, row.note);
        }
    }

    /// A time that its instant does not give back, or that has such an end.
    pub fn add_time(&mut self, seq: u32, when: When, until: Option<When>) {
        self.times.push((seq, when, until));
    }

    /// Who did it and what was remarked.
    pub fn add_remarks(&mut self, seq: u32, by: &str, note: &str) {
        if !by.is_empty() || !note.is_empty() {
            let numbers = [by, note].map(|text| self.texts.add(text).0);
            self.remarks.push((seq, numbers));
        }
    }

    /// Puts what several threads added into the order of record.
    pub fn sort(&mut self) {
        if !self.times.is_sorted_by_key(|(seq, ..)| *seq) {
            self.times.sort_by_key(|(seq, ..)| *seq);
        }
        if !self.remarks.is_sorted_by_key(|(seq, _)| *seq) {
            self.remarks.sort_by_key(|(seq, _)| *seq);
        }
        // Rows of a batch that are taken one by one come once more.
        self.remarks.dedup_by_key(|(seq, _)| *seq);
        if !self.unfiled.is_sorted_by_key(|unfiled| unfiled.seq) {
            self.unfiled.sort_by_key(|unfiled| unfiled.seq);
        }
    }

    /// How the time of an entry is written.
    pub fn add_clock_of(&mut self, when: When, seq: u32) {
        if let Some(local) = is_local(when) {
            self.add_clock(local, seq);
        }
    }

    /// From which entry on clock times are the house's or have an offset.
    pub fn add_clock(&mut self, local: bool, seq: u32) {
        // Rows of a batch that are taken one by one come once more.
        if self.clocks.last().is_none_or(|(first, last)| *last != local && *first < seq) {
            self.clocks.push((seq, local));
        }
    }

    /// The time of a line as written, and its end.
    pub fn time(
        &self,
        line: &Line,
        fact: &Fact,
        span: Option<&EntrySpan>,
        zone: Zone,
    ) -> (When, Option<When>) {
        if let Ok(at) = self.times.binary_search_by_key(&line.seq, |(seq, _, _)| *seq)
            && let Some((_, when, until)) = self.times.get(at)
        {
            return (*when, *until);
        }
        let clock = |at: Instant| match self.is_local_at(line.seq) {
            true => When::Local(zone.local(at)),
            false => When::Instant(at.utc().fixed_offset()),
        };
        if let Some(span) = span {
            let written = |moment: &Moment| match moment.dated {
                true => When::Date(moment.date()),
                false => clock(moment.at()),
            };
            return (written(&span.begin), Some(written(&span.end)));
        }
        let at = fact.at(line);
        (if fact.has(DATED) { When::Date(zone.date(at)) } else { clock(at) }, None)
    }

    /// Whether clock times are the house's from some entry on.
    fn is_local_at(&self, seq: u32) -> bool {
        let run = self.clocks.partition_point(|(first, _)| *first <= seq).checked_sub(1);
        run.and_then(|run| self.clocks.get(run)).is_some_and(|(_, local)| *local)
    }

    /// Who did it and what was remarked, of an entry that is compared whole.
    pub fn remarks(&self, seq: u32) -> [&str; 2] {
        let found = self.remarks.binary_search_by_key(&seq, |(seq, _)| *seq).ok();
        let numbers = found.and_then(|at| self.remarks.get(at));
        numbers.map_or(["", ""], |(_, numbers)| numbers.map(|number| self.texts.get(number)))
    }
}

/// Whether an entry without an id says so much that the same once more is hardly meant: an amount above 1 or an end.
pub(crate) fn may_stand_twice(amount: Option<Amount>, until: Option<When>) -> bool {
    until.is_some() || amount.is_some_and(|amount| amount > Amount::ONE)
}

/// Whether a clock time is the house's or has an offset; `None` for a date.
fn is_local(when: When) -> Option<bool> {
    match when {
        When::Date(_) => None,
        When::Local(_) => Some(true),
        When::Instant(_) => Some(false),
    }
}

/// Whether instants give back how a time and its end were written.
pub(crate) fn is_plain(when: When, until: Option<When>, zone: Zone) -> bool {
    let Some(until) = until else { return zone.gives_back(when) };
    let offset = |when: When| matches!(when, When::Instant(at) if at.offset().local_minus_utc() != 0);
    let alike = match (is_local(when), is_local(until)) {
        // Of an entry that begins with a date alone nothing tells how its clock is written.
        (None, Some(_)) => false,
        (Some(when), Some(until)) => when == until,
        (_, None) => true,
    };
    alike && [when, until].into_iter().all(|when| zone.gives_back(when) && !offset(when))
}
