//! What entries say that these rules have no use for, and others may: a saved book is read under any rules.

use crate::book::SourceKey;
use crate::identity::Values;
use crate::line::{DATED, Fact, Line};
use crate::read::Read;
use crate::time::Zone;
use kitlore_syntax::{Amount, When};

/// Beside the lines of a book; each list is in order of record, except where threads filled it.
#[derive(Debug, Clone, Default)]
pub(crate) struct Kept {
    /// From which entry on clock times are written without an offset, or with one.
    clocks: Vec<(u32, bool)>,
    /// Times with an end, and times that their instant does not give back.
    times: Vec<(u32, When, Option<When>)>,
    /// Amounts that the line leaves out.
    amounts: Vec<(u32, Amount)>,
    /// What is wrong with what entries expect.
    bad_expects: Vec<(u32, Box<str>)>,
    /// Entries that are not filed.
    pub others: Vec<Other>,
}

/// An entry that is not filed.
#[derive(Debug, Clone)]
pub(crate) struct Other {
    /// Its order of record; of one that was refused, that of the entry after it.
    pub seq: u32,
    pub id: Box<str>,
    pub why: Why,
}

/// Why an entry is not filed.
#[derive(Debug, Clone)]
pub(crate) enum Why {
    /// These rules refuse it.
    Refused(Box<Values>, Option<(SourceKey, u32)>),
    /// Its id is another entry's.
    Taken(Box<Values>),
    /// It is the entry of its id once more.
    Repeated,
}

impl Kept {
    /// What a line will not say of an entry.
    pub fn add(&mut self, read: &Read, seq: u32, zone: Zone) {
        if read.until.is_some() || !zone.gives_back(read.when) {
            self.times.push((seq, read.when, read.until));
        }
        self.clock_of(read.when, seq);
        if let Some(wrong) = &read.bad_expect {
            self.bad_expects.push((seq, wrong.as_str().into()));
        }
        if let Some(amount) = read.amount
            && (read.reading.is_some() || read.info.task.is_some() && amount != Amount::ONE)
        {
            self.amounts.push((seq, amount));
        }
    }

    /// How the time of an entry is written.
    pub fn clock_of(&mut self, when: When, seq: u32) {
        match when {
            When::Date(_) => {}
            When::Local(_) => self.clock(true, seq),
            When::Instant(_) => self.clock(false, seq),
        }
    }

    /// From which entry on clock times are the house's or have an offset.
    pub fn clock(&mut self, local: bool, seq: u32) {
        // Rows of columns that are recorded one by one come once more.
        if self.clocks.last().is_none_or(|(first, last)| *last != local && *first < seq) {
            self.clocks.push((seq, local));
        }
    }

    /// The time of a line as written, and its end.
    pub fn time(&self, line: &Line, fact: &Fact, zone: Zone) -> (When, Option<When>) {
        if let Ok(at) = self.times.binary_search_by_key(&line.seq, |(seq, _, _)| *seq)
            && let Some((_, when, until)) = self.times.get(at)
        {
            return (*when, *until);
        }
        let at = fact.at(line);
        if fact.has(DATED) {
            return (When::Date(zone.date(at)), None);
        }
        let run = self.clocks.partition_point(|(first, _)| *first <= line.seq).checked_sub(1);
        let is_local = run.and_then(|run| self.clocks.get(run)).is_some_and(|(_, local)| *local);
        let when =
            if is_local { When::Local(zone.local(at)) } else { When::Instant(at.utc().fixed_offset()) };
        (when, None)
    }

    /// What is wrong with what a line expects.
    pub fn bad_expect(&self, seq: u32) -> Option<&str> {
        let at = self.bad_expects.binary_search_by_key(&seq, |(seq, _)| *seq).ok()?;
        self.bad_expects.get(at).map(|(_, wrong)| &**wrong)
    }

    /// The amount of a line as written, where the line itself does not have it.
    pub fn amount(&self, seq: u32) -> Option<Amount> {
        let at = self.amounts.binary_search_by_key(&seq, |(seq, _)| *seq).ok()?;
        self.amounts.get(at).map(|(_, amount)| *amount)
    }
}
