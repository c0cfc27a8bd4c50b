//! Sets of dates, such as those on which an item is in a kit.

use chrono::NaiveDate;

/// Dates as ranges in order and apart, the ends of each counted in.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Dates(Vec<(NaiveDate, NaiveDate)>);

impl Dates {
    /// The dates from one to another; all before or after, where there is no such end.
    pub fn between(from: Option<NaiveDate>, to: Option<NaiveDate>) -> Self {
        let (from, to) = (from.unwrap_or(NaiveDate::MIN), to.unwrap_or(NaiveDate::MAX));
        Self(if from <= to { vec![(from, to)] } else { Vec::new() })
    }

    pub fn ranges(&self) -> &[(NaiveDate, NaiveDate)] {
        &self.0
    }

    /// Whether it is all dates.
    pub fn is_all(&self) -> bool {
        self.0 == [(NaiveDate::MIN, NaiveDate::MAX)]
    }

    /// Whether one of its dates is from one to another.
    pub fn meets(&self, from: NaiveDate, to: NaiveDate) -> bool {
        // Nearly always there is one range or none.
        self.0.iter().any(|(first, last)| *first <= to && from <= *last)
    }

    /// Its dates from a date on.
    pub fn since(&self, from: Option<NaiveDate>) -> Self {
        self.within(from.unwrap_or(NaiveDate::MIN), NaiveDate::MAX)
    }

    /// Its dates from one to another.
    pub fn within(&self, from: NaiveDate, to: NaiveDate) -> Self {
        let cut = self.0.iter().map(|(first, last)| ((*first).max(from), (*last).min(to)));
        Self(cut.filter(|(first, last)| first <= last).collect())
    }

    /// Adds other dates, each range in order.
    pub fn add(&mut self, other: &[(NaiveDate, NaiveDate)]) {
        if let ([(first, last)], [(from, to)]) = (&*self.0, other)
            && first <= from
            && to <= last
        {
            return;
        }
        let mut ranges = std::mem::take(&mut self.0);
        ranges.extend_from_slice(other);
        ranges.sort_unstable();
        for (first, last) in ranges {
            match self.0.last_mut() {
                Some((_, end)) if end.succ_opt().is_none_or(|next| first <= next) => *end = last.max(*end),
                _ => self.0.push((first, last)),
            }
        }
    }
}

#[cfg(test)]
impl std::fmt::Display for Dates {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let range = |(from, to): &(NaiveDate, NaiveDate)| match (*from, *to) {
            (NaiveDate::MIN, NaiveDate::MAX) => "always".to_owned(),
            (NaiveDate::MIN, to) => format!("to {to}"),
            (from, NaiveDate::MAX) => format!("from {from}"),
            (from, to) => format!("{from} to {to}"),
        };
        f.write_str(&self.0.iter().map(range).collect::<Vec<_>>().join(", "))
    }
}
