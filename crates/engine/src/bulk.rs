//! Columns into lines: block by block, by as many threads as given.

use crate::book::Book;
use crate::cabinet::{PIECE, Piece, WIDTH, shelf};
use crate::clock::{Clock, Stand};
use crate::columns::{EntryColumns, Lines, MISSING, Refused, Times};
use crate::facts::Facts;
use crate::input::Fields;
use crate::line::{DATED, Fact, Line};
use crate::names::index;
use crate::problem::Problem;
use crate::time::Zone;
use kitlore_syntax::Amount;
use std::num::NonZeroUsize;
use std::ops::Range;

/// Rows that are worked on together: they stay in a processor's nearest cache.
const BLOCK: usize = 1 << 10;

/// Fewer rows are recorded one by one.
const FEW: usize = 1 << 9;

/// So many rows are worth a thread.
const SHARE: usize = 1 << 16;

/// What threads know of the book.
struct Desk<'a> {
    pieces: &'a [EntryColumns<'a>],
    zone: Zone,
    /// By event: nothing is ever doubtful about an entry of it, and it is no life event.
    plain: Vec<bool>,
    /// By event: it is a task, of which an amount is kept beside the line.
    tasks: Vec<bool>,
    /// Names known.
    streams: usize,
    /// Order of record of the first row.
    first: u32,
}

/// What a thread makes.
struct Pile {
    facts: Facts,
    /// By shelf what is not full.
    open: Vec<Piece>,
    full: Vec<(usize, Piece)>,
    /// Rows that are recorded one by one, with their order of record.
    odd: Vec<(usize, usize, u32)>,
}

/// The columns of a block, read.
#[derive(Default)]
struct Block {
    when: Vec<Stand>,
    event: Vec<u32>,
    item: Vec<u32>,
    amount: Vec<i64>,
    conditions: Vec<u32>,
}

impl Book {
    /// Records entries given as columns, one piece after the other, on as many threads as given: what
    /// [`Book::record_keyed`] does with each in turn, and quicker for many. Answers and problems are the same
    /// whatever the pieces and the threads.
    ///
    /// Gives what could not be recorded: of a time outside the years 0001 to 9999, without a key, or as
    /// [`Book::record`] says.
    pub fn record_columns(&mut self, pieces: &[EntryColumns<'_>], threads: NonZeroUsize) -> Vec<Refused> {
        let count: usize = pieces.iter().map(|piece| piece.when.len()).sum();
        let mut refused = Vec::new();
        let mut record = |book: &mut Self, piece: usize, row: usize, seq: Option<u32>| {
            let Some(columns) = pieces.get(piece) else { return };
            if let Err(problem) = book.record_row(columns, row, seq) {
                refused.push(Refused { piece, row, problem });
            }
        };
        if count < FEW {
            for (number, piece) in pieces.iter().enumerate() {
                (0..piece.when.len()).for_each(|row| record(self, number, row, None));
            }
            return refused;
        }
        let first = pieces.iter().map(|piece| self.add_places(piece)).min();
        let desk = self.desk(pieces, first.unwrap_or(0));
        let piles = desk.piles(count, threads);
        for pile in piles {
            for (piece, row, seq) in self.take(pile) {
                record(self, piece, row, Some(seq));
            }
        }
        refused
    }

    /// Records one row on its own, with its order of record if it has one.
    fn record_row(&mut self, piece: &EntryColumns<'_>, row: usize, seq: Option<u32>) -> Result<(), Problem> {
        let place = piece.place.map(|(source, lines)| (source, lines.get(row)));
        let read = piece
            .entry(row)
            .map(|entry| self.plain(&entry))
            .map_err(|problem| problem.at(self.place_of(place)));
        let checked = read.and_then(|read| {
            self.check_or_keep(&read, &Fields::default(), place, seq)?;
            Ok(read)
        });
        match checked {
            Ok(read) => {
                let seq = seq.unwrap_or_else(|| self.places.add(place));
                self.keep(&read, seq);
                Ok(())
            }
            Err(problem) => {
                self.unused += usize::from(seq.is_some());
                Err(problem)
            }
        }
    }

    /// Remembers where the entries of a piece stand; gives the first one's number in the order of record.
    fn add_places(&mut self, piece: &EntryColumns<'_>) -> u32 {
        let count = piece.when.len();
        self.keep_clocks(&piece.when);
        match piece.place {
            None => self.places.add_run(None, count),
            Some((source, Lines::From(line))) => self.places.add_run(Some((source, line)), count),
            Some((source, lines)) => {
                let mut seqs = (0..count).map(|row| self.places.add(Some((source, lines.get(row)))));
                let first = seqs.next();
                seqs.for_each(drop);
                first.unwrap_or(u32::MAX)
            }
        }
    }

    /// Remembers how the clock times of a piece are written, which comes next.
    fn keep_clocks(&mut self, when: &Times<'_>) {
        let first = index(self.places.len());
        match when {
            Times::Dates(_) => {}
            when if when.is_empty() => {}
            Times::Instants(_) => self.kept.clock(false, first),
            Times::Local(_) => self.kept.clock(true, first),
            Times::Each(whens) => {
                for (when, seq) in whens.iter().zip(first..) {
                    self.kept.clock_of(*when, seq);
                }
            }
        }
    }

    fn desk<'a>(&self, pieces: &'a [EntryColumns<'a>], first: u32) -> Desk<'a> {
        let rules = self.program.inner();
        let plain = |info: &crate::program::EventInfo| info.life.is_none() && (info.occurs || !info.gauge);
        Desk {
            pieces,
            zone: rules.zone,
            plain: rules.event_info.iter().map(plain).collect(),
            tasks: rules.event_info.iter().map(|info| info.task.is_some()).collect(),
            streams: self.cabinet.streams.len(),
            first,
        }
    }

    /// Puts what a thread made with the rest; gives the rows it left.
    fn take(&mut self, pile: Pile) -> Vec<(usize, usize, u32)> {
        for fact in pile.facts.iter() {
            self.mark_seen(fact.event);
        }
        let first = self.cabinet.facts.append(pile.facts);
        for (shelf, piece) in pile.full.into_iter().chain(pile.open.into_iter().enumerate()) {
            self.cabinet.push_piece(shelf, piece, first);
        }
        pile.odd
    }
}

impl Desk<'_> {
    fn piles(&self, count: usize, threads: NonZeroUsize) -> Vec<Pile> {
        let threads = threads.get().min(count / SHARE).max(1);
        let share = count.div_ceil(threads).next_multiple_of(BLOCK);
        let range = |thread: usize| (thread * share).min(count)..((thread + 1) * share).min(count);
        if threads == 1 {
            return vec![self.pile(range(0))];
        }
        std::thread::scope(|scope| {
            let running: Vec<_> =
                (0..threads).map(|thread| scope.spawn(move || self.pile(range(thread)))).collect();
            let join = |thread: std::thread::ScopedJoinHandle<'_, Pile>| match thread.join() {
                Ok(pile) => pile,
                Err(panic) => std::panic::resume_unwind(panic),
            };
            running.into_iter().map(join).collect()
        })
    }

    /// The lines of some rows, counted over all pieces.
    fn pile(&self, rows: Range<usize>) -> Pile {
        let shelves = self.streams.div_ceil(WIDTH);
        // Room for what is likely, so that little is moved.
        let room = (rows.len() / shelves.max(1)).min(PIECE);
        let mut pile = Pile {
            facts: Facts::default(),
            open: (0..shelves).map(|_| Piece::with_capacity(room)).collect(),
            full: Vec::new(),
            odd: Vec::new(),
        };
        let mut clock = Clock::new(self.zone);
        let mut block = Block::default();
        let mut before = 0;
        for (number, piece) in self.pieces.iter().enumerate() {
            let end = before + piece.when.len();
            let mut row = rows.start.max(before);
            while row < rows.end.min(end) {
                let next = (row + BLOCK).min(rows.end).min(end);
                block.read(piece, row - before..next - before, &mut clock);
                self.pile_block(&block, number, row - before, row, &mut pile);
                row = next;
            }
            before = end;
        }
        pile
    }

    /// The lines of a block that begins at a row of its piece, and at a row counted over all pieces.
    fn pile_block(&self, block: &Block, piece: usize, row: usize, total: usize, pile: &mut Pile) {
        let Block { when, event, item, amount, conditions } = block;
        let each = when.iter().zip(event).zip(item).zip(amount).zip(conditions);
        let seqs = self.first.saturating_add(index(total))..;
        for ((((((when, event), item), amount), conditions), seq), row) in each.zip(seqs).zip(row..) {
            let is = |of: &[bool]| of.get(*event as usize).copied().unwrap_or(false);
            let plain = is(&self.plain) && (*amount == Amount::ONE.micros() || !is(&self.tasks));
            let usable = *when != Stand::NEVER && !when.left_out && *amount >= 0 && *conditions != MISSING;
            let shelf = shelf(*item);
            let (Some(open), true) = (pile.open.get_mut(shelf), plain && usable) else {
                pile.odd.push((piece, row, seq));
                continue;
            };
            let fact = pile.facts.number(Fact {
                amount: *amount,
                event: *event,
                conditions: *conditions,
                flags: if when.dated { DATED } else { 0 },
                fine: when.fine,
                extra: 0,
            });
            if open.is_full() {
                let full = std::mem::replace(open, Piece::with_capacity(PIECE));
                pile.full.push((shelf, full));
            }
            open.push(*item, Line::new(when.ticks, seq, fact));
        }
    }
}

impl Block {
    fn read(&mut self, piece: &EntryColumns<'_>, rows: Range<usize>, clock: &mut Clock) {
        piece.when.stand(rows.clone(), clock, &mut self.when);
        piece.event.numbers(rows.clone(), |key| key.0, &mut self.event);
        piece.item.numbers(rows.clone(), |key| key.0, &mut self.item);
        piece.amount.micros(rows.clone(), &mut self.amount);
        piece.conditions.numbers(rows, |key| key.0, &mut self.conditions);
    }
}
