//! How a row stands in time.

use crate::say::Days;
use kitlore_engine::{Instant, Row, Standing};

/// Since when it stands so, or by when it is to be done.
pub fn when(row: &Row<'_>, days: &Days<'_>) -> String {
    let date = |at| days.date(at);
    match row.standing {
        Standing::Grounded => row.limit_at.map(|at| days.since(date(at))).unwrap_or_default(),
        Standing::Overdue => row.due_at.map(|at| days.since(date(at))).unwrap_or_default(),
        Standing::Due => match last_time(row) {
            Some(late) => days.ahead("by", days.last_before(late).max(days.today)),
            None => row.due_at.map(|at| days.since(date(at))).unwrap_or_default(),
        },
        Standing::Soon | Standing::Clear | Standing::Unknown => match row.due_at {
            Some(due) => days.ahead("due", date(due)),
            None => match row.standing {
                Standing::Unknown => "no date".to_owned(),
                Standing::Soon => "with more use".to_owned(),
                _ => String::new(),
            },
        },
    }
}

/// When a row that is due becomes overdue.
pub fn last_time(row: &Row<'_>) -> Option<Instant> {
    let due = row.rules().filter(|account| account.standing == Standing::Due);
    due.filter_map(|account| account.late_at).min()
}
