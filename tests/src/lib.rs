//! Tests of kitlore that need more than one crate: the conformance cases, the plain evaluator, random cases.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a crate of tests: a panic is a failed test"
)]

pub mod case;
pub mod evaluators;
pub mod keyed;
pub mod pictures;
pub mod plain;
pub mod planted;
pub mod random;
mod random_rules;
pub mod rng;
pub mod scene;
pub mod workload;
