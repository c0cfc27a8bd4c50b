//! The plain evaluator: the contract's meaning, slow and obvious.
//!
//! It shares no code with the engine and rescans the whole log for every question.

pub mod atoms;
pub mod clock;
mod evaluate;
pub mod items;
mod kits;
mod members;
mod naming;
mod once;
pub mod problems;
mod reading;
pub mod records;
mod rows;
mod rules;
pub mod uses;
mod world;

pub use evaluate::evaluate;
pub use rows::{ItemRow, LogRow, Problem, Report, Row, RuleRow};
pub use world::World;
