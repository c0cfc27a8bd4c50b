//! What a plan expects: uses a day, as a log writes them.

use super::lexicon::Lexicon;
use super::spellings::Spellings;
use crate::names::{Map, index};
use kitlore_syntax::Amount;

/// Reads what a plan expects: names and amounts a day, joined by `;`, such as `lens change 15; frames 800`.
///
/// ```
/// let expected = kitlore_engine::parse_expect("lens change 15; frames 1,200").unwrap();
/// assert_eq!(expected.len(), 2);
/// assert_eq!((expected[1].0, expected[1].1.to_string()), ("frames", "1200".to_owned()));
/// assert!(kitlore_engine::parse_expect("many frames").is_err());
/// ```
///
/// # Errors
/// What is wrong with the first part that is no name with an amount after it.
pub fn parse_expect(text: &str) -> Result<Vec<(&str, Amount)>, String> {
    let parts = text.split(';').map(str::trim).filter(|part| !part.is_empty());
    parts
        .map(|part| {
            let (name, amount) = part.rsplit_once(char::is_whitespace).ok_or_else(|| no_amount(part))?;
            if !amount.starts_with(|c: char| c.is_ascii_digit()) {
                return Err(no_amount(part));
            }
            let amount = amount.parse().map_err(|error| format!("`{amount}` {error}"))?;
            Ok((name.trim_end(), amount))
        })
        .collect()
}

fn no_amount(part: &str) -> String {
    format!(
        "`{part}` is no name with an amount a day after it; write it such as `lens change 15; frames 800`"
    )
}

/// What a plan expects a day, read.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub(crate) struct Expect {
    /// Events, and how much of each in millionths.
    pub daily: Vec<(u32, i64)>,
    /// What is wrong with it as written; then nothing is expected.
    pub wrong: Option<Box<str>>,
}

/// What plans expect, by number; 0 is nothing.
#[derive(Debug, Clone)]
pub(crate) struct Expects {
    spellings: Spellings,
    numbers: Map<Expect, u32>,
    list: Vec<Expect>,
}

impl Default for Expects {
    fn default() -> Self {
        let numbers = Map::from_iter([(Expect::default(), 0)]);
        Self { spellings: Spellings::default(), numbers, list: vec![Expect::default()] }
    }
}

impl Expects {
    /// The number of what is expected as written.
    pub fn add_spelled(&mut self, text: &str, events: &mut Lexicon) -> u32 {
        if let Some(number) = self.find_spelled(text) {
            return number;
        }
        let expect = match parse_expect(text) {
            Ok(list) => Expect {
                daily: list.into_iter().map(|(name, amount)| (events.add(name), amount.micros())).collect(),
                wrong: None,
            },
            Err(wrong) => Expect { daily: Vec::new(), wrong: Some(wrong.into()) },
        };
        let number = self.add(expect);
        self.spellings.insert(text, number);
        number
    }

    /// The number of what was met as written.
    pub fn find_spelled(&self, text: &str) -> Option<u32> {
        if text.is_empty() { Some(0) } else { self.spellings.get(text) }
    }

    /// The number of what is expected.
    pub fn add(&mut self, expect: Expect) -> u32 {
        let next = index(self.list.len());
        *self.numbers.entry(expect).or_insert_with_key(|expect| {
            self.list.push(expect.clone());
            next
        })
    }

    /// What a number says.
    pub fn get(&self, number: u32) -> &Expect {
        static NOTHING: Expect = Expect { daily: Vec::new(), wrong: None };
        self.list.get(number as usize).unwrap_or(&NOTHING)
    }
}
