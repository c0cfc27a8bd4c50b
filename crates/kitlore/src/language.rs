//! Rule texts: the tree of a text, places in it, mistakes and doubts, the canonical layout.
//!
//! ```
//! use kitlore::language::{Severity, tidy};
//! let text = "for cameras\n      after 90 days , inspect sensor\n";
//! assert_eq!(tidy("house.lore", text)?, "for cameras\n  after 90 days, inspect sensor\n");
//!
//! let mistakes = kitlore::Rules::parse("for cameras\n  after 90, look").unwrap_err();
//! assert_eq!(mistakes.list[0].severity, Severity::Error);
//! # Ok::<(), kitlore::Diagnostics>(())
//! ```

pub use kitlore_engine::Failure;
pub use kitlore_syntax::{
    Diagnostic, Edit, Fix, Loaded, Name, NoIncludes, Severity, Source, SourceId, Sources, Span, closest, key,
    tidy, tree,
};
