//! Times in which an item was in other kits than now, so that rules for those kits applied to it.

use super::profile::Profile;
use chrono::NaiveDate;
use std::sync::Arc;

/// Some dates, both ends counted in, and the rules that applied to an item on them.
#[derive(Debug, Clone)]
pub(crate) struct Era {
    pub from: NaiveDate,
    pub to: NaiveDate,
    pub profile: Arc<Profile>,
}

/// The times between which the kits of an item change, in order, if they ever do.
pub(crate) fn times<'a>(
    changes: impl Iterator<Item = &'a (NaiveDate, NaiveDate)>,
) -> Vec<(NaiveDate, NaiveDate)> {
    let mut firsts: Vec<NaiveDate> =
        changes.flat_map(|(from, to)| [Some(*from), to.succ_opt()]).flatten().collect();
    firsts.push(NaiveDate::MIN);
    firsts.sort_unstable();
    firsts.dedup();
    if firsts.len() == 1 {
        return Vec::new();
    }
    let lasts = firsts.iter().skip(1).map(|next| next.pred_opt().unwrap_or(*next)).chain([NaiveDate::MAX]);
    firsts.iter().copied().zip(lasts).collect()
}
