//! Why a task is due or may become so, as a value that outlives the standings it is taken from.

use chrono::NaiveDate;
use kitlore_engine::{Account, Count, Part, Row};
use kitlore_syntax::tree::{Atom, AtomKind};

/// Why a task is on a list.
#[derive(Debug, Clone, PartialEq)]
pub enum Cause {
    /// Nothing of its rules has a date, and none counts use.
    None,
    /// These parts of a rule's trigger bring it due, all of them together.
    Trigger(Vec<RulePart>),
    /// These parts of a rule's `no later than` do.
    Limit(Vec<RulePart>),
    /// Of what its rules count this use has come the farthest.
    Counting(RulePart),
    /// What is found or done on the way would call for it.
    Called(RulePart),
    /// As things stand on leaving, where the date beside it is a later one.
    OnLeaving(Box<Cause>),
}

/// A part of a rule as it stands for an item.
#[derive(Debug, Clone, PartialEq)]
pub struct RulePart {
    /// As the rule has it.
    pub written: Atom,
    /// Its text, such as `20 lens changes in dust`.
    pub text: String,
    /// How much was counted, for a usage.
    pub count: Option<Count>,
    /// The date on which it was or will certainly be reached.
    pub reached: Option<NaiveDate>,
    /// The date it counts from, for what counts days.
    pub from: Option<NaiveDate>,
    /// An entry tipped it, or moved the date it counts from.
    pub by_entry: bool,
    /// When the task was last done.
    pub last_done: Option<NaiveDate>,
    /// The first day of what is planned, for a `before` that stands alone in its rule.
    pub planned: Option<NaiveDate>,
}

impl RulePart {
    /// Whether it counts single uses: `every trip`.
    pub fn is_each(&self) -> bool {
        matches!(self.written.kind, AtomKind::Usage { figure: None, .. })
    }

    pub(crate) fn of(part: &Part<'_>, account: &Account<'_>, row: &Row<'_>) -> Self {
        let date = |at| row.program().local(at).date_naive();
        let alone = account.rule.rule.trigger.atoms().len() == 1;
        Self {
            written: part.written.clone(),
            text: part.text.to_owned(),
            count: part.count,
            reached: part.reached_at.map(date),
            from: part.from,
            by_entry: part.tipped_by.is_some(),
            last_done: row.last_done.map(date),
            planned: account.late_at.filter(|_| alone).map(date),
        }
    }
}

impl Cause {
    /// What brought a row due, or is certain to, as it stands now; where nothing certain does, the use that has
    /// counted the greatest share of what a rule asks for.
    pub(crate) fn of(row: &Row<'_>) -> Self {
        let first = row.rules().min_by_key(|account| (account.due_at.is_none(), account.due_at));
        match first {
            Some(account) if account.due_at.is_some() => Self::of_date(&account, row),
            Some(_) => Self::counting(row),
            None => Self::None,
        }
    }

    fn of_date(account: &Account<'_>, row: &Row<'_>) -> Self {
        let parts = |parts: Vec<&Part<'_>>| {
            parts.into_iter().map(|part| RulePart::of(part, account, row)).collect::<Vec<_>>()
        };
        match account.limit() {
            Some(limit) if !account.is_due_by_trigger() => Self::Limit(parts(limit.deciding())),
            _ => Self::Trigger(parts(account.trigger().deciding())),
        }
    }

    /// The use that has counted the greatest share of what a rule of the row asks for.
    pub(crate) fn counting(row: &Row<'_>) -> Self {
        let of_account = |account: Account<'_>| {
            let usages = account.parts().into_iter().filter(|part| part.count.is_some());
            usages.map(|part| (share(&part), RulePart::of(&part, &account, row))).collect::<Vec<_>>()
        };
        let usages = row.rules().flat_map(of_account);
        let most = usages.min_by_key(|(share, _)| std::cmp::Reverse(*share));
        most.map_or(Self::None, |(_, part)| Self::Counting(part))
    }

    /// Whether it begins with so many uses or so many days.
    pub(crate) fn is_a_count(&self) -> bool {
        match self {
            Self::Counting(part) => !part.is_each(),
            Self::Trigger(parts) => parts.first().is_some_and(|part| match &part.written.kind {
                AtomKind::Usage { .. } => !part.is_each() || part.reached.is_none(),
                AtomKind::Interval(_) | AtomKind::Delay { .. } => true,
                _ => false,
            }),
            _ => false,
        }
    }
}

/// How much of what it asks for a usage has counted, in thousandths.
fn share(part: &Part<'_>) -> i128 {
    let of = part.of.map_or(1, |of| i128::from(of.micros())).max(1);
    part.count.map_or(0, |count| count.billionths()).checked_div(of).unwrap_or(0)
}
