//! The codes of mistakes and problems: words that keep their meaning in every version.
//!
//! ```
//! use kitlore::codes::ProblemCode;
//! for code in ProblemCode::ALL {
//!     println!("{}: {}", code.word(), code.about());
//! }
//! # assert!(ProblemCode::ALL.iter().any(|code| code.word() == "unknown-event"));
//! ```

/// Codes of problems in the inventory and the log.
pub use kitlore_engine::codes::Code as ProblemCode;
#[cfg(feature = "photos")]
pub use kitlore_photos::PictureCode;
/// Codes of mistakes and doubts in rule texts.
pub use kitlore_syntax::codes::Code as MistakeCode;
/// Codes of problems that reading a table adds.
#[cfg(feature = "tables")]
pub use kitlore_tables::codes::Code as TableCode;
