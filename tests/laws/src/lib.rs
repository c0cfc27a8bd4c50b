//! What holds for any input, however broken.
//!
//! One law for each fuzz target of `tests/fuzz`: it takes bytes and panics where the law does not hold. The
//! inputs kept there are tried by an ordinary test (`tests/kept.rs`).

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    clippy::string_slice,
    reason = "a crate of tests: a panic is a law that does not hold"
)]

mod answers;
mod arrow;
mod case;
mod columns;
mod evaluate;
mod pictures;
mod rules;
mod saved;
mod tables;
mod workbook;

pub use saved::{opened, sealed};

/// A law: what it is called, and what is tried.
pub struct Law {
    /// The name of the fuzz target and of the folders of its inputs.
    pub name: &'static str,
    /// Tries one input; panics where the law does not hold.
    pub holds: fn(&[u8]),
}

/// Every law.
pub const LAWS: [Law; 11] = [
    Law { name: "parse", holds: rules::parse },
    Law { name: "tidy", holds: rules::tidy },
    Law { name: "csv", holds: tables::csv },
    Law { name: "jsonl", holds: tables::jsonl },
    Law { name: "xlsx", holds: workbook::xlsx },
    Law { name: "arrow", holds: arrow::arrow },
    Law { name: "columns", holds: columns::columns },
    Law { name: "evaluate", holds: evaluate::evaluate },
    Law { name: "saved", holds: saved::saved },
    Law { name: "pictures", holds: pictures::pictures },
    Law { name: "case", holds: case::case },
];

/// The law of a name.
///
/// ```
/// let law = kitlore_laws::law("parse");
/// (law.holds)(b"for cameras\n after 90 dayz");
/// ```
pub fn law(name: &str) -> &'static Law {
    LAWS.iter().find(|law| law.name == name).unwrap_or_else(|| panic!("no law is called `{name}`"))
}
