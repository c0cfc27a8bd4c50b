//! Which item of the inventory a body or lens is.
//!
//! By serial number; else by model, if only one item matches. Nothing is guessed: where two items match and their
//! dates of service do not decide, the gear gets no item and is listed.

use crate::codes::PictureCode;
use crate::exif::Gear;
use chrono::NaiveDate;
use kitlore_engine::{Item, Problem};
use std::collections::{BTreeMap, HashMap};

/// The item of a body or lens, as far as it is known.
#[derive(Debug)]
pub(crate) enum Match {
    /// This item, by its number in the inventory.
    Is(usize),
    /// One of these items of the same model; the date of the picture decides.
    OneOf(Vec<usize>),
    /// None, and why.
    None(String),
}

impl Match {
    /// The item in use on a date, if that is certain.
    pub fn item(&self, items: &[Item], date: NaiveDate) -> Option<usize> {
        match self {
            Match::Is(item) => Some(*item),
            Match::None(_) => None,
            Match::OneOf(candidates) => {
                let in_use = |number: &&usize| items.get(**number).is_some_and(|item| in_service(item, date));
                let mut fitting = candidates.iter().filter(in_use);
                fitting.next().copied().filter(|_| fitting.next().is_none())
            }
        }
    }
}

/// Whether the house had the item on a date, as far as its dates show.
fn in_service(item: &Item, date: NaiveDate) -> bool {
    let begin = item.received.into_iter().chain(item.in_service).min();
    begin.is_none_or(|begin| begin <= date) && item.retired.is_none_or(|retired| date <= retired)
}

/// Matches all bodies, or all lenses, of a set of pictures. `doubts` gets what is uncertain.
pub(crate) fn matched(gears: &[&Gear], items: &[Item], doubts: &mut Vec<Problem>) -> Vec<Match> {
    let index = Index::new(items);
    let mut matches: Vec<Match> = gears.iter().map(|gear| index.one(gear, items, doubts)).collect();
    reject_shared(gears, items, &mut matches);
    matches
}

/// Two serial numbers are two things: an item that several of them match by model alone is taken for none.
fn reject_shared(gears: &[&Gear], items: &[Item], matches: &mut [Match]) {
    let mut claims: HashMap<usize, Vec<usize>> = HashMap::new();
    for (number, (gear, is)) in gears.iter().zip(matches.iter()).enumerate() {
        if let Match::Is(item) = is
            && !gear.serial.is_empty()
            && items.get(*item).is_some_and(|item| serial_of(item).is_none())
        {
            claims.entry(*item).or_default().push(number);
        }
    }
    for (item, numbers) in claims.into_iter().filter(|(_, numbers)| numbers.len() > 1) {
        let id = items.get(item).map(|item| item.id.as_str()).unwrap_or_default();
        for number in numbers {
            if let Some(is) = matches.get_mut(number) {
                *is = Match::None(format!(
                    "the pictures show several of this model, and `{id}` has no serial number that says which one it is"
                ));
            }
        }
    }
}

struct Index {
    by_serial: HashMap<String, Vec<usize>>,
    by_model: BTreeMap<String, Vec<usize>>,
}

impl Index {
    fn new(items: &[Item]) -> Self {
        let mut index = Self { by_serial: HashMap::new(), by_model: BTreeMap::new() };
        for (number, item) in items.iter().enumerate() {
            if let Some(serial) = serial_of(item) {
                index.by_serial.entry(serial).or_default().push(number);
            }
            if let Some(model) = &item.model {
                index.by_model.entry(plain(model)).or_default().push(number);
            }
        }
        index
    }

    fn one(&self, gear: &Gear, items: &[Item], doubts: &mut Vec<Problem>) -> Match {
        let item = |number: &usize| items.get(*number);
        let id = |number: &usize| item(number).map_or_else(String::new, |item| format!("`{}`", item.id));
        if let Some(same) = self.by_serial.get(&gear.serial.to_lowercase()) {
            let fits = |number: &&usize| item(number).is_some_and(|item| is_of_model(item, gear));
            let fitting: Vec<usize> = same.iter().filter(fits).copied().collect();
            return match (fitting.as_slice(), same.as_slice()) {
                ([only], _) => Match::Is(*only),
                ([], [only]) => {
                    let model = item(only).and_then(|item| item.model.as_deref()).unwrap_or_default();
                    if !model.is_empty() {
                        let sentence = "taken for `{item}`, which has the serial number `{serial}`; but the pictures give the model `{found}`, the inventory `{model}`";
                        let problem = Problem::new(PictureCode::ModelDiffers, sentence);
                        let id = item(only).map_or("", |item| &item.id);
                        let problem = problem.with("item", id).with("serial", gear.serial.as_str());
                        doubts.push(problem.with("found", gear.model.as_str()).with("model", model));
                    }
                    Match::Is(*only)
                }
                (_, several) => {
                    let ids: Vec<String> = several.iter().map(id).collect();
                    Match::None(format!("several items have its serial number: {}", ids.join(", ")))
                }
            };
        }
        let mut same: Vec<usize> = self.models(gear).flatten().copied().collect();
        same.sort_unstable();
        same.dedup();
        if !gear.serial.is_empty() {
            // An item with another serial number is another thing.
            same.retain(|number| item(number).is_some_and(|item| serial_of(item).is_none()));
        }
        match same.as_slice() {
            [] => Match::None("no item has its serial number or its model".to_owned()),
            [only] => Match::Is(*only),
            _ => Match::OneOf(same),
        }
    }

    /// The items of its model, which an inventory may give with or without the maker.
    fn models<'a>(&'a self, gear: &Gear) -> impl Iterator<Item = &'a Vec<usize>> {
        forms(gear).into_iter().filter_map(|form| self.by_model.get(&form))
    }
}

/// The ways to write a model: as in the picture, with the maker's name, without it.
fn forms(gear: &Gear) -> Vec<String> {
    let (make, model) = (plain(&gear.make), plain(&gear.model));
    if model.is_empty() {
        return Vec::new();
    }
    let first_word = make.split(' ').next().unwrap_or_default();
    let mut forms = vec![model.clone()];
    for maker in [make.as_str(), first_word] {
        if !maker.is_empty() {
            forms.push(format!("{maker} {model}"));
            forms
                .extend(model.strip_prefix(maker).and_then(|rest| rest.strip_prefix(' ')).map(str::to_owned));
        }
    }
    forms.sort();
    forms.dedup();
    forms
}

fn is_of_model(item: &Item, gear: &Gear) -> bool {
    item.model.as_deref().is_some_and(|model| forms(gear).contains(&plain(model)))
}

/// In lower case, with single blanks.
fn plain(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase()
}

/// The item's serial number: its column `serial`, or `serial number`, trimmed, without regard to case.
fn serial_of(item: &Item) -> Option<String> {
    let named = |heading: &str| matches!(kitlore_syntax::key(heading).as_str(), "serial" | "serial number");
    let (_, serial) = item.attributes.iter().find(|(heading, _)| named(heading))?;
    Some(serial.trim().to_lowercase()).filter(|serial| !serial.is_empty())
}
