//! Entries that do not say for which item, that hold for none, or that stand before their item was there.

use super::once::Once;
use crate::codes::Code;
use crate::log::{EVERY_ITEM, Groups, Ledger, Line, NO_NAME, NotUsed, VOIDED, first_tick};
use crate::problem::Problem;
use crate::rules::Life;

/// Entries that must say for which item and do not, and what is not used of others that say none.
pub(super) fn no_item(ledger: &Ledger, problems: &mut Vec<Problem>) {
    for line in ledger.store.lines(NO_NAME).iter().filter(|line| !line.is(VOIDED)) {
        let fact = ledger.fact(line);
        let Some(not_used) = ledger.not_used_without_item(fact) else { continue };
        let sentence = match not_used {
            NotUsed::Entry => {
                "`{event}` does not say for which item, and is not used; write its id, or `every item`"
            }
            NotUsed::Values => {
                "`{event}` does not say for which item, so that its reading and findings are not used; write its id, or `every item`"
            }
        };
        let problem = Problem::new(Code::NoItem, sentence).with("event", ledger.events.singular(fact.event));
        problems.push(problem.at(ledger.place(line.seq)));
    }
}

/// Entries for a kit, a model or a kind that hold for none of its items.
pub(super) fn no_member(ledger: &Ledger, groups: &Groups, problems: &mut Vec<Problem>) {
    for (stream, number) in ledger.store.streams.iter().zip(0..) {
        let lines = ledger.store.lines(number);
        if lines.is_empty() || stream.item.is_some() || !ledger.names_items(&stream.name) {
            continue;
        }
        let is_used = |line: &&Line| {
            number != NO_NAME || ledger.not_used_without_item(ledger.fact(line)) != Some(NotUsed::Entry)
        };
        let lines = lines.iter().filter(|line| !line.is(VOIDED)).filter(is_used);
        for line in lines.filter(|line| !groups.has_member(ledger, number, line)) {
            let event = ledger.events.singular(ledger.fact(line).event);
            let sentence = match &*stream.name {
                "" | EVERY_ITEM => "`{event}` holds for no item: none was there yet",
                _ => "`{event}` for `{item}` holds for no item: none of that name was there then",
            };
            let problem = Problem::new(Code::NoMember, sentence).with("event", event);
            problems.push(problem.with("item", &*stream.name).at(ledger.place(line.seq)));
        }
    }
}

/// Entries that name an item and stand before it was there.
pub(super) fn before_received(ledger: &Ledger, problems: &mut Vec<Problem>) {
    let rules = ledger.program.inner();
    let has_spans = ledger.store.facts.has_spans();
    let mut early = Once::new();
    for record in &ledger.items {
        let lines = ledger.store.lines(record.stream);
        if lines.is_empty() {
            continue;
        }
        let there = ledger.member(record).there();
        let first = first_tick(ledger.zone(), there);
        // An entry with a span counts at its end, and may have begun before.
        let count = if has_spans { lines.len() } else { lines.partition_point(|line| line.ticks < first) };
        for line in lines.iter().take(count).filter(|line| !line.is(VOIDED)) {
            let fact = ledger.fact(line);
            let begin = ledger.span(line, fact).map_or(line.ticks, |span| span.begin.at().ticks().0);
            let is_of_life =
                matches!(rules.info(fact.event).life, Some(Life::Received | Life::InService | Life::Retired));
            if begin < first && !is_of_life {
                early.add(record.stream, line.seq);
            }
        }
    }
    early.report(ledger, problems, |stream| {
        let item = ledger.store.stream(stream).map_or("", |stream| &stream.name);
        let there = ledger.item(item).and_then(|record| ledger.member(record).there());
        let sentence = "this entry stands before `{item}` was there, on {date}; it counts all the same";
        let date = there.map_or_else(String::new, |date| date.to_string());
        Problem::new(Code::BeforeReceived, sentence).with("item", item).with("date", date)
    });
}
