//! Compiled rules as hosts hold them.

use super::compile::compile;
use super::compiled::Inner;
use crate::time::Instant;
use kitlore_syntax::tree::House;
use kitlore_syntax::{Diagnostics, Loader, NoIncludes, When};
use std::sync::Arc;

/// Compiled rules: immutable, cheap to clone, shared by any number of threads.
///
/// ```
/// use kitlore_engine::Program;
/// let rules = Program::parse("for cameras\n after 20 lens changes in dust or 90 days, inspect sensor").unwrap();
/// assert_eq!(rules.house().rules.len(), 1);
/// ```
#[derive(Clone)]
pub struct Program(Arc<Inner>);

impl Program {
    /// Parses and compiles a rule text that includes nothing.
    ///
    /// # Errors
    /// All mistakes of the text.
    pub fn parse(text: &str) -> Result<Self, Diagnostics> {
        Self::parse_with("rules", text, &NoIncludes)
    }

    /// Parses and compiles a rule text under the name people know it by, with a loader for what it includes.
    ///
    /// # Errors
    /// All mistakes of the text and of what it includes.
    pub fn parse_with(name: &str, text: &str, loader: &dyn Loader) -> Result<Self, Diagnostics> {
        kitlore_syntax::parse(name, text, loader).map(Self::compile)
    }

    /// Compiles a checked tree.
    pub fn compile(house: House) -> Self {
        Self(Arc::new(compile(house)))
    }

    /// What the rule text says.
    pub fn house(&self) -> &House {
        &self.0.house
    }

    /// The instant at which a written time is over: for a date alone the end of that date in the house's
    /// zone. This is what `at` means to people.
    ///
    /// ```
    /// use kitlore_engine::{Program, When};
    /// let rules = Program::parse("").unwrap();
    /// let at = rules.when_is_over(When::parse("2026-02-08").unwrap());
    /// assert_eq!(at.utc().to_rfc3339(), "2026-02-08T23:59:59.999999999+00:00");
    /// ```
    pub fn when_is_over(&self, when: When) -> Instant {
        self.0.zone.over(when)
    }

    /// An instant in the house's time zone.
    pub fn local(&self, at: Instant) -> chrono::DateTime<chrono::FixedOffset> {
        self.0.zone.show(at)
    }

    /// Whether the rules know an event's name: as a usage, a task, a gauge, a plan, a reserved or a declared event.
    pub fn knows_event(&self, name: &str) -> bool {
        self.0.events.find(&kitlore_syntax::key(name)).is_some()
    }

    /// Whether the rules know a condition's name: some rule asks about it, or it is declared.
    pub fn knows_condition(&self, name: &str) -> bool {
        self.0.conditions.find(&kitlore_syntax::key(name)).is_some()
    }

    /// The conditions that some rule asks about or a list declares, as first spelled.
    pub fn conditions(&self) -> impl Iterator<Item = &str> {
        self.0.conditions.texts()
    }

    /// Whether the rules know a finding's name: some rule acts on it, or it is declared.
    pub fn knows_finding(&self, name: &str) -> bool {
        self.0.findings.find(&kitlore_syntax::key(name)).is_some()
    }

    /// The findings that some rule acts on or a list declares, as first spelled.
    pub fn findings(&self) -> impl Iterator<Item = &str> {
        self.0.findings.texts()
    }

    /// The keys of a kind and of all broader ones, its own first.
    ///
    /// ```
    /// use kitlore_engine::Program;
    /// let rules = Program::parse("a flash battery is a battery").unwrap();
    /// assert_eq!(rules.broader_kinds("Flash batteries"), ["flash battery", "battery"]);
    /// ```
    pub fn broader_kinds(&self, kind: &str) -> Vec<String> {
        self.0.broader(&kitlore_syntax::key(kind))
    }

    pub(crate) fn inner(&self) -> &Inner {
        &self.0
    }
}

impl std::fmt::Debug for Program {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Program")
            .field("house", &self.0.house.name)
            .field("rules", &self.0.rules.len())
            .finish()
    }
}
