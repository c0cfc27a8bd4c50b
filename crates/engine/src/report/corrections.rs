//! Corrections that take nothing out: of an id nobody has, and in loops.

use crate::codes::Code;
use crate::log::{Fate, Ledger};
use crate::names::Candidates;
use crate::problem::Problem;
use std::borrow::Cow;

pub(super) fn report(ledger: &Ledger, problems: &mut Vec<Problem>) {
    let corrections = &ledger.corrections;
    if corrections.voids().is_empty() {
        return;
    }
    let ids = Candidates::new(corrections.ids());
    let has_ids = corrections.ids().next().is_some();
    for (void, fate) in corrections.voids().iter().zip(corrections.all_fates()) {
        let of = &*void.of;
        let mut report = |code: Code, message: String, meant: Option<Cow<'_, str>>| {
            problems.push(Problem::new(code, message).meant(meant).at(ledger.place(void.seq)));
        };
        if fate == Fate::Open {
            let message =
                format!("`void` of `{of}` stands in a loop of corrections; none of them takes anything out");
            report(Code::VoidLoop, message, None);
        } else if of.is_empty() {
            let message = "`void` does not say what it takes out; give the entry's id as `ref`".to_owned();
            report(Code::VoidUnknown, message, None);
        } else if !corrections.has_id(of) {
            let message = match has_ids {
                false => format!("`void` of `{of}`, and no entry has an id: the log needs a column `id`"),
                true => format!("`void` of `{of}`, and no entry has that id"),
            };
            report(Code::VoidUnknown, message, ids.closest(of));
        }
    }
}
