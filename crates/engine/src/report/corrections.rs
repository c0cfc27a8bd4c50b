//! Corrections that take nothing out: of an id nobody has, and in loops.

use super::limits::SUGGESTIONS;
use crate::codes::Code;
use crate::log::{Fate, Ledger};
use crate::problem::Problem;
use kitlore_syntax::Candidates;
use std::borrow::Cow;

pub(super) fn report(ledger: &Ledger, problems: &mut Vec<Problem>) {
    let corrections = &ledger.corrections;
    if corrections.voids().is_empty() {
        return;
    }
    let ids = Candidates::new(corrections.ids().take(10 * SUGGESTIONS));
    let has_ids = corrections.ids().next().is_some();
    for (void, fate) in corrections.voids().iter().zip(corrections.all_fates()) {
        let of = &*void.of;
        let mut report = |code: Code, sentence: &'static str, meant: Option<Cow<'_, str>>| {
            let problem = Problem::new(code, sentence).with("id", of).meant(meant);
            problems.push(problem.at(ledger.place(void.seq)));
        };
        if fate == Fate::Open {
            let sentence =
                "`void` of `{id}` stands in a loop of corrections; none of them takes anything out";
            report(Code::VoidLoop, sentence, None);
        } else if of.is_empty() {
            let sentence = "`void` does not say what it takes out; give the entry's id as `ref`";
            report(Code::VoidUnknown, sentence, None);
        } else if !corrections.has_id(of) {
            let sentence = match has_ids {
                false => "`void` of `{id}`, and no entry has an id: the log needs a column `id`",
                true => "`void` of `{id}`, and no entry has that id",
            };
            report(Code::VoidUnknown, sentence, ids.closest(of).map(Cow::Borrowed));
        }
    }
}
