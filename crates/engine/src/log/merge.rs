//! The entries of an item in order: those that name its id, and those of its kits, model and kinds that are for it.

use super::entries::{FOR_GROUP, FOR_KIT, Line, NO_ITEM};
use super::ledger::Ledger;
use super::membership::{By, Member, Naming};
use crate::rules::Life;
use crate::time::Zone;
use chrono::NaiveDate;

impl Ledger {
    /// The entries of an item in order: borrowed if all name its id, else copied together.
    pub fn entries_of<'b>(&'b self, member: &Member<'_>, buffer: &'b mut Vec<Line>) -> &'b [Line] {
        self.entries_since(member, i64::MIN, &[], buffer)
    }

    /// As [`Ledger::entries_of`], without what counts before a time, in ticks. With what some events say of a model, a
    /// kind or every item before the item was there: see [`first_tick`].
    pub fn entries_since<'b>(
        &'b self,
        member: &Member<'_>,
        from: i64,
        news: &[u32],
        buffer: &'b mut Vec<Line>,
    ) -> &'b [Line] {
        let is_own = |naming: &Naming| naming.by == By::Id || self.store.lines(naming.stream).is_empty();
        if member.namings.iter().all(is_own) {
            return since(self.store.lines(member.record.stream), from);
        }
        buffer.clear();
        let there = first_tick(self.zone(), member.there());
        for naming in &member.namings {
            let lines = since(self.store.lines(naming.stream), from);
            let first = buffer.len();
            let mark = match naming.by {
                By::Id => {
                    buffer.extend_from_slice(lines);
                    continue;
                }
                By::Kit(_) => FOR_KIT,
                By::Group => FOR_GROUP,
                By::NoName => NO_ITEM,
            };
            self.add_shared((member, there), *naming, news, lines, buffer);
            buffer.iter_mut().skip(first).for_each(|line| line.mark(mark));
        }
        if self.store.facts.has_fine() {
            buffer.sort_by_key(|line| self.store.facts.order(line));
        } else {
            buffer.sort_by_key(|line| (line.ticks, line.seq));
        }
        buffer
    }

    /// Adds those of the lines of a kit, a model, a kind or every item that are for an item.
    fn add_shared(
        &self,
        (member, there): (&Member<'_>, i64),
        naming: Naming,
        news: &[u32],
        lines: &[Line],
        buffer: &mut Vec<Line>,
    ) {
        let rules = self.program.inner();
        let has_lives = self.store.stream(naming.stream).is_some_and(|stream| stream.lives > 0);
        let holds_always = |line: &Line| {
            let event = self.fact(line).event;
            let begins = matches!(rules.info(event).life, Some(Life::Received | Life::InService));
            begins || matches!(naming.by, By::Group | By::NoName) && news.contains(&event)
        };
        let is_used = |line: &&Line| naming.by != By::NoName || !self.needs_item(self.fact(line).event);
        // What is in order of time is in order of its last date.
        let (before, since) =
            lines.split_at_checked(lines.partition_point(|line| line.ticks < there)).unwrap_or((lines, &[]));
        if has_lives || !news.is_empty() {
            buffer.extend(before.iter().filter(|line| holds_always(line)).filter(is_used));
        }
        let stays = match naming.by {
            By::Kit(kit) => member.record.kits.get(kit).map(|kit| &kit.dates).filter(|dates| !dates.is_all()),
            _ => None,
        };
        match stays {
            None if naming.by == By::NoName => buffer.extend(since.iter().filter(is_used)),
            None => buffer.extend_from_slice(since),
            Some(dates) => {
                let dates = dates.since(member.there());
                let first = |date: NaiveDate| first_tick(rules.zone, Some(date));
                let ranges = dates.ranges().iter();
                let ticks: Vec<(i64, i64)> =
                    ranges.map(|(from, to)| (first(*from), to.succ_opt().map_or(i64::MAX, first))).collect();
                let ends_in = |line: &Line| ticks.iter().any(|(from, to)| (*from..*to).contains(&line.ticks));
                let is_in = |line: &&Line| {
                    let begins_in = |(from, to)| dates.meets(from, to);
                    ends_in(line)
                        || self.span_dates(line).is_some_and(begins_in)
                        || has_lives && holds_always(line)
                };
                buffer.extend(since.iter().filter(is_in));
            }
        }
    }
}

/// The lines that count at a time or later, in ticks.
fn since(lines: &[Line], from: i64) -> &[Line] {
    // Most ask for all of them.
    let first = if from == i64::MIN { 0 } else { lines.partition_point(|line| line.ticks < from) };
    lines.get(first..).unwrap_or(&[])
}

/// When an item is there, in ticks. What names its model, its kind or every item and counts before is for it only as
/// news: in delays after what is no use, such as a recall.
pub(crate) fn first_tick(zone: Zone, there: Option<NaiveDate>) -> i64 {
    there.map_or(i64::MIN, |date| zone.midnight(date).ticks().0)
}
