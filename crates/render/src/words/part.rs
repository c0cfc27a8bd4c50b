//! One part of a rule in words.

use super::dates::Days;
use super::numbers::{grouped, listed};
use chrono::NaiveDate;
use kitlore_engine::{Account, Amount, Count, Part, Row};
#[cfg(feature = "planning")]
use kitlore_planning::RulePart;
use kitlore_syntax::Name;
use kitlore_syntax::tree::{Atom, AtomKind, Conditions};

/// A part of a rule with what makes it true for an item.
pub(crate) struct PartFacts<'a> {
    written: &'a Atom,
    text: &'a str,
    count: Option<Count>,
    reached: Option<NaiveDate>,
    from: Option<NaiveDate>,
    by_entry: bool,
    last_done: Option<NaiveDate>,
    /// The first day of what is planned, where the part stands alone in its rule.
    planned: Option<NaiveDate>,
}

impl<'a> PartFacts<'a> {
    /// A part of an account.
    pub fn of(part: &Part<'a>, account: &Account<'_>, row: &Row<'_>, days: &Days<'_>) -> Self {
        let alone = account.rule.rule.trigger.atoms().len() == 1;
        Self {
            written: part.written,
            text: part.text,
            count: part.count,
            reached: part.reached_at.map(|at| days.date(at)),
            from: part.from,
            by_entry: part.tipped_by.is_some(),
            last_done: row.last_done.map(|at| days.date(at)),
            planned: account.late_at.filter(|_| alone).map(|at| days.date(at)),
        }
    }

    /// A part that a trip gives as a cause.
    #[cfg(feature = "planning")]
    pub fn of_cause(part: &'a RulePart) -> Self {
        Self {
            written: &part.written,
            text: &part.text,
            count: part.count,
            reached: part.reached,
            from: part.from,
            by_entry: part.by_entry,
            last_done: part.last_done,
            planned: part.planned,
        }
    }

    #[cfg(feature = "planning")]
    /// `12 of 20 lens changes in dust`; `every trip` as it is, since no number stands there.
    pub fn counting(&self) -> String {
        if is_each(self.written) {
            self.text.to_owned()
        } else {
            counted(self.written, self.text, self.count)
        }
    }

    /// The part in words, with what makes it true.
    pub fn phrase(&self) -> String {
        let on = self.reached.map_or_else(String::new, |date| format!(" {date}"));
        match &self.written.kind {
            // One is enough.
            AtomKind::Usage { .. } if is_each(self.written) && self.reached.is_some() => {
                format!("{}{on}", usage_name(self.written, self.text))
            }
            AtomKind::Usage { .. } => {
                let counted = counted(self.written, self.text, self.count);
                self.reached.map_or_else(|| counted.clone(), |date| format!("{counted}, reached {date}"))
            }
            AtomKind::Interval(duration) => match (self.from, self.last_done) {
                (Some(from), Some(done)) if from == done => format!("{duration} since last done {from}"),
                (Some(from), _) => format!("{duration} since {from}, not done yet"),
                (None, _) => duration.to_string(),
            },
            AtomKind::Unused(duration) => match self.from {
                Some(from) if self.by_entry => format!("unused for {duration}, last used {from}"),
                Some(from) => format!("unused for {duration} since {from}"),
                None => format!("unused for {duration}"),
            },
            AtomKind::Age(duration) => {
                let on = self.reached.map_or_else(String::new, |date| format!(" on {date}"));
                format!("age {duration}{on}")
            }
            AtomKind::Delay { duration, event, .. } => match self.from {
                Some(from) => format!("{duration} after {} of {from}", event.text),
                None => format!("{duration} after {}", event.text),
            },
            AtomKind::Before { event, conditions } => {
                let of = self.planned.map_or_else(String::new, |start| format!(" of {start}"));
                format!("before {}{}{of}", event.text, in_words(conditions))
            }
            AtomKind::Finding { task, findings } => {
                format!("{} found {}{on}", task.text, any_of(findings))
            }
            AtomKind::Spotted { findings } => format!("{} found{on}", any_of(findings)),
            AtomKind::Reading { .. } => {
                let text = without_when(self.written, self.text);
                self.reached.map_or_else(|| text.clone(), |date| format!("{text} since {date}"))
            }
            AtomKind::Calendar(_) => self.text.to_owned(),
        }
    }

    /// What would have to happen: `inspect sensor finds dust`, on one line.
    #[cfg(feature = "planning")]
    pub fn called(&self) -> String {
        let text = without_when(self.written, self.text);
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    }
}

/// Whether single uses count, as in `every trip`.
fn is_each(atom: &Atom) -> bool {
    matches!(atom.kind, AtomKind::Usage { figure: None, .. })
}

/// How far a use has come: `12 of 20 lens changes in dust`.
pub fn usage(part: &Part<'_>) -> String {
    counted(part.written, part.text, part.count)
}

fn counted(atom: &Atom, text: &str, count: Option<Count>) -> String {
    let count = count.map_or_else(|| "0".to_owned(), |count| grouped(&count.to_string()));
    let of = match &atom.kind {
        AtomKind::Usage { threshold, .. } => grouped(&Amount::to_string(threshold)),
        _ => String::new(),
    };
    format!("{count} of {of} {}", usage_name(atom, text))
}

/// What a use counts: `lens changes in dust`.
pub(crate) fn usage_name(atom: &Atom, text: &str) -> String {
    match &atom.kind {
        AtomKind::Usage { name, conditions, .. } => format!("{}{}", name.text, in_words(conditions)),
        _ => text.to_owned(),
    }
}

/// The text of a part without the `when` before it.
pub(crate) fn without_when(atom: &Atom, text: &str) -> String {
    let first = match &atom.kind {
        AtomKind::Reading { name, .. } => Some(name),
        AtomKind::Finding { task, .. } => Some(task),
        AtomKind::Spotted { findings } => findings.first(),
        AtomKind::Unused(duration) => return format!("unused for {duration}"),
        _ => None,
    };
    first.map_or(text, |name| atom.text_from(text, name.span.start)).to_owned()
}

/// `dust or scratch`.
pub(crate) fn any_of(names: &[Name]) -> String {
    listed(names.iter().map(|name| name.text.as_str()), "or")
}

/// ` in dust or sand`, ` not in studio`, or nothing.
fn in_words(conditions: &Conditions) -> String {
    let names = || conditions.names().iter().map(|name| name.text.as_str());
    match conditions {
        Conditions::Whatever => String::new(),
        Conditions::Any(_) => format!(" in {}", listed(names(), "or")),
        Conditions::All(_) => format!(" in {}", listed(names(), "and")),
        Conditions::Neither(_) => format!(" not in {}", listed(names(), "or")),
    }
}
