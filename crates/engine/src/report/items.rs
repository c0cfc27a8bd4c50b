//! Entries for names that the inventory has not, and completions that count for none of the items they are for.

use super::limits::SUGGESTIONS;
use crate::codes::Code;
use crate::log::{Groups, Ledger, VOIDED};
use crate::problem::Problem;
use kitlore_syntax::Candidates;
use std::cell::LazyCell;

/// Entries for a name that is no id, kit, model or kind of the inventory.
pub(super) fn unknown_items(ledger: &Ledger, problems: &mut Vec<Problem>) {
    let strangers =
        ledger.store.streams.iter().zip(0_u32..).filter(|(stream, _)| !ledger.names_items(&stream.name));
    let strangers = strangers.filter(|(_, number)| !ledger.store.lines(*number).is_empty());
    let known = LazyCell::new(|| {
        let names = ledger.items.iter().map(|record| &*record.id);
        let names = names.chain(ledger.kits.iter().chain(&ledger.models).map(String::as_str));
        Candidates::new(names.chain(ledger.kinds.iter().map(|kind| &*kind.name)))
    });
    for (number, (stream, lines)) in strangers.enumerate() {
        let meant = if number < SUGGESTIONS { known.closest_id(&stream.name) } else { None };
        for line in ledger.store.lines(lines).iter().filter(|line| !line.is(VOIDED)) {
            let sentence = "the inventory has no item, kit, model or kind `{item}`";
            let problem = Problem::new(Code::UnknownItem, sentence).with("item", &*stream.name);
            problems.push(problem.meant(meant).at(ledger.place(line.seq)));
        }
    }
}

/// Completions for a kit, model or kind that count for none of its items.
pub(super) fn unknown_tasks(ledger: &Ledger, groups: &Groups, problems: &mut Vec<Problem>) {
    let program = ledger.program.inner();
    for number in groups.streams() {
        let Some(stream) = ledger.store.stream(number).filter(|stream| !stream.name.is_empty()) else {
            continue;
        };
        for line in ledger.store.lines(number).iter().filter(|line| !line.is(VOIDED)) {
            let event = ledger.fact(line).event;
            if program.info(event).task.is_some() && groups.refuse(ledger, number, line) {
                let problem = Problem::unknown_task(ledger.events.text(event), &stream.name);
                problems.push(problem.at(ledger.place(line.seq)));
            }
        }
    }
}

/// Dates of kits that are none.
pub(super) fn bad_kits(ledger: &Ledger, problems: &mut Vec<Problem>) {
    for record in &ledger.items {
        let at_item = |problem: &Problem| problem.clone().at(record.item.place.clone());
        problems.extend(record.bad_kits.iter().map(at_item));
    }
}
