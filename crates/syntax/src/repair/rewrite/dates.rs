//! Calendar dates in another form: `every 20 January`, `the first Monday of every month`, `on 1 March 2026`.

use super::words::Put::Text;
use super::words::{Step, Words};
use crate::codes::Code;
use crate::lexicon::{month_named, month_of, number_of, unit_of, weekday_of};
use crate::tree::Unit;
use crate::when::parse_date;
use chrono::NaiveDate;

/// What a run of words says of a date.
#[derive(Debug, Default, Clone)]
struct Said {
    days: Vec<u32>,
    weekdays: Vec<&'static str>,
    months: Vec<&'static str>,
    year: Option<u32>,
    ranks: Vec<&'static str>,
    unit: Option<Unit>,
    recurs: bool,
}

/// Every run of words that says a date, in the form of the language.
pub(super) fn dates(words: &Words<'_>, steps: &mut Vec<Step>) {
    for i in 0..words.len() {
        let begins =
            i == 0 || matches!(words.before(i), "or" | "and" | "(" | "," | "instead" | "than" | "from");
        let last = words.before(words.len());
        // `inspect sensor on the 15th of every month`
        let after_task = words.low(i) == "on" || matches!(words.low(i), "every" | "each");
        if !begins && !after_task || last.is_empty() {
            continue;
        }
        let mut said = Said::default();
        for end in i + 1..=words.len().min(i + 12) {
            if !take(words, i, end - 1, &mut said) {
                break;
            }
            let Some(meant) = said.clone().meant(words.before(i) == "from") else { continue };
            let written = words.text(i..end);
            // What goes on with a date is not the end of it.
            let goes_on =
                take(words, i, end, &mut said.clone()) && !matches!(words.low(end), "and" | "or" | "" | ",");
            if !goes_on && !written.eq_ignore_ascii_case(&meant) {
                let message = format!("`{written}` is not how a date is written");
                steps.push(words.step(i..end, &[Text(&meant)], 1, Code::BadDate, message));
            }
        }
    }
}

/// Takes one more word into what is said; `false` where it is none of a date.
fn take(words: &Words<'_>, start: usize, at: usize, said: &mut Said) -> bool {
    let low = words.low(at);
    let plain = low.trim_end_matches(['.', ',']);
    match plain {
        "" => return false,
        "every" | "each" => said.recurs = true,
        "after" => return at == start,
        "on" | "in" | "the" | "of" | "a" => {}
        "and" | "or" | "," => {
            // A list of days goes on; a part of a trigger begins otherwise.
            return !said.is_empty()
                && (weekday_of(words.low(at + 1)).is_some()
                    || rank(words.low(at + 1)).is_some()
                    || ordinal_day(words.low(at + 1)).is_some() && !words.is_unit(at + 2)
                    || words.low(at + 1) == "day");
        }
        "day" if words.is_figure(at + 1) => {}
        "yearly" | "annually" => (said.recurs, said.unit) = (true, Some(Unit::Year)),
        "monthly" => (said.recurs, said.unit) = (true, Some(Unit::Month)),
        "weekly" => (said.recurs, said.unit) = (true, Some(Unit::Week)),
        _ => return part(words, at, plain, said),
    }
    true
}

/// A day, a weekday, a month, a year, a unit or a rank.
fn part(words: &Words<'_>, at: usize, low: &str, said: &mut Said) -> bool {
    if words.is_figure(at) && words.is_unit(at + 1) {
        // So many of a unit are no day.
        return false;
    }
    if words.is_figure(at) {
        if let Some(day) = ordinal_day(low) {
            said.days.push(day);
            said.ranks.extend(
                rank(low).filter(|_| weekday_of(words.low(at + 1)).is_some()).inspect(|_| said.days.clear()),
            );
            return true;
        }
        if let Some(year) = low.parse().ok().filter(|year| (1900..=2200).contains(year)) {
            return said.year.replace(year).is_none() && !said.months.is_empty();
        }
        return false;
    }
    if let Some(unit) = unit_of(low) {
        return said.unit.replace(unit).is_none() && unit != Unit::Day;
    }
    if let Some(rank) = rank(low) {
        said.ranks.push(rank);
        return true;
    }
    if let Some(day) = day_in_words(low) {
        said.days.push(day);
        return true;
    }
    // Shortened or misspelt, `may` and the like are words of a name too.
    if let Some(day) = weekday_of(low) {
        said.weekdays.push(day);
        return true;
    }
    if let Some(month) = month_named(low) {
        said.months.push(month);
        return said.months.len() == 1;
    }
    false
}

/// The day of a month in figures: `15`, `15th`, `15.`
fn ordinal_day(low: &str) -> Option<u32> {
    let digits = low.trim_end_matches(['s', 't', 'n', 'd', 'r', 'h', '.']);
    digits.parse().ok().filter(|day| (1..=31).contains(day) && digits.len() <= 2)
}

/// The day of a month in words: `third`, `twenty-first`.
fn day_in_words(low: &str) -> Option<u32> {
    let number = |word: &str| if word == "first" { Some(1) } else { number_of(word) };
    match low.split('-').collect::<Vec<_>>()[..] {
        [tens, ones] => Some(
            number(tens).filter(|tens| matches!(tens, 20 | 30))? + number(ones).filter(|ones| *ones < 10)?,
        ),
        _ => number_of(low).filter(|_| low.ends_with("th") || low == "twelfth"),
    }
    .filter(|day| *day <= 31)
}

/// Which weekday of a month a word means.
fn rank(low: &str) -> Option<&'static str> {
    Some(match low {
        "first" | "1st" => "first",
        "second" | "2nd" => "second",
        "third" | "3rd" => "third",
        "fourth" | "4th" => "fourth",
        "last" => "last",
        _ => return None,
    })
}

impl Said {
    fn is_empty(&self) -> bool {
        self.days.is_empty() && self.weekdays.is_empty() && self.months.is_empty() && self.ranks.is_empty()
    }

    /// The form of the language; nothing where something would be lost, or has to be guessed.
    fn meant(mut self, from: bool) -> Option<String> {
        let numbered = |rank: &str| {
            ["first", "second", "third", "fourth"].iter().zip(1..).find(|(r, _)| **r == rank).map(|(_, n)| n)
        };
        if self.weekdays.is_empty() {
            // `the first of March`
            for rank in std::mem::take(&mut self.ranks) {
                self.days.push(numbered(rank)?);
            }
        }
        let joined = |parts: Vec<String>| Some(parts.join(" or ")).filter(|parts| !parts.is_empty());
        match (self.months.as_slice(), self.weekdays.as_slice(), self.unit) {
            ([month], [], None | Some(Unit::Year)) => {
                let [day] = self.days[..] else { return None };
                let number = month_of(month)?;
                match self.year {
                    Some(_) if self.recurs => None,
                    Some(year) => {
                        let date = format!("{year}-{number:02}-{day:02}");
                        let lead = if from { "" } else { "on " };
                        parse_date(&date).is_ok().then(|| format!("{lead}{date}"))
                    }
                    None => NaiveDate::from_ymd_opt(2024, number, day)
                        .map(|_| format!("every year on {day} {month}")),
                }
            }
            ([], [], Some(Unit::Month)) if self.year.is_none() => {
                joined(self.days.iter().map(|day| format!("every month on day {day}")).collect())
            }
            ([], [_, ..], None | Some(Unit::Week)) if self.days.is_empty() && self.ranks.is_empty() => {
                joined(self.weekdays.iter().map(|day| format!("every week on {day}")).collect())
            }
            ([], [_, ..], Some(Unit::Month)) if self.days.is_empty() && !self.ranks.is_empty() => {
                let each =
                    |rank| self.weekdays.iter().map(move |day| format!("every month on the {rank} {day}"));
                joined(self.ranks.iter().flat_map(each).collect())
            }
            _ => None,
        }
    }
}
