//! Names that mean several items, and what the rules make of entries for them: for reports on entries that count
//! for none of the items they are for.

use super::dates::Dates;
use super::entries::Line;
use super::ledger::Ledger;
use crate::names::Map;
use crate::rules::Life;
use chrono::NaiveDate;
use std::sync::Arc;

/// What the rules of some items make of entries.
#[derive(Debug, Default)]
pub(crate) struct Counted {
    /// By event: whether its completions count.
    pub completions: Vec<bool>,
    /// Events that delays count from, or that cancel them, also for items that come later.
    pub news: Vec<u32>,
}

/// The members of each name, by what rules make of entries for them.
#[derive(Debug, Default, Clone)]
pub(crate) struct Groups(Map<u32, Vec<Group>>);

#[derive(Debug, Clone)]
struct Group {
    counted: Arc<Counted>,
    /// On these dates there is such a member.
    dates: Dates,
}

impl Groups {
    /// Adds a member of a name, on some dates: ranges in order, both ends counted in.
    pub fn add(&mut self, stream: u32, counted: &Arc<Counted>, dates: &[(NaiveDate, NaiveDate)]) {
        let groups = self.0.entry(stream).or_default();
        match groups.iter_mut().find(|group| Arc::ptr_eq(&group.counted, counted)) {
            Some(group) => group.dates.add(dates),
            None => {
                let mut all = Dates::default();
                all.add(dates);
                groups.push(Group { counted: counted.clone(), dates: all });
            }
        }
    }

    /// Adds the members of others.
    pub fn join(&mut self, others: Self) {
        for (stream, groups) in others.0 {
            groups.iter().for_each(|group| self.add(stream, &group.counted, group.dates.ranges()));
        }
    }

    /// The names that have members.
    pub fn streams(&self) -> impl Iterator<Item = u32> {
        self.0.keys().copied()
    }

    /// Whether an entry under a name is for some member, or counts in a delay of one that came later.
    pub fn has_member(&self, ledger: &Ledger, stream: u32, line: &Line) -> bool {
        let event = ledger.fact(line).event;
        let life = ledger.program.inner().info(event).life;
        if matches!(life, Some(Life::Received | Life::InService)) {
            return self.0.contains_key(&stream);
        }
        let is_kit = ledger.store.stream(stream).is_some_and(|stream| ledger.kits.contains(&*stream.name));
        let (from, to) = ledger.dates(line);
        let is_news = |group: &Group| !is_kit && group.counted.news.contains(&event);
        self.of(stream).any(|group| group.dates.meets(from, to) || is_news(group))
    }

    /// Whether an entry under a name is for some members, and a completion for none of them.
    pub fn refuse(&self, ledger: &Ledger, stream: u32, line: &Line) -> bool {
        let event = ledger.fact(line).event as usize;
        let (from, to) = ledger.dates(line);
        let counts = |group: &Group| group.counted.completions.get(event).copied().unwrap_or(false);
        let mut members = self.of(stream).filter(|group| group.dates.meets(from, to)).peekable();
        members.peek().is_some() && !members.any(counts)
    }

    fn of(&self, stream: u32) -> impl Iterator<Item = &Group> {
        self.0.get(&stream).into_iter().flatten()
    }
}
