//! Bodies and lenses that match no item: listed with the line that would add them to the inventory.

use super::matching::Match;
use crate::codes::PictureCode;
use crate::exif::Gear;
use chrono::NaiveDate;
use kitlore_engine::{Argument, Item, Problem};
use std::collections::BTreeMap;

/// A body or lens without an item of the inventory.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unmatched {
    /// Whether it is a lens.
    pub is_lens: bool,
    /// How the pictures name it.
    pub gear: Gear,
    /// How many files show it.
    pub pictures: usize,
    /// The dates of the first and the last of them, by the body's own clock.
    pub dates: (NaiveDate, NaiveDate),
    /// Why it has no item.
    pub why: String,
    /// The line that would add it to an inventory with the columns `id,kind,model,serial`, if one would.
    pub line: Option<String>,
}

impl Unmatched {
    /// What it is, in which pictures it occurs, and why it has no item.
    pub fn describe(&self) -> String {
        self.without_remedy().message()
    }

    /// The same as a problem.
    pub fn problem(&self) -> Problem {
        let problem = self.without_remedy();
        match &self.line {
            None => problem,
            Some(line) => {
                let remedy =
                    "to add it, append to an inventory with the columns `id,kind,model,serial`: {line}";
                problem.then(remedy).with("line", line.as_str())
            }
        }
    }

    fn without_remedy(&self) -> Problem {
        let name = [&self.gear.make, &self.gear.model, &self.gear.serial];
        let name: Vec<&str> = name.into_iter().map(String::as_str).filter(|part| !part.is_empty()).collect();
        let words = |words: &'static str| Argument::Words(words.into());
        let (first, last) = self.dates;
        let dates = if first == last { first.to_string() } else { format!("{first} to {last}") };
        let sentence = "the {part} `{gear}` in {count} {pictures} of {dates}: {why}";
        let problem = Problem::new(PictureCode::UnknownGear, sentence).with("gear", name.join(" "));
        let problem = problem.with("part", words(if self.is_lens { "lens" } else { "body" }));
        let problem =
            problem.with("count", self.pictures).with("dates", dates).with("why", self.why.as_str());
        problem.with("pictures", words(if self.pictures == 1 { "picture" } else { "pictures" }))
    }
}

/// Counts the pictures of each body and lens without an item.
#[derive(Debug, Default)]
pub(crate) struct UnmatchedCounts(BTreeMap<(bool, usize), (usize, NaiveDate, NaiveDate)>);

impl UnmatchedCounts {
    /// Adds pictures of a body or lens on a date.
    pub fn add(&mut self, is_lens: bool, number: usize, date: NaiveDate, pictures: usize) {
        let (count, first, last) = self.0.entry((is_lens, number)).or_insert((0, date, date));
        *count += pictures;
        *first = date.min(*first);
        *last = date.max(*last);
    }

    pub fn list(
        self,
        bodies: &[&Gear],
        lenses: &[&Gear],
        of_bodies: &[Match],
        of_lenses: &[Match],
        items: &[Item],
    ) -> Vec<Unmatched> {
        let mut list = Vec::new();
        for ((is_lens, number), (pictures, first, last)) in self.0 {
            let (gears, matches) = if is_lens { (lenses, of_lenses) } else { (bodies, of_bodies) };
            let Some((gear, is)) = gears.get(number).zip(matches.get(number)) else { continue };
            let ids = |numbers: &[usize]| {
                let ids = numbers.iter().filter_map(|number| items.get(*number));
                ids.map(|item| format!("`{}`", item.id)).collect::<Vec<_>>().join(", ")
            };
            let (why, line) = match is {
                Match::None(why) => (why.clone(), Some(line(is_lens, gear))),
                Match::OneOf(several) if gear.serial.is_empty() => (
                    format!(
                        "{} are of this model, and the pictures do not show which of them it is",
                        ids(several)
                    ),
                    None,
                ),
                Match::OneOf(several) => (
                    format!(
                        "{} are of this model; give the right one the serial number `{}`",
                        ids(several),
                        gear.serial
                    ),
                    None,
                ),
                Match::Is(_) => continue,
            };
            list.push(Unmatched {
                is_lens,
                gear: (*gear).clone(),
                pictures,
                dates: (first, last),
                why,
                line,
            });
        }
        list.sort_by_key(|one: &Unmatched| std::cmp::Reverse(one.pictures));
        list
    }
}

/// A line for the inventory; its id is a suggestion.
fn line(is_lens: bool, gear: &Gear) -> String {
    let kind = if is_lens { "lens" } else { "camera" };
    let tail: String = match gear.serial.char_indices().rev().nth(3) {
        Some((at, _)) => gear.serial.get(at..).unwrap_or_default().to_owned(),
        None => gear.serial.clone(),
    };
    let id = match tail.is_empty() {
        true => gear.model.clone(),
        false => format!("{kind} {tail}"),
    };
    [id.as_str(), kind, &gear.model, &gear.serial].map(quoted).join(",")
}

fn quoted(value: &str) -> String {
    if value.contains([',', '"', ';', '\n']) {
        format!("\"{}\"", value.replace('"', "\"\""))
    } else {
        value.to_owned()
    }
}
