//! What rules ask of an entry's conditions.

use crate::names::Names;
use kitlore_syntax::tree::{Conditions, Weight};

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
