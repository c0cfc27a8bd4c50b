//! Parts of a trigger that are joined otherwise than was probably meant.

use crate::codes::Code;
use crate::diagnostic::Diagnostic;
use crate::lower::word;
use crate::tree::{Atom, AtomKind, Duration, Trigger, Unit};

/// `after 1 year and 6 months`, `every year on 1 March and every year on 1 September`: `and` waits for the later one.
pub(super) fn later_of_both(trigger: &Trigger, found: &mut Vec<Diagnostic>) {
    let parts = match trigger {
        Trigger::Atom(_) => return,
        Trigger::Or(parts) => return parts.iter().for_each(|part| later_of_both(part, found)),
        Trigger::And(parts) => parts,
    };
    parts.iter().for_each(|part| later_of_both(part, found));
    let atoms: Vec<&Atom> = parts
        .iter()
        .filter_map(|part| if let Trigger::Atom(atom) = part { Some(atom) } else { None })
        .collect();
    for pair in atoms.windows(2) {
        let [one, other] = pair else { continue };
        let help = match (&one.kind, &other.kind) {
            (AtomKind::Interval(one), AtomKind::Interval(other)) => match sum(*one, *other) {
                Some(sum) => format!("for both together write `{sum}`; for the earlier one, `or`"),
                None => "keep the longer one, or write `or` for the earlier one".to_owned(),
            },
            (AtomKind::Calendar(_), AtomKind::Calendar(_)) => {
                "write `or` to have it on each of them".to_owned()
            }
            _ => continue,
        };
        let message = "`and` waits for the later of the two";
        found.push(Diagnostic::doubt(Code::LaterOfBoth, one.span.to(other.span), message).help(help));
    }
}

/// Two lengths of time as one, where a smaller unit holds both.
fn sum(one: Duration, other: Duration) -> Option<String> {
    let in_small = |duration: Duration| match duration.unit {
        Unit::Year => (duration.count.checked_mul(12), Unit::Month),
        Unit::Week => (duration.count.checked_mul(7), Unit::Day),
        unit => (Some(duration.count), unit),
    };
    let ((one, unit), (other, same)) = (in_small(one), in_small(other));
    (unit == same).then_some(())?;
    Some(format!("{} {}s", one?.checked_add(other?)?, word(unit)))
}
