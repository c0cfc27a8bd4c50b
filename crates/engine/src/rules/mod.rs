//! Compiled rules: names as numbers, atoms, what is asked of conditions.

mod compile;
mod compiled;
mod conditions;
mod program;
pub(crate) mod recurrence;

pub(crate) use compiled::{Atom, CompiledRule, EventInfo, Inner, Life, Node, WEIGHT_ONE};
pub use program::Program;
