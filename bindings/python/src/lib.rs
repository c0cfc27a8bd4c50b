//! The native module of the Python package `kitlore`: thin classes over the Rust crates.
//!
//! Everything here is private to the package; its Python layer gives it types, names and documentation.
//! All classes are frozen and safe to share between threads. The interpreter lock is released while the
//! engine works; no lock of ours is waited for while it is held.

#![allow(clippy::needless_pass_by_value, reason = "arguments that come from Python are owned")]

mod ahead;
mod book;
mod capsule;
mod cells;
mod columns;
mod command;
mod errors;
mod export;
mod photos;
mod rules;
mod standings;
mod trip;

/// The native half of `kitlore`.
#[pyo3::pymodule]
mod _native {
    #[pymodule_export]
    use crate::ahead::Forecasts;
    #[pymodule_export]
    use crate::book::{Book, wanted_columns};
    #[pymodule_export]
    use crate::columns::columns;
    #[pymodule_export]
    use crate::command::command;
    #[pymodule_export]
    use crate::errors::fail_inside;
    #[pymodule_export]
    use crate::export::Batches;
    #[pymodule_export]
    use crate::photos::{Photos, read_photos};
    #[pymodule_export]
    use crate::rules::Rules;
    #[pymodule_export]
    use crate::standings::Standings;
    #[pymodule_export]
    use crate::trip::Trip;

    /// The version of the package.
    #[pymodule_export]
    const VERSION: &str = env!("CARGO_PKG_VERSION");
}
