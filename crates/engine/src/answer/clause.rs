//! The account of a trigger or limit: its parts, joined as the rule joins them.

use crate::log::EventKey;
use crate::problem::Place;
use crate::rules::Atom;
use crate::time::Instant;
use chrono::NaiveDate;
use kitlore_syntax::Amount;
use kitlore_syntax::tree::{self, AtomKind};
use std::fmt;

/// A trigger or limit as it stands for an item: its parts, joined as the rule joins them.
///
/// ```
/// use kitlore_engine::{Book, Item, Clause, Program, When};
/// let rules = Program::parse("for cameras\n after 20 trips or 90 days, inspect sensor").unwrap();
/// let mut book = Book::new(&rules);
/// book.add_item(Item::new("C1", "camera").received("2026-01-10".parse().unwrap())).unwrap();
/// let found = book.standings(rules.when_is_over(When::parse("2026-02-08").unwrap()));
/// let trigger = found.rows().next().unwrap().rules().next().unwrap().trigger();
/// let Clause::Or(either) = &trigger else { panic!("joined by `or`") };
/// assert_eq!((either[0].reached_at(), either[1].reached_at()), (None, trigger.reached_at()));
/// assert_eq!(trigger.deciding()[0].text, "90 days");
/// ```
#[derive(Debug, Clone)]
pub enum Clause<'a> {
    /// Whichever comes first.
    Or(Vec<Clause<'a>>),
    /// Only when all hold.
    And(Vec<Clause<'a>>),
    /// One thing that can be reached.
    Part(Part<'a>),
}

impl<'a> Clause<'a> {
    /// When it was reached, or will certainly be: of `or` the earliest that is known, of `and` the last, known
    /// only if all are.
    pub fn reached_at(&self) -> Option<Instant> {
        match self {
            Clause::Part(part) => part.reached_at,
            Clause::Or(any) => any.iter().filter_map(Clause::reached_at).min(),
            Clause::And(all) => {
                let times: Option<Vec<Instant>> = all.iter().map(Clause::reached_at).collect();
                times?.into_iter().max()
            }
        }
    }

    /// The parts that make it reached when it is, all of them together; of an `or` that has no date yet, every part.
    pub fn deciding(&self) -> Vec<&Part<'a>> {
        match self {
            Clause::Part(part) => vec![part],
            Clause::And(all) => all.iter().flat_map(Clause::deciding).collect(),
            Clause::Or(any) => match self.reached_at() {
                None => any.iter().flat_map(Clause::deciding).collect(),
                first => {
                    any.iter().find(|one| one.reached_at() == first).map_or(Vec::new(), Clause::deciding)
                }
            },
        }
    }

    /// Its parts, from left to right.
    pub fn parts(&self) -> Vec<&Part<'a>> {
        match self {
            Clause::Part(part) => vec![part],
            Clause::Or(list) | Clause::And(list) => list.iter().flat_map(Clause::parts).collect(),
        }
    }

    pub(crate) fn into_parts(self) -> Vec<Part<'a>> {
        match self {
            Clause::Part(part) => vec![part],
            Clause::Or(list) | Clause::And(list) => list.into_iter().flat_map(Clause::into_parts).collect(),
        }
    }
}

/// One part of a trigger or limit.
#[derive(Debug, Clone)]
pub struct Part<'a> {
    /// As the rule has it.
    pub written: &'a tree::Atom,
    /// Its text, such as `20 lens changes in dust`.
    pub text: &'a str,
    /// `usage`, `interval`, `age`, `delay`, `before`, `finding`, `spotted`, `reading`, `unused` or `calendar`.
    pub kind: &'static str,
    /// How much was counted in the cycle, for a usage.
    pub count: Option<Count>,
    /// The threshold, for a usage.
    pub of: Option<Amount>,
    /// What it counts, for a usage: see [`crate::Uses`].
    pub usage: Option<UsageKey>,
    /// When it was reached, or will certainly be.
    pub reached_at: Option<Instant>,
    /// The local date it counts from, for what counts days.
    pub from: Option<NaiveDate>,
    /// The entry that tipped it.
    pub tipped_by: Option<Place>,
}

impl Part<'_> {
    /// Whether it counts days and has no date to count them from.
    pub fn is_undated(&self) -> bool {
        let counts_days = match &self.written.kind {
            AtomKind::Interval(_) | AtomKind::Age(_) | AtomKind::Unused(_) => true,
            AtomKind::Calendar(calendar) => !matches!(calendar, tree::Calendar::On(_)),
            _ => false,
        };
        counts_days && self.from.is_none()
    }
}

/// A sum of weighted amounts, exact to 9 fraction digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Count(pub(crate) i128);

impl Count {
    /// In billionths.
    pub fn billionths(self) -> i128 {
        self.0
    }
}

impl fmt::Display for Count {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const BILLION: i128 = 1_000_000_000;
        let (whole, fraction) = (self.0 / BILLION, self.0 % BILLION);
        if fraction == 0 {
            return write!(f, "{whole}");
        }
        let fraction = format!("{fraction:09}");
        write!(f, "{whole}.{}", fraction.trim_end_matches('0'))
    }
}

pub(crate) fn kind_word(atom: &Atom) -> &'static str {
    match atom {
        Atom::Before { .. } => "before",
        Atom::Finding { .. } => "finding",
        Atom::Spotted { .. } => "spotted",
        Atom::Reading { .. } => "reading",
        Atom::Unused(_) => "unused",
        Atom::Calendar(_) => "calendar",
        Atom::Delay { .. } => "delay",
        Atom::Age(_) => "age",
        Atom::Interval(_) => "interval",
        Atom::Usage { .. } => "usage",
    }
}

/// What a usage part of a rule counts: an event under conditions, with weights. Parts that count alike have
/// equal keys, in whichever rule they stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct UsageKey {
    pub(crate) event: u32,
    pub(crate) test: u32,
}

impl UsageKey {
    /// The event it counts.
    pub fn event(self) -> EventKey {
        EventKey(self.event)
    }
}
