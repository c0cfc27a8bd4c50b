//! The facts of a log: each kept once as long as that is quick.

use super::entries::{ENDS_DATED, EntrySpan, Extra, Fact, Line, Own, READING, REFERS, SPANNED};
use super::sparse::Sparse;
use crate::names::{Map, index};

/// An entry's place in its stream: time, what is finer, order of record.
pub(crate) type Order = (i64, u8, u32);

/// Facts by number, with what few of them have beside, and what lines have on their own.
#[derive(Debug, Clone, Default)]
pub(crate) struct Facts {
    list: Vec<Fact>,
    extras: Vec<Extra>,
    spans: Sparse<EntrySpan>,
    references: Sparse<u32>,
    /// The number of the fact last met under a hash: quicker than the map.
    recent: Vec<u32>,
    numbers: Map<Fact, u32>,
    extra_numbers: Map<Extra, u32>,
    last_extra: Option<(Extra, u32)>,
    has_fine: bool,
    has_readings: bool,
    has_units: bool,
}

/// Of this many facts the numbers are remembered; logs that differ more gain nothing from sharing.
const REMEMBERED: usize = 1 << 16;

/// The logarithm of the number of slots for facts met last.
const RECENT: u32 = 14;

impl Facts {
    /// The number of a fact without anything beside.
    #[inline]
    pub fn add(&mut self, fact: Fact) -> u32 {
        if fact.fine != 0 { self.push(fact) } else { self.find_or_push(fact) }
    }

    /// The number of a fact with something beside it, or of whose entry more is known.
    #[inline]
    pub fn add_with(&mut self, seq: u32, fact: Fact, extra: Extra, own: Own) -> u32 {
        let mut fact = fact;
        if extra != Extra::default() {
            fact.extra = self.extra(extra);
        }
        if let Some(span) = own.span {
            self.spans.push(seq, span);
            fact.flags |= if span.end.dated { SPANNED | ENDS_DATED } else { SPANNED };
        }
        if own.reference != 0 {
            self.references.push(seq, own.reference);
            fact.flags |= REFERS;
        }
        self.add(fact)
    }

    /// Remembers that names occur in an entry that is not kept.
    pub fn add_names(&mut self, event: u32, conditions: u32, found: u32) {
        let mut fact = Fact::new(event, conditions, None, None, false);
        if found != 0 {
            fact.extra = self.extra(Extra { found, ..Extra::default() });
        }
        self.add(fact);
    }

    #[inline]
    fn find_or_push(&mut self, fact: Fact) -> u32 {
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

    /// One more than the index of something beside a fact.
    fn extra(&mut self, extra: Extra) -> u32 {
        if let Some((last, number)) = self.last_extra
            && last == extra
        {
            return number;
        }
        let number = match self.extra_numbers.get(&extra) {
            Some(number) => *number,
            None => {
                let number = self.push_extra(extra);
                if self.extra_numbers.len() < REMEMBERED {
                    self.extra_numbers.insert(extra, number);
                }
                number
            }
        };
        self.last_extra = Some((extra, number));
        number
    }

    fn push_extra(&mut self, extra: Extra) -> u32 {
        self.has_units |= extra.unit != 0;
        self.extras.push(extra);
        index(self.extras.len())
    }

    /// Takes over the facts of another list; gives the number its first one now has.
    pub fn append(&mut self, other: Facts) -> u32 {
        let first = index(self.list.len());
        let extras = index(self.extras.len());
        let moved = |number: u32| if number == 0 { 0 } else { number + extras };
        if other.extras.is_empty() {
            self.list.extend(other.list);
        } else {
            let facts = other.list.into_iter();
            self.list.extend(facts.map(|fact| Fact { extra: moved(fact.extra), ..fact }));
        }
        self.extras.extend(other.extras);
        self.spans.append(other.spans);
        self.references.append(other.references);
        self.has_fine |= other.has_fine;
        self.has_readings |= other.has_readings;
        self.has_units |= other.has_units;
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

    /// Whether any fact has a span.
    pub fn has_spans(&self) -> bool {
        !self.spans.is_empty()
    }

    /// Whether any fact has a unit.
    pub fn has_units(&self) -> bool {
        self.has_units
    }

    /// What a line says.
    pub fn of(&self, line: &Line) -> &Fact {
        const NOTHING: Fact = Fact { amount: 0, event: u32::MAX, conditions: 0, extra: 0, flags: 0, fine: 0 };
        self.list.get(line.fact() as usize).unwrap_or(&NOTHING)
    }

    /// What a fact has that few have.
    pub fn extra_of(&self, fact: &Fact) -> Option<&Extra> {
        self.extras.get((fact.extra as usize).checked_sub(1)?)
    }

    /// From when to when an entry lasted, if it has an end.
    pub fn span_of(&self, line: &Line, fact: &Fact) -> Option<&EntrySpan> {
        if fact.has(SPANNED) { self.spans.get(line.seq) } else { None }
    }

    /// The number of what an entry refers to; 0 where there is nothing.
    pub fn reference_of(&self, line: &Line, fact: &Fact) -> u32 {
        let reference = if fact.has(REFERS) { self.references.get(line.seq) } else { None };
        reference.copied().unwrap_or(0)
    }

    /// Puts what came out of order into the order of record.
    pub fn sort(&mut self) {
        self.spans.sort();
        self.references.sort();
    }

    /// Time, then order of record.
    pub fn order(&self, line: &Line) -> Order {
        (line.ticks, self.of(line).fine, line.seq)
    }

    /// All facts by number.
    pub fn list(&self) -> &[Fact] {
        &self.list
    }

    /// What facts have beside, in no order.
    pub fn extras(&self) -> &[Extra] {
        &self.extras
    }
}

fn slot(fact: &Fact) -> usize {
    let rest = u64::from(fact.event) << 24
        ^ u64::from(fact.conditions) << 44
        ^ u64::from(fact.extra) << 12
        ^ u64::from(fact.flags) << 8;
    let mixed = (fact.amount.cast_unsigned() ^ rest).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    (mixed >> (u64::BITS - RECENT)) as usize
}
