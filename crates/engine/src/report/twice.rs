//! Entries that stand twice, alike in every column and without an id: probably the same one.

use super::once::Once;
use crate::codes::Code;
use crate::log::{EntrySpan, Extra, Fact, Ledger, Line, NO_NAME, NotUsed, READING, VOIDED};
use crate::names::Set;
use crate::problem::Problem;
use crate::time::Instant;
use kitlore_syntax::Amount;
use std::hash::BuildHasher;

/// Reports, once for each name that entries are for, the later of two such entries. Both count.
pub(super) fn same_twice(ledger: &Ledger, problems: &mut Vec<Problem>) {
    if ledger.corrections.len() as usize >= ledger.len() {
        return;
    }
    let pairs = alike(ledger);
    if pairs.is_empty() {
        return;
    }
    let seqs: Set<u32> = pairs.iter().flat_map(|pair| [pair.first, pair.second]).collect();
    let ids = ledger.corrections.filed_ids().map(|(seq, _)| seq);
    let with_id: Set<u32> = ids.filter(|seq| seqs.contains(seq)).collect();
    let mut twice = Once::new();
    for Pair { stream, first, second } in pairs {
        if ![first, second].iter().any(|seq| with_id.contains(seq))
            && ledger.written.remarks(first) == ledger.written.remarks(second)
        {
            twice.add(stream, second);
        }
    }
    twice.report(ledger, problems, |stream| {
        let item = ledger.store.stream(stream).map_or("", |stream| &stream.name);
        let sentence = match item {
            "" => "this entry stands twice, alike in every column; both count; if one is too many, take it out",
            _ => "this entry for `{item}` stands twice, alike in every column; both count; if one is too many, take it out",
        };
        Problem::new(Code::SameTwice, sentence).with("item", item)
    });
}

/// Two entries that are alike but perhaps for their id and remarks, by order of record.
struct Pair {
    stream: u32,
    first: u32,
    second: u32,
}

/// Entries that say so much that two alike are hardly meant, each with the last before it.
fn alike(ledger: &Ledger) -> Vec<Pair> {
    let mut pairs = Vec::new();
    let hasher = foldhash::fast::FixedState::with_seed(0);
    let mut group: Vec<(u64, u32, Alike)> = Vec::new();
    for stream in 0..crate::names::index(ledger.store.streams.len()) {
        // Entries that are alike count at one instant, so that they stand together.
        for same in ledger.store.lines(stream).chunk_by(|one, other| one.ticks == other.ticks) {
            if same.len() == 1 {
                continue;
            }
            let used = same.iter().filter(|line| stream != NO_NAME || is_used(ledger, line));
            let likely = used.filter_map(|line| Some((line.seq, Alike::of(ledger, line)?)));
            group.extend(likely.map(|(seq, alike)| (hasher.hash_one(&alike), seq, alike)));
            group.sort_unstable_by_key(|(hash, seq, _)| (*hash, *seq));
            let neighbours = group.iter().zip(group.iter().skip(1));
            let same = neighbours.filter(|((_, _, one), (_, _, other))| one == other);
            pairs.extend(same.map(|((_, first, _), (_, second, _))| Pair {
                stream,
                first: *first,
                second: *second,
            }));
            group.clear();
        }
    }
    pairs
}

/// Whether an entry that says no item is used at all.
fn is_used(ledger: &Ledger, line: &Line) -> bool {
    ledger.not_used_without_item(ledger.fact(line)) != Some(NotUsed::Entry)
}

/// What alike entries under a name have in common, beside the instant at which they count.
#[derive(PartialEq, Eq, Hash)]
struct Alike {
    /// Without the number of what it has beside.
    fact: Fact,
    extra: Extra,
    reference: u32,
    span: Option<[(Instant, bool); 2]>,
}

impl Alike {
    /// Of an entry with an amount above 1 or an end.
    fn of(ledger: &Ledger, line: &Line) -> Option<Self> {
        let fact = ledger.fact(line);
        let extra = ledger.extra(fact).copied().unwrap_or_default();
        let span = ledger.span(line, fact);
        let amount = if fact.has(READING) { extra.amount } else { Some(fact.amount) };
        let is_likely = span.is_some() || amount.is_some_and(|amount| amount > Amount::ONE.micros());
        let ends = |span: &EntrySpan| [span.begin, span.end].map(|end| (end.at(), end.dated));
        (is_likely && !line.is(VOIDED)).then(|| Self {
            fact: Fact { extra: 0, ..*fact },
            extra,
            reference: ledger.store.facts.reference_of(line, fact),
            span: span.map(ends),
        })
    }
}
