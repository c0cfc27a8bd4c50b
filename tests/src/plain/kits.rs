//! The cell `kit`: in which kits an item is, since and until when (contract, section 4, item).

use chrono::NaiveDate;
use kitlore_syntax::parse_date;

/// A stay in a kit; both dates are counted in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stay {
    /// The kit.
    pub kit: String,
    /// Since when; always, if absent.
    pub from: Option<NaiveDate>,
    /// Until when.
    pub to: Option<NaiveDate>,
}

impl Stay {
    /// Whether it has one of the dates from a first to a last.
    pub fn meets(&self, first: NaiveDate, last: NaiveDate) -> bool {
        first <= last && self.from.is_none_or(|from| from <= last) && self.to.is_none_or(|to| first <= to)
    }
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// The stays of a cell, and how many of its dates are none.
pub fn read(cell: &str) -> (Vec<Stay>, usize) {
    let mut mistakes = 0;
    let mut stays = Vec::new();
    for part in cell.split([';', ',']).map(str::trim).filter(|p| !p.is_empty()) {
        let (part, mut to) = cut(part, "to", &mut mistakes);
        let (kit, mut from) = cut(part, "from", &mut mistakes);
        if from.zip(to).is_some_and(|(from, to)| to < from) {
            mistakes += 1;
            (from, to) = (None, None);
        }
        if kit.is_empty() {
            mistakes += 1;
        } else {
            stays.push(Stay { kit: kit.to_owned(), from, to });
        }
    }
    (stays, mistakes)
}

/// Takes `from DATE` or `to DATE` off the end of a text.
fn cut<'t>(text: &'t str, word: &str, mistakes: &mut usize) -> (&'t str, Option<NaiveDate>) {
    let mut found = None;
    let mut place = 0;
    for part in text.split_inclusive(char::is_whitespace) {
        let (before, after) = (text.split_at(place).0.trim_end(), text.split_at(place + part.len()).1.trim());
        if part.trim_end().eq_ignore_ascii_case(word) && begins_a_date(after) {
            found = Some((before, after));
        }
        place += part.len();
    }
    let Some((rest, date)) = found else { return (text, None) };
    let date = parse_date(date).ok();
    *mistakes += usize::from(date.is_none());
    (rest, date)
}

fn begins_a_date(text: &str) -> bool {
    let word: String = text.chars().take_while(|c| c.is_alphanumeric()).collect();
    word.starts_with(|c: char| c.is_ascii_digit()) || MONTHS.contains(&word.to_lowercase().as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(cell: &str) -> String {
        let (stays, mistakes) = read(cell);
        let date = |d: Option<NaiveDate>| d.map_or("-".to_owned(), |d| d.to_string());
        let stay = |s: &Stay| format!("{} {} {}", s.kit, date(s.from), date(s.to));
        format!("{} !{mistakes}", stays.iter().map(stay).collect::<Vec<_>>().join(", "))
    }

    #[test]
    fn cells() {
        assert_eq!(shown("bag; case,  box "), "bag - -, case - -, box - - !0");
        assert_eq!(shown("dive kit FROM 2026-06-01"), "dive kit 2026-06-01 - !0");
        assert_eq!(
            shown("cave kit from 2026-01-01 to 2026-05-31; cave kit from 2026-07-01"),
            "cave kit 2026-01-01 2026-05-31, cave kit 2026-07-01 - !0"
        );
        assert_eq!(shown("bag from Anna to 2026-05-31"), "bag from Anna - 2026-05-31 !0");
        assert_eq!(shown("bag from June"), "bag - - !1");
        assert_eq!(shown("bag from 1.6.2026 to 2026-07-01"), "bag - 2026-07-01 !1");
        assert_eq!(shown("bag to 2026-07-01 from 2026-06-01"), "bag - - !1");
        assert_eq!(shown("bag from 2026-07-01 to 2026-06-01"), "bag - - !1");
        assert_eq!(shown("from 2026-07-01"), " !1");
        assert_eq!(shown("way to go"), "way to go - - !0");
    }
}
