//! Conditions of entries, and what rules ask of them.

use crate::names::{Lexicon, Map, Names, index};
use crate::program::{Inner, Program};
use kitlore_syntax::tree::{Conditions, Weight};
use smol_str::SmolStr;

/// What a usage or plan asks of an entry's conditions, and how much the entry then counts.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
pub(crate) struct ConditionTest {
    asked: Asked,
    /// Condition and weight in thousandths.
    weights: Vec<(u32, i64)>,
}

#[derive(Debug, Clone, PartialEq, Eq, Hash, Default)]
enum Asked {
    #[default]
    Whatever,
    Any(Vec<u32>),
    All(Vec<u32>),
    Neither(Vec<u32>),
}

/// A weight of one, in thousandths.
const ONE: i64 = 1_000;

impl ConditionTest {
    pub fn new(conditions: &Conditions, weights: &[Weight], names: &mut Names) -> Self {
        let mut numbers = |list: &[kitlore_syntax::Name]| -> Vec<u32> {
            list.iter().map(|name| names.add(&name.text)).collect()
        };
        let asked = match conditions {
            Conditions::Whatever => Asked::Whatever,
            Conditions::Any(list) => Asked::Any(numbers(list)),
            Conditions::All(list) => Asked::All(numbers(list)),
            Conditions::Neither(list) => Asked::Neither(numbers(list)),
        };
        let weights = weights
            .iter()
            .map(|weight| (names.add(&weight.condition.text), weight.factor.micros() / ONE))
            .collect();
        Self { asked, weights }
    }

    /// How much one of an entry with these conditions counts, in thousandths; `None` if it does not match.
    pub fn weight(&self, held: &[u32]) -> Option<i64> {
        let holds = |condition: &u32| held.contains(condition);
        let matches = match &self.asked {
            Asked::Whatever => true,
            Asked::Any(list) => list.iter().any(holds),
            Asked::All(list) => list.iter().all(holds),
            Asked::Neither(list) => !list.iter().any(holds),
        };
        if !matches {
            return None;
        }
        let heaviest =
            self.weights.iter().filter(|(condition, _)| holds(condition)).map(|(_, weight)| *weight).max();
        Some(heaviest.unwrap_or(ONE))
    }
}

/// With more tests than these, weights are worked out when asked for.
const TABLED: usize = 64;

/// Sets of conditions by number; 0 is the empty one. For each, how every test of the rules weighs it.
#[derive(Debug, Clone, Default)]
pub(crate) struct ConditionSets {
    spellings: Map<SmolStr, u32>,
    numbers: Map<Vec<u32>, u32>,
    lists: Vec<Vec<u32>>,
    /// How many tests a row of the table has; 0 where there are too many for a table.
    tests: usize,
    weights: Vec<Option<i64>>,
}

impl ConditionSets {
    pub fn new(program: &Program) -> Self {
        let tests = program.inner().tests.len();
        let mut sets = Self { tests: if tests <= TABLED { tests } else { 0 }, ..Self::default() };
        sets.number(Vec::new(), program);
        sets
    }

    /// The number of a `;`-joined list.
    pub fn spelled(&mut self, text: &str, names: &mut Lexicon, program: &Program) -> u32 {
        if text.is_empty() {
            return 0;
        }
        if let Some(&number) = self.spellings.get(text) {
            return number;
        }
        let parts = text.split(';').map(str::trim).filter(|part| !part.is_empty());
        let mut list: Vec<u32> = parts.map(|part| names.add(part)).collect();
        list.sort_unstable();
        list.dedup();
        let number = self.number(list, program);
        self.spellings.insert(text.into(), number);
        number
    }

    /// The number of a list as spelled, if that spelling was met.
    pub fn met(&self, text: &str) -> Option<u32> {
        if text.is_empty() { Some(0) } else { self.spellings.get(text).copied() }
    }

    fn number(&mut self, list: Vec<u32>, program: &Program) -> u32 {
        if let Some(&number) = self.numbers.get(&list) {
            return number;
        }
        let number = index(self.lists.len());
        if self.tests > 0 {
            self.weights.extend(program.inner().tests.iter().map(|test| test.weight(&list)));
        }
        self.numbers.insert(list.clone(), number);
        self.lists.push(list);
        number
    }

    /// The number of a list of conditions, sorted.
    pub fn listed(&mut self, list: Vec<u32>, program: &Program) -> u32 {
        self.number(list, program)
    }

    /// All sets by number.
    pub fn lists(&self) -> impl Iterator<Item = &[u32]> {
        self.lists.iter().map(Vec::as_slice)
    }

    pub fn list(&self, number: u32) -> &[u32] {
        self.lists.get(number as usize).map_or(&[], Vec::as_slice)
    }

    /// Every condition that some set has.
    pub fn used(&self) -> impl Iterator<Item = u32> {
        self.lists.iter().flatten().copied()
    }

    /// How a test weighs a set; `None` if it does not match.
    pub fn weight(&self, number: u32, test: u32, program: &Inner) -> Option<i64> {
        if self.tests == 0 {
            return program.tests.get(test as usize)?.weight(self.list(number));
        }
        *self.weights.get(number as usize * self.tests + test as usize)?
    }
}
