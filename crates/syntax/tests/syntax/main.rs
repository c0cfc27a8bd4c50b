//! The rule language: forms, mistakes and what is said of them, bounds, the canonical layout.

mod any_text;
mod bounds;
mod codes;
mod files;
mod fixes;
mod forms;
mod reference;
mod tidy;
mod wrong;
