//! Ids of entries, and the corrections that take entries out.

use crate::cabinet::Cabinet;
use crate::facts::Order;
use crate::input::Fields;
use crate::names::Candidates;
use crate::names::{Map, Set};
use crate::problem::Problem;
use crate::read::Read;
use kitlore_syntax::{Amount, When};

/// Every column of an entry, as values: what must be equal where an id comes twice.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Values {
    pub when: When,
    pub until: Option<When>,
    pub event: u32,
    pub item: u32,
    pub amount: Option<Amount>,
    pub reading: Option<Amount>,
    pub unit: Option<u32>,
    pub conditions: u32,
    pub found: Vec<u32>,
    pub reference: String,
    pub by: String,
    pub note: String,
    pub expect: Vec<(u32, i64)>,
    pub bad_expect: Option<String>,
}

impl Values {
    pub fn new(read: &Read, fields: &Fields<'_>) -> Self {
        Self {
            when: read.when,
            until: read.until,
            event: read.event,
            item: read.item,
            amount: read.amount,
            reading: read.reading,
            unit: read.unit,
            conditions: read.conditions,
            found: read.found.clone(),
            reference: fields.reference.trim().to_owned(),
            by: fields.by.trim().to_owned(),
            note: fields.note.trim().to_owned(),
            expect: read.expect.clone(),
            bad_expect: read.bad_expect.clone(),
        }
    }

    /// The entry under some rules.
    pub fn read(&self, program: &crate::program::Inner) -> Read {
        Read {
            when: self.when,
            until: self.until,
            event: self.event,
            info: program.info(self.event),
            item: self.item,
            amount: self.amount,
            reading: self.reading,
            unit: self.unit,
            conditions: self.conditions,
            found: self.found.clone(),
            reference: None,
            expect: self.expect.clone(),
            bad_expect: self.bad_expect.clone(),
        }
    }
}

/// After more changes than these all corrections are worked out, not only those that hang together with them.
const FEW: usize = 16;

/// The entries that have an id, and all corrections.
#[derive(Debug, Clone, Default)]
pub(crate) struct Identities {
    by_id: Map<String, Known>,
    voids: Vec<Void>,
    /// The corrections that name an id.
    naming: Map<String, Vec<usize>>,
    /// Ids about which something came since the corrections were last worked out.
    touched: Vec<String>,
    /// Entries that are out, by order of record, and where they are filed.
    out: Map<u32, (u32, Order)>,
}

#[derive(Debug, Clone)]
struct Known {
    values: Values,
    what: What,
}

#[derive(Debug, Clone, Copy)]
enum What {
    /// An entry in a stream, with its place in the order.
    Entry { stream: u32, order: Order },
    /// A correction.
    Void(usize),
}

/// An entry `void`.
#[derive(Debug, Clone)]
struct Void {
    id: String,
    values: Values,
    seq: u32,
}

/// What became of a correction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Fate {
    Open,
    Holds,
    TakenOut,
}

impl Identities {
    /// Whether an id is known, and then whether with the same values.
    pub fn same(&self, id: &str, values: &Values) -> Option<bool> {
        if id.is_empty() {
            return None;
        }
        self.by_id.get(id).map(|known| known.values == *values)
    }

    /// All ids that are known, in no order.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.by_id.keys().map(String::as_str)
    }

    pub fn add(&mut self, id: &str, values: Values, stream: u32, order: Order) {
        let what = What::Entry { stream, order };
        self.by_id.insert(id.to_owned(), Known { values, what });
        if self.naming.contains_key(id) {
            self.touched.push(id.to_owned());
        }
    }

    pub fn add_void(&mut self, id: &str, values: Values, seq: u32) {
        if !id.is_empty() {
            let what = What::Void(self.voids.len());
            self.by_id.insert(id.to_owned(), Known { values: values.clone(), what });
        }
        let reference = values.reference.clone();
        self.naming.entry(reference.clone()).or_default().push(self.voids.len());
        self.voids.push(Void { id: id.to_owned(), values, seq });
        self.touched.push(reference);
    }

    /// Marks in the streams which entries are out.
    pub fn resolve(&mut self, cabinet: &mut Cabinet) {
        let touched = std::mem::take(&mut self.touched);
        if touched.len() <= FEW {
            for id in touched {
                self.resolve_about(&id, cabinet);
            }
            return;
        }
        let all: Vec<usize> = (0..self.voids.len()).collect();
        let mut out = Map::default();
        for (void, fate) in self.voids.iter().zip(self.fates(&all)) {
            if fate == Fate::Holds
                && let Some(What::Entry { stream, order }) = self.target(void)
            {
                out.insert(order.2, (stream, order));
            }
        }
        for (seq, (stream, order)) in &self.out {
            if !out.contains_key(seq) {
                cabinet.mark(*stream, *order, false);
            }
        }
        for (seq, (stream, order)) in &out {
            if !self.out.contains_key(seq) {
                cabinet.mark(*stream, *order, true);
            }
        }
        self.out = out;
    }

    /// As [`Identities::resolve`], for the corrections that hang together with an id.
    fn resolve_about(&mut self, id: &str, cabinet: &mut Cabinet) {
        // Down to what the chain of corrections ends in, if it is no loop.
        let mut last = id;
        let mut seen = Set::default();
        while let Some(What::Void(number)) = self.by_id.get(last).map(|known| known.what)
            && let Some(void) = self.voids.get(number)
            && seen.insert(number)
        {
            last = &void.values.reference;
        }
        let Some(Known { what: What::Entry { stream, order }, .. }) = self.by_id.get(last) else { return };
        let (stream, order) = (*stream, *order);
        // And up to all that bear upon it.
        let naming = |id: &str| self.naming.get(id).map_or(&[][..], Vec::as_slice);
        let mut members = naming(last).to_vec();
        let mut next = 0;
        while let Some(void) = members.get(next).and_then(|number| self.voids.get(*number)) {
            if !void.id.is_empty() {
                members.extend_from_slice(naming(&void.id));
            }
            next += 1;
        }
        let direct = naming(last).len();
        let is_out = self.fates(&members).iter().take(direct).any(|fate| *fate == Fate::Holds);
        if is_out != self.out.contains_key(&order.2) {
            cabinet.mark(stream, order, is_out);
            if is_out {
                self.out.insert(order.2, (stream, order));
            } else {
                self.out.remove(&order.2);
            }
        }
    }

    /// Whether a correction took an entry out.
    pub fn is_out(&self, seq: u32) -> bool {
        self.out.contains_key(&seq)
    }

    /// The entries that have an id, and all corrections: order of record, id, values.
    pub fn entries(&self) -> impl Iterator<Item = (u32, &str, &Values)> {
        let filed = self.by_id.iter().filter_map(|(id, known)| match known.what {
            What::Entry { order, .. } => Some((order.2, id.as_str(), &known.values)),
            What::Void(_) => None,
        });
        filed.chain(self.voids.iter().map(|void| (void.seq, void.id.as_str(), &void.values)))
    }

    /// The values of the entry with an id.
    pub fn values(&self, id: &str) -> Option<&Values> {
        self.by_id.get(id).map(|known| &known.values)
    }

    /// Which of some corrections hold, all that bear upon them among them. Each takes out at most one other,
    /// so what stays open is exactly the loops: they take nothing out.
    fn fates(&self, members: &[usize]) -> Vec<Fate> {
        let places: Map<usize, usize> = members.iter().copied().zip(0..).collect();
        let target = |member: &usize| match self.target(self.voids.get(*member)?) {
            Some(What::Void(number)) => places.get(&number).copied(),
            _ => None,
        };
        let targets: Vec<Option<usize>> = members.iter().map(target).collect();
        let mut attackers = vec![0_u32; members.len()];
        for &target in targets.iter().flatten() {
            if let Some(count) = attackers.get_mut(target) {
                *count += 1;
            }
        }
        let mut fates = vec![Fate::Open; members.len()];
        let free = attackers.iter().enumerate().filter(|(_, count)| **count == 0);
        let mut next: Vec<usize> = free.map(|(number, _)| number).collect();
        for &number in &next {
            set(&mut fates, number, Fate::Holds);
        }
        while let Some(number) = next.pop() {
            let Some(&Some(target)) = targets.get(number) else {
                continue;
            };
            if fates.get(target) != Some(&Fate::Open) {
                continue;
            }
            let holds = fates.get(number) == Some(&Fate::Holds);
            let Some(count) = attackers.get_mut(target) else {
                continue;
            };
            *count -= 1;
            if holds {
                set(&mut fates, target, Fate::TakenOut);
                next.push(target);
            } else if *count == 0 {
                set(&mut fates, target, Fate::Holds);
                next.push(target);
            }
        }
        fates
    }

    fn target(&self, void: &Void) -> Option<What> {
        self.by_id.get(&void.values.reference).map(|known| known.what)
    }

    /// Corrections that take nothing out: of an id nobody has, and in loops. With their order of record.
    pub fn problems(&self) -> Vec<(u32, Problem)> {
        let mut problems = Vec::new();
        let ids = Candidates::new(self.by_id.keys().map(String::as_str));
        let all: Vec<usize> = (0..self.voids.len()).collect();
        for (void, fate) in self.voids.iter().zip(self.fates(&all)) {
            let reference = &void.values.reference;
            if fate == Fate::Open {
                let message = format!(
                    "`void` of `{reference}` stands in a loop of corrections; none of them takes anything out"
                );
                problems.push((void.seq, Problem::new("void-loop", message)));
            } else if reference.is_empty() {
                let message = "`void` does not say what it takes out; give the entry's id as `ref`";
                problems.push((void.seq, Problem::new("void-unknown", message)));
            } else if self.target(void).is_none() {
                let meant = ids.closest(reference);
                let message = match self.by_id.is_empty() {
                    true => format!(
                        "`void` of `{reference}`, and no entry has an id: the log needs a column `id`"
                    ),
                    false => format!("`void` of `{reference}`, and no entry has that id"),
                };
                problems.push((void.seq, Problem::new("void-unknown", message).meant(meant)));
            }
        }
        problems
    }
}

fn set(fates: &mut [Fate], number: usize, fate: Fate) {
    if let Some(slot) = fates.get_mut(number) {
        *slot = fate;
    }
}
