//! Work that is done later than now.

use super::once::Once;
use crate::codes::Code;
use crate::log::{Ledger, VOIDED};
use crate::problem::Problem;
use crate::time::Instant;

/// Completions later than an instant that is now, once for each item.
pub(crate) fn not_yet_done(ledger: &Ledger, now: Instant) -> Vec<Problem> {
    let rules = ledger.program.inner();
    let mut later = Once::new();
    let from = now.ticks().0;
    for (stream, number) in ledger.store.streams.iter().zip(0..) {
        let lines = ledger.store.lines(number);
        let first = lines.partition_point(|line| line.ticks < from);
        for line in lines.iter().skip(first).filter(|line| !line.is(VOIDED)) {
            let fact = ledger.fact(line);
            if fact.at(line) > now && rules.info(fact.event).task.is_some() && !stream.name.is_empty() {
                later.add(number, line.seq);
            }
        }
    }
    let mut problems = Vec::new();
    later.report(ledger, &mut problems, |stream| {
        let item = ledger.store.stream(stream).map_or("", |stream| &stream.name);
        let sentence = "this completion for `{item}` is later than now, and counts from then on";
        Problem::new(Code::NotYetDone, sentence).with("item", item)
    });
    problems
}
