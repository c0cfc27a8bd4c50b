//! The facts of a log: each kept once as long as that is quick.

use crate::line::{Fact, Line, READING};
use crate::names::{Map, index};

/// An entry's place in its stream: time, what is finer, order of record.
pub(crate) type Order = (i64, u8, u32);

/// Facts by number.
#[derive(Debug, Clone, Default)]
pub(crate) struct Facts {
    list: Vec<Fact>,
    /// The number of the fact last met under a hash: quicker than the map.
    recent: Vec<u32>,
    numbers: Map<Fact, u32>,
    has_fine: bool,
    has_readings: bool,
}

/// Of this many facts the numbers are remembered; logs that differ more gain nothing from sharing.
const REMEMBERED: usize = 1 << 16;

/// The logarithm of the number of slots for facts met last.
const RECENT: u32 = 14;

impl Facts {
    /// The number of a fact.
    #[inline]
    pub fn number(&mut self, fact: Fact) -> u32 {
        if fact.extra != 0 || fact.fine != 0 {
            return self.push(fact);
        }
        if self.recent.is_empty() {
            self.recent.resize(1 << RECENT, u32::MAX);
        }
        let slot = slot(&fact);
        if let Some(&number) = self.recent.get(slot)
            && self.list.get(number as usize) == Some(&fact)
        {
            return number;
        }
        let number = self.find(fact);
        if let Some(recent) = self.recent.get_mut(slot) {
            *recent = number;
        }
        number
    }

    fn find(&mut self, fact: Fact) -> u32 {
        match self.numbers.get(&fact) {
            Some(number) => *number,
            None => {
                let number = self.push(fact);
                if self.numbers.len() < REMEMBERED {
                    self.numbers.insert(fact, number);
                }
                number
            }
        }
    }

    fn push(&mut self, fact: Fact) -> u32 {
        self.has_fine |= fact.fine != 0;
        self.has_readings |= fact.has(READING);
        self.list.push(fact);
        index(self.list.len() - 1)
    }

    /// Takes over the facts of another list, none a reading; gives the number its first one now has.
    pub fn append(&mut self, other: Facts) -> u32 {
        let first = index(self.list.len());
        self.list.extend(other.list);
        self.has_fine |= other.has_fine;
        first
    }

    /// Whether times alone may not tell the order of lines.
    pub fn has_fine(&self) -> bool {
        self.has_fine
    }

    /// Whether any fact is a reading.
    pub fn has_readings(&self) -> bool {
        self.has_readings
    }

    /// What a line says.
    pub fn of(&self, line: &Line) -> &Fact {
        const NOTHING: Fact = Fact { amount: 0, event: u32::MAX, conditions: 0, extra: 0, flags: 0, fine: 0 };
        self.list.get(line.fact() as usize).unwrap_or(&NOTHING)
    }

    /// Time, then order of record.
    pub fn order(&self, line: &Line) -> Order {
        (line.ticks, self.of(line).fine, line.seq)
    }

    pub fn iter(&self) -> impl Iterator<Item = &Fact> {
        self.list.iter()
    }
}

fn slot(fact: &Fact) -> usize {
    let rest = u64::from(fact.event) << 24 ^ u64::from(fact.conditions) << 44 ^ u64::from(fact.flags) << 8;
    let mixed = (fact.amount.cast_unsigned() ^ rest).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed >> (u64::BITS - RECENT)) as usize
}
