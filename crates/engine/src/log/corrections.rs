//! Ids of entries, and the corrections that take entries out.

use super::row::{OwnedRow, Row};
use super::store::Store;
use super::text_pool::TextPool;
use crate::names::{Map, Set};

/// After more changes than these all corrections are worked out, not only those that hang together with them.
const FEW: usize = 16;

/// The entries that have an id, and all corrections.
#[derive(Debug, Clone, Default)]
pub(crate) struct Corrections {
    ids: TextPool,
    /// What each id is, by its number.
    known: Vec<Known>,
    voids: Vec<Void>,
    /// The corrections that name an id.
    naming: Map<Box<str>, Vec<usize>>,
    /// Ids about which something came since the corrections were last worked out.
    touched: Vec<Box<str>>,
    /// Entries that are out, by order of record, and where they are filed.
    out: Map<u32, Filed>,
}

/// The entry of an id: for entries what finds its line, for corrections their number.
#[derive(Debug, Clone, Copy, Default)]
struct Known {
    ticks: i64,
    /// Of all its values.
    fingerprint: u64,
    /// Order of record; of a correction its place among them.
    seq: u32,
    /// The name it is filed under; [`VOID`] for a correction.
    stream: u32,
}

/// No name under which anything is filed.
const VOID: u32 = u32::MAX;

/// Where an entry is filed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Filed {
    pub stream: u32,
    pub ticks: i64,
    pub seq: u32,
}

#[derive(Debug, Clone, Copy)]
enum What {
    Entry(Filed),
    /// A correction.
    Void(usize),
}

/// An entry `void`.
#[derive(Debug, Clone)]
pub(crate) struct Void {
    pub row: OwnedRow,
    /// The id that it takes out.
    pub of: Box<str>,
    pub seq: u32,
}

/// What became of a correction.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fate {
    /// It stands in a loop of corrections.
    Open,
    Holds,
    TakenOut,
}

impl Known {
    fn what(&self) -> What {
        match self.stream {
            VOID => What::Void(self.seq as usize),
            stream => What::Entry(Filed { stream, ticks: self.ticks, seq: self.seq }),
        }
    }
}

impl Corrections {
    /// Whether an id is known, and then whether with the same values.
    pub fn same(&self, row: &Row<'_>) -> Option<bool> {
        if row.id.is_empty() {
            return None;
        }
        self.known(row.id).map(|known| known.fingerprint == row.fingerprint())
    }

    fn known(&self, id: &str) -> Option<&Known> {
        self.known.get(self.ids.find(id)? as usize)
    }

    fn what(&self, id: &str) -> Option<What> {
        self.known(id).map(Known::what)
    }

    /// All ids that are known, in no order.
    pub fn ids(&self) -> impl Iterator<Item = &str> {
        self.ids.numbers().map(|number| self.ids.get(number))
    }

    /// Makes place for more ids: so many, so long together.
    pub fn reserve(&mut self, sizes: impl Iterator<Item = (usize, usize)>) {
        let (count, bytes) = sizes.fold((0, 0), |(count, bytes), (more, long)| (count + more, bytes + long));
        self.ids.reserve(count, bytes);
        self.known.reserve(count);
    }

    /// How many numbers of ids were given.
    pub fn len(&self) -> u32 {
        crate::names::index(self.known.len())
    }

    /// The number of an id, and whether it is new: then [`Corrections::set`] says what it is, or
    /// [`Corrections::withdraw`] takes it back.
    pub fn enter(&mut self, id: &str) -> (u32, bool) {
        let entered = self.ids.add(id);
        if entered.1 {
            self.known.push(Known::default());
        }
        entered
    }

    /// Takes back an id that was entered.
    pub fn withdraw(&mut self, number: u32) {
        self.ids.remove(number);
    }

    /// The entry of an id that was entered.
    pub fn set(&mut self, number: u32, fingerprint: u64, filed: Filed) {
        let Filed { stream, ticks, seq } = filed;
        if let Some(known) = self.known.get_mut(number as usize) {
            *known = Known { ticks, fingerprint, seq, stream };
        }
        if !self.naming.is_empty() {
            let id = self.ids.get(number);
            if self.naming.contains_key(id) {
                self.touched.push(id.into());
            }
        }
    }

    /// An entry that has an id nobody has.
    pub fn add(&mut self, row: &Row<'_>, filed: Filed) {
        let (number, _) = self.enter(row.id);
        self.set(number, row.fingerprint(), filed);
    }

    /// A correction, and the id that it takes out.
    pub fn add_void(&mut self, row: &Row<'_>, of: &str, seq: u32) {
        if !row.id.is_empty() {
            let (number, _) = self.enter(row.id);
            let known = Known {
                ticks: 0,
                fingerprint: row.fingerprint(),
                seq: crate::names::index(self.voids.len()),
                stream: VOID,
            };
            if let Some(slot) = self.known.get_mut(number as usize) {
                *slot = known;
            }
        }
        self.naming.entry(of.into()).or_default().push(self.voids.len());
        self.voids.push(Void { row: row.owned(), of: of.into(), seq });
        self.touched.push(of.into());
    }

    /// Marks in the store which entries are out.
    pub fn resolve(&mut self, store: &mut Store) {
        let touched = std::mem::take(&mut self.touched);
        if touched.len() <= FEW {
            for id in touched {
                self.resolve_about(&id, store);
            }
            return;
        }
        let all: Vec<usize> = (0..self.voids.len()).collect();
        let mut out = Map::default();
        for (void, fate) in self.voids.iter().zip(self.fates(&all)) {
            if fate == Fate::Holds
                && let Some(What::Entry(filed)) = self.target(void)
            {
                out.insert(filed.seq, filed);
            }
        }
        for (seq, Filed { stream, ticks, .. }) in &self.out {
            if !out.contains_key(seq) {
                store.mark(*stream, *ticks, *seq, false);
            }
        }
        for (seq, Filed { stream, ticks, .. }) in &out {
            if !self.out.contains_key(seq) {
                store.mark(*stream, *ticks, *seq, true);
            }
        }
        self.out = out;
    }

    /// As [`Corrections::resolve`], for the corrections that hang together with an id.
    fn resolve_about(&mut self, id: &str, store: &mut Store) {
        // Down to what the chain of corrections ends in, if it is no loop.
        let mut last = id;
        let mut seen = Set::default();
        while let Some(What::Void(number)) = self.what(last)
            && let Some(void) = self.voids.get(number)
            && seen.insert(number)
        {
            last = &void.of;
        }
        let Some(What::Entry(filed)) = self.what(last) else { return };
        // And up to all that bear upon it.
        let naming = |id: &str| self.naming.get(id).map_or(&[][..], Vec::as_slice);
        let mut members = naming(last).to_vec();
        let mut next = 0;
        while let Some(void) = members.get(next).and_then(|number| self.voids.get(*number)) {
            let id = void.row.row().id;
            if !id.is_empty() {
                members.extend_from_slice(naming(id));
            }
            next += 1;
        }
        let direct = naming(last).len();
        let is_out = self.fates(&members).iter().take(direct).any(|fate| *fate == Fate::Holds);
        if is_out != self.out.contains_key(&filed.seq) {
            store.mark(filed.stream, filed.ticks, filed.seq, is_out);
            if is_out {
                self.out.insert(filed.seq, filed);
            } else {
                self.out.remove(&filed.seq);
            }
        }
    }

    /// Whether a correction took an entry out.
    pub fn is_out(&self, seq: u32) -> bool {
        self.out.contains_key(&seq)
    }

    /// The entries that are filed and have an id: order of record and id.
    pub fn filed_ids(&self) -> impl Iterator<Item = (u32, &str)> {
        self.ids.numbers().filter_map(|number| match self.known.get(number as usize)?.what() {
            What::Entry(filed) => Some((filed.seq, self.ids.get(number))),
            What::Void(_) => None,
        })
    }

    /// All corrections, in order of record.
    pub fn voids(&self) -> &[Void] {
        &self.voids
    }

    /// What became of all corrections.
    pub fn all_fates(&self) -> Vec<Fate> {
        let all: Vec<usize> = (0..self.voids.len()).collect();
        self.fates(&all)
    }

    /// Whether an entry has an id.
    pub fn has_id(&self, id: &str) -> bool {
        self.ids.find(id).is_some()
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
        self.what(&void.of)
    }
}

fn set(fates: &mut [Fate], number: usize, fate: Fate) {
    if let Some(slot) = fates.get_mut(number) {
        *slot = fate;
    }
}
